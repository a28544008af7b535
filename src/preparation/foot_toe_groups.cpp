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

Message toe_message(const ToeGroup& group) {
  const auto toe = [](const char* how, std::size_t index) {
    return Message{fmt::format("toes.{}.{}", how, index + 1)};
  };
  if (group.first == 0 && group.last == 4) return {"toes.all"};
  if (group.first == group.last) return toe("toe", group.first);
  return {"toes.from_to", {{"first", toe("name", group.first)}, {"last", toe("name", group.last)}}};
}

}  // namespace lastroom
