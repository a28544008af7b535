#include <fmt/format.h>

#include <algorithm>

#include "preparation/foot.h"

namespace lastroom {

std::vector<ToeGroup> toe_groups(const FootLandmarks& landmarks) {
  std::vector<ToeGroup> groups;
  double before = 1.0;  // of the border that the group begins with
  std::size_t first = 0;
  for (std::size_t toe = 0; toe < 5; ++toe) {
    if (toe < 4 && !landmarks.toe_borders[toe].seen) continue;
    const double after = toe < 4 ? landmarks.toe_borders[toe].probability : 1.0;
    groups.push_back({first, toe, std::min(before, after)});
    before = after, first = toe + 1;
  }
  return groups;
}

ToeGroup group_of_toe(const FootLandmarks& landmarks, std::size_t toe) {
  const std::vector<ToeGroup> groups = toe_groups(landmarks);
  return *std::find_if(groups.begin(), groups.end(), [&](const ToeGroup& group) { return toe <= group.last; });
}

std::string toe_words(const ToeGroup& group) {
  constexpr std::array kNames = {"big", "second", "third", "fourth", "fifth"};
  if (group.first == 0 && group.last == 4) return "toes";
  if (group.first == group.last) return fmt::format("{} toe", kNames.at(group.first));
  return fmt::format("{} to {} toe", kNames.at(group.first), kNames.at(group.last));
}

}  // namespace lastroom
