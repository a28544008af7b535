#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "assessment/rule_table.h"
#include "message.h"

namespace lastroom {

enum class Wearer { standard, at_risk, unknown };
enum class Provenance { published, common_practice, our_choice };

struct Limits {
  double pinch_below_mm = 0.0, watch_below_mm = 0.0;
  std::optional<double> slack_above_mm;
  std::optional<double> watch_above_mm;     ///< of a `difference`, either way; the other limits are then not in use
  std::vector<std::string> published = {};  ///< which of these numbers are published, by their names in the XML
};

/// Limits of one zone or measure, with where they come from.
struct Rule {
  RuleId id = RuleId::toe_room;
  Limits standard, at_risk;
  Provenance provenance = Provenance::our_choice;  ///< of what is not published; of a fact, of all it says
  std::string source;                              ///< printed in the report
  std::string pinch_advice, slack_advice;
};

/// What a page tells of the rules.
struct RulesHead {
  std::string name;
  std::string sha256;                    ///< of the XML's bytes
  bool built_in = false;                 ///< by content, whatever they call themselves
  std::string file;                      ///< without folders; empty when built in
  std::size_t limits = 0, loosened = 0;  ///< how many numbers there are, and how many are laxer than the built-in ones
};

struct Rules : RulesHead {
  std::vector<Rule> rules;
};

Rules default_rules();  ///< built in from default_rules.xml
/// Strict: InputError names line and reason. Limits for an at-risk wearer that are laxer than the built-in ones are
/// refused; "published" is believed only of numbers that the built-in rules publish.
Rules read_rules(const std::filesystem::path& file);
/// `name` stands before ", line 12: ..." in an error.
Rules parse_rules(std::string_view xml, const std::string& name);

/// What to do, as a key where the text is the built-in one, else as the rules file's own text.
Message advice_of(const Rule& rule);
Message slack_advice_of(const Rule& rule);
const Rule& rule_by(const Rules& rules, RuleId id);  ///< every rule of the table is there
/// The limits in force. A wearer nobody asked about is judged like one at risk.
const Limits& limits_for(const Rule& rule, Wearer wearer);
/// Where the number called `limit` in the XML ("pinch_below" ...) comes from.
Provenance provenance_of(const Rule& rule, const Limits& limits, std::string_view limit);
/// Of two, the one that more care is owed to: at risk, then unknown.
Wearer graver(Wearer a, Wearer b);
std::string_view wearer_name(Wearer wearer);              ///< as on the command line: "standard", "at-risk", "unknown"
std::string_view provenance_name(Provenance provenance);  ///< "published", "common practice", "our choice"

}  // namespace lastroom
