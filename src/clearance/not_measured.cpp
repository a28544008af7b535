#include <cmath>

#include "clearance/clearance.h"

namespace lastroom {
namespace {

/// The smallest judged area of each zone on 100 scans of made feet (seeds 1 to 100 of tests/truth_cases.cpp), scaled to
/// a foot of 250 mm; order of the enum.
constexpr std::array<double, kZoneCount> kSmallest_mm2 = {1600.0, 5900.0, 3600.0, 5500.0, 5500.0, 2400.0,
                                                          510.0,  360.0,  2700.0, 3200.0, 500.0,  230.0,
                                                          300.0,  240.0,  80.0,   3200.0, 3100.0};
constexpr double kEnough = 0.5;  // of that, and of the zone's own skin; our choice

bool has_two_sides(Zone zone) { return zone == Zone::heel_sides || zone == Zone::waist; }

struct Seen {
  double skin_mm2 = 0.0, judged_mm2 = 0.0, inside_mm2 = 0.0;
};

}  // namespace

std::vector<Zone> zones_not_measured(const ClearanceField& field, const SkinMap& skin, double foot_length_mm) {
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
    const auto zone = static_cast<Zone>(z);
    if (skin.sole_missing && is_under_the_foot(zone)) continue;
    const double enough_mm2 = kEnough * kSmallest_mm2[z] * std::pow(foot_length_mm / 250.0, 2);
    const double lesser_side_mm2 = std::min(seen[z].inside_mm2, seen[z].judged_mm2 - seen[z].inside_mm2);
    if (seen[z].judged_mm2 < std::max(enough_mm2, kEnough * seen[z].skin_mm2) ||
        (has_two_sides(zone) && lesser_side_mm2 < enough_mm2 / 2.0))
      result.push_back(zone);
  }
  return result;
}

}  // namespace lastroom
