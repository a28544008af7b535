#include <cmath>

#include "clearance/clearance.h"
#include "geometry/open_rims.h"

namespace lastroom {
namespace {

constexpr double kEnough = 0.5;  // of a zone's smallest area, and of its own skin; our choice

/// One value a zone, or for each of its sides where it has two.
template <class Value>
struct BySide {
  std::array<std::array<Value, 2>, kZoneCount + 1> values = {};
  Value& of(Zone zone, bool inside) {
    return values[static_cast<std::size_t>(zone)][has_two_sides(zone) && inside ? 1 : 0];
  }
};

struct Seen {
  double skin_mm2 = 0.0, judged_mm2 = 0.0, over_the_top_mm2 = 0.0;

  /// Waist and instep reach up to where lasts end, some lower than others.
  double due_mm2(Zone zone) const {
    constexpr double kThumb_mm2 = 100.0;  // our choice
    const bool may_end_above = zone == Zone::waist || zone == Zone::instep;
    return may_end_above && judged_mm2 >= kThumb_mm2 ? skin_mm2 - over_the_top_mm2 : skin_mm2;
  }
};

/// Whether the scan is open there. An opening is closed by a fan to the middle of its rim, and lies in the zones that
/// skin in the fan's place would be in, and in those of its rim.
BySide<bool> openings(const Foot& foot, const SkinMap& skin) {
  const OpenRims rims = open_rims(foot.mesh);
  BySide<bool> open;
  for (const OpenRims::Edge& edge : rims.edges) {
    const Vec3 &p = foot.mesh.vertices[edge.from], &q = foot.mesh.vertices[edge.to], &middle = rims.middles[edge.rim];
    const Vec3 outward = (q - p).cross(middle - p).normalized();
    open.of(zone_at(foot.landmarks, (p + q + middle) / 3.0, outward), outward.y() > 0.0) = true;
    open.of(skin.zone[edge.from], outward.y() > 0.0) = true;
  }
  return open;
}

}  // namespace

std::vector<Zone> zones_not_measured(const Foot& foot, const ClearanceField& field, const SkinMap& skin) {
  BySide<Seen> seen;
  for (std::size_t i = 0; i < skin.zone.size(); ++i) {
    Seen& part = seen.of(skin.zone[i], field.skin_normal[i].y() > 0.0);
    part.skin_mm2 += field.area_mm2[i];
    if (is_judged(field, skin, i)) part.judged_mm2 += field.area_mm2[i];
    if (field.on_rim[i] == ClearanceField::kPastTop) part.over_the_top_mm2 += field.area_mm2[i];
  }
  std::optional<BySide<bool>> open;  // looked for where a zone is small
  const auto is_measured = [&](const ZoneTraits& traits, bool inside) {
    const Seen& part = seen.of(traits.zone, inside);
    const double enough_mm2 = kEnough * traits.smallest_mm2 / (traits.two_sides ? 2.0 : 1.0) *
                              std::pow(foot_length_mm(foot.landmarks) / 250.0, 2);
    if (part.judged_mm2 <= 0.0 || part.judged_mm2 < kEnough * part.due_mm2(traits.zone)) return false;
    if (part.judged_mm2 >= enough_mm2) return true;
    if (!open) open = openings(foot, skin);
    return !open->of(traits.zone, inside);
  };
  std::vector<Zone> result;
  for (const ZoneTraits& traits : kZones)
    if (traits.zone != Zone::none && !(skin.sole_missing && traits.under_the_foot) &&
        !(is_measured(traits, false) && (!traits.two_sides || is_measured(traits, true))))
      result.push_back(traits.zone);
  return result;
}

}  // namespace lastroom
