#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "message.h"

namespace lastroom {

/// Whether a message that was read from a file has words: every key in it, its parts' too, is in the catalogues.
bool can_be_told(const Message& message);

/// The languages that there is a catalogue of; the first is the default.
std::vector<std::string> report_languages();

/// A piece of a sentence.
struct Run {
  std::string text;
  bool foreign = false;  ///< the user's own, in no language
};

/// What lengths are told in. result.json and the tables stay in mm.
enum class Lengths { millimetres, inches };

/// All that is said in one language: reports/words.*.xml, built into the program. English has the advice and the
/// sources of the built-in rules from default_rules.xml.
class Words {
 public:
  using Values = std::vector<std::pair<std::string_view, std::string>>;

  /// Throws std::invalid_argument for a language without a catalogue. Of a catalogue's texts `{length_unit}` and fixed
  /// lengths such as `{250 mm}` are filled in here, and every gap for a value named `..._mm` is told in `lengths`.
  explicit Words(std::string_view language, Lengths lengths = Lengths::millimetres);

  /// The text under `key`; a missing key is our own mistake (std::logic_error), held by a test.
  const std::string& operator()(std::string_view key) const;
  /// The same with every `{name}` replaced by its value.
  std::string operator()(std::string_view key, const Values& values) const;
  /// A fact in words, its foreign text apart. A count of one takes the text under KEY.one where there is one.
  std::vector<Run> runs(const Message& message) const;
  /// The same in one piece, for plain text.
  std::string operator()(const Message& message) const;
  bool has(std::string_view key) const { return texts_.contains(key); }
  std::vector<std::string_view> keys() const;

  /// Fixed decimals with the language's decimal mark and a true minus sign: "-1.84" -> "−1.8". Never "−0.0".
  std::string number(double value, int decimals = 1) const;
  /// As `number`, with a plus sign in front of what is greater than zero.
  std::string signed_number(double value, int decimals = 1) const;

  /// "6.0 mm" or "0.24 inch": inches have two decimals where mm have one or none (0.01 inch, 0.25 mm: common practice,
  /// no source), and one more than mm otherwise.
  std::string length(double mm, int decimals = 1) const;
  std::string signed_length(double mm, int decimals = 1) const;
  /// The same without the unit's name, for a text that has it.
  std::string length_number(double mm, int decimals = 1) const;
  std::string signed_length_number(double mm, int decimals = 1) const;
  const std::string& length_unit() const { return (*this)(lengths_ == Lengths::inches ? "unit.in" : "unit.mm"); }
  /// "3.2 cm²" or "0.50 inch²".
  std::string area(double mm2, int decimals = 1) const;
  Lengths lengths() const { return lengths_; }

  /// "2026-03-01" as the language writes it: "1 March 2026". Anything else comes back as it is.
  std::string date(const std::string& iso) const;

  const std::string& language() const { return language_; }

 private:
  void add_runs(const Message& message, std::vector<Run>& runs) const;
  std::string quantity_text(std::string_view name, const Quantity& quantity) const;
  std::string with_lengths(std::string_view text) const;

  std::string language_;
  Lengths lengths_ = Lengths::millimetres;
  std::map<std::string, std::string, std::less<>> texts_;
};

}  // namespace lastroom
