#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "report/phrases.h"

namespace lastroom {

/// All texts of the report in one language: reports/words.*.xml, built into the program.
class Words {
 public:
  using Values = std::vector<std::pair<std::string_view, std::string>>;

  /// Throws std::invalid_argument for a language without a catalogue.
  explicit Words(std::string_view language);

  /// The text under `key`; a missing key is our own mistake (std::logic_error), held by a test.
  const std::string& operator()(std::string_view key) const;
  /// The same with every `{name}` replaced by its value.
  std::string operator()(std::string_view key, const Values& values) const;
  /// A sentence that another room or the rules file made in English; none when the language has no words for it.
  std::optional<std::string> translated(const std::string& english) const {
    return phrases_ ? (*phrases_)(english) : std::optional(english);
  }
  bool has(std::string_view key) const { return texts_.contains(key); }
  std::vector<std::string_view> keys() const;

  /// Fixed decimals with the language's decimal mark and a true minus sign: "-1.84" -> "−1.8". Never "−0.0".
  std::string number(double value, int decimals = 1) const;
  /// As `number`, with a plus sign in front of what is greater than zero.
  std::string signed_number(double value, int decimals = 1) const;

  const std::string& language() const { return language_; }

 private:
  std::string language_;
  std::map<std::string, std::string, std::less<>> texts_;
  std::optional<Phrases> phrases_;  ///< none where the sentences are already in the language
};

}  // namespace lastroom
