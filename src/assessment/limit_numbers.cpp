#include "assessment/limit_numbers.h"

namespace lastroom {

std::map<std::string, double> numbers_of(const Limits& limits, RuleKind kind) {
  std::map<std::string, double> numbers;
  if (kind == RuleKind::zone || kind == RuleKind::room)
    numbers = {{"pinch_below", limits.pinch_below_mm}, {"watch_below", limits.watch_below_mm}};
  if (limits.slack_above_mm) numbers["slack_above"] = *limits.slack_above_mm;
  if (limits.watch_above_mm) numbers["watch_above"] = *limits.watch_above_mm;
  return numbers;
}

std::vector<std::string> laxer_limits(const Limits& mine, const Limits& theirs, RuleKind kind) {
  std::vector<std::string> laxer;
  const std::map<std::string, double> my_numbers = numbers_of(mine, kind);
  for (const auto& [name, number] : numbers_of(theirs, kind)) {
    const auto my_number = my_numbers.find(name);
    const bool later = my_number == my_numbers.end() ||
                       (name.ends_with("_below") ? my_number->second < number : my_number->second > number);
    if (later) laxer.push_back(name);
  }
  return laxer;
}

}  // namespace lastroom
