#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "zones/zones.h"

namespace lastroom {

enum class Wearer { standard, at_risk, unknown };
enum class Provenance { published, common_practice, our_choice };

struct Limits {
  double pinch_below_mm = 0.0, watch_below_mm = 0.0;
  std::optional<double> slack_above_mm;
};

/// Limits of one zone or of a named measure ("toe_room", "headroom", "heel_to_joint" ...), with where they come from.
struct Rule {
  std::string name;              ///< zone name or measure name
  std::optional<Zone> zone;
  Limits standard, at_risk;
  Provenance provenance = Provenance::our_choice;
  std::string source;            ///< printed in the report
  std::string pinch_advice, slack_advice;
};

struct Rules {
  std::string name;
  std::string sha256;            ///< of the XML's bytes
  std::vector<Rule> rules;
};

Rules default_rules();                                   ///< built in from default_rules.xml
Rules read_rules(const std::filesystem::path& file);     ///< strict; InputError names line and reason

}  // namespace lastroom
