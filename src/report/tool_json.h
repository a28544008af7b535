#pragma once

// Private to report: what made a result, and by which rules, as every JSON file tells it.

#include <nlohmann/json.hpp>

#include "report/outputs.h"
#include "report/text.h"

namespace lastroom {

inline nlohmann::ordered_json tool_json(const RulesHead& rules) {
  return {{"version", tool_version()},
          {"rules", plain_text(rules.name)},
          {"rules_sha256", rules.sha256},
          {"rules_built_in", rules.built_in},
          {"rules_file", rules.built_in ? nlohmann::ordered_json() : nlohmann::ordered_json(plain_text(rules.file))},
          {"limits", rules.limits},
          {"limits_loosened", rules.loosened}};
}

}  // namespace lastroom
