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
  std::optional<double> watch_above_mm;  ///< of a `difference`, either way; the other limits are then not in use
};

/// Limits of one zone or measure, with where they come from.
struct Rule {
  RuleId id = RuleId::toe_room;
  Limits standard, at_risk;
  Provenance provenance = Provenance::our_choice;
  std::string source;  ///< printed in the report
  std::string pinch_advice, slack_advice;
};

struct Rules {
  std::string name;
  std::string sha256;  ///< of the XML's bytes
  std::vector<Rule> rules;
};

Rules default_rules();                                ///< built in from default_rules.xml
Rules read_rules(const std::filesystem::path& file);  ///< strict; InputError names line and reason
/// `name` stands before ", line 12: ..." in an error.
Rules parse_rules(std::string_view xml, const std::string& name);

/// What to do, as a key where the text is the built-in one, else as the rules file's own text.
Message advice_of(const Rule& rule);
Message slack_advice_of(const Rule& rule);
const Rule& rule_by(const Rules& rules, RuleId id);  ///< every rule of the table is there
/// The limits in force. A wearer who was not asked is judged like one at risk.
const Limits& limits_for(const Rule& rule, Wearer wearer);
std::string_view wearer_name(Wearer wearer);              ///< as on the command line: "standard", "at-risk", "unknown"
std::string_view provenance_name(Provenance provenance);  ///< "published", "common practice", "our choice"

}  // namespace lastroom
