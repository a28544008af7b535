#include <cmath>

#include "clearance/clearance.h"

namespace lastroom {
namespace {

constexpr double kEnough = 0.5;  // of a zone's smallest area, and of its own skin; our choice

struct Seen {
  double skin_mm2 = 0.0, judged_mm2 = 0.0, inside_mm2 = 0.0;
};

}  // namespace

std::vector<Zone> zones_not_measured(const FootLandmarks& landmarks, const ClearanceField& field, const SkinMap& skin) {
  std::array<Seen, kZoneCount> seen;
  for (std::size_t i = 0; i < skin.zone.size(); ++i) {
    if (skin.zone[i] == Zone::none) continue;
    Seen& zone = seen[static_cast<std::size_t>(skin.zone[i])];
    zone.skin_mm2 += field.area_mm2[i];
    if (!is_judged(field, skin, i)) continue;
    zone.judged_mm2 += field.area_mm2[i];
    if (field.skin_normal[i].y() > 0.0) zone.inside_mm2 += field.area_mm2[i];
  }
  std::vector<Zone> result;
  for (std::size_t z = 0; z < kZoneCount; ++z) {
    const ZoneTraits& traits = kZones[z];
    if (skin.sole_missing && traits.under_the_foot) continue;
    const double enough_mm2 = kEnough * traits.smallest_mm2 * std::pow(foot_length_mm(landmarks) / 250.0, 2);
    const double lesser_side_mm2 = std::min(seen[z].inside_mm2, seen[z].judged_mm2 - seen[z].inside_mm2);
    if (seen[z].judged_mm2 < std::max(enough_mm2, kEnough * seen[z].skin_mm2) ||
        (traits.two_sides && lesser_side_mm2 < enough_mm2 / 2.0))
      result.push_back(traits.zone);
  }
  return result;
}

}  // namespace lastroom
