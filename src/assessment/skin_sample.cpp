#include "assessment/skin_sample.h"

#include <algorithm>

namespace lastroom {

SkinSample sampled(const ClearanceField& field, const SkinMap& skin, std::size_t per_zone) {
  std::array<std::size_t, kZoneCount> count{}, seen{};
  for (std::size_t i = 0; i < skin.zone.size(); ++i)
    if (is_judged(field, skin, i)) ++count[static_cast<std::size_t>(skin.zone[i])];

  SkinSample sample;
  sample.field.sock_mm = field.sock_mm;
  for (std::uint32_t i = 0; i < skin.zone.size(); ++i) {
    if (!is_judged(field, skin, i)) continue;
    const auto zone = static_cast<std::size_t>(skin.zone[i]);
    const std::size_t stride = std::max<std::size_t>(1, count[zone] / per_zone);
    if (seen[zone]++ % stride != 0) continue;
    sample.vertex.push_back(i);
    sample.skin.zone.push_back(skin.zone[i]);
    sample.skin.toe.push_back(skin.toe[i]);
    sample.field.skin_mm.push_back(field.skin_mm[i]);
    sample.field.clearance_mm.push_back(field.clearance_mm[i]);
    sample.field.sigma_mm.push_back(field.sigma_mm[i]);
    sample.field.last_point_mm.push_back(field.last_point_mm[i]);
    sample.field.on_rim.push_back(0);
    sample.field.area_mm2.push_back(field.area_mm2[i]);
  }
  return sample;
}

const ZoneClearance* find_zone(const std::vector<ZoneClearance>& zones, Zone zone) {
  const auto found = std::find_if(zones.begin(), zones.end(), [&](const ZoneClearance& z) { return z.zone == zone; });
  return found == zones.end() ? nullptr : &*found;
}

}  // namespace lastroom
