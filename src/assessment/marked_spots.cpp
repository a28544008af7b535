#include "assessment/marked_spots.h"

#include <algorithm>

namespace lastroom {
namespace {

std::uint32_t nearest_vertex(const Mesh& mesh, const Vec3& p) {
  const auto nearest = std::min_element(mesh.vertices.begin(), mesh.vertices.end(), [&](const Vec3& a, const Vec3& b) {
    return (a - p).squaredNorm() < (b - p).squaredNorm();
  });
  return static_cast<std::uint32_t>(nearest - mesh.vertices.begin());
}

}  // namespace

std::vector<PosedSpot> posed_spots(const Foot& foot, const SkinMap& skin, const ClearanceField& field) {
  constexpr double kSameWay = 0.3;  // within 73 degrees: not the neighbouring toe's side, nor the sole below
  std::vector<PosedSpot> spots;
  for (const MarkedSpot& mark : foot.landmarks.never_press) {
    PosedSpot spot;
    spot.vertex = nearest_vertex(foot.mesh, mark.at);
    const Vec3& middle = foot.mesh.vertices[spot.vertex];
    SkinMap around = skin;
    around.zone.assign(skin.zone.size(), Zone::none);
    Zone zone = skin.zone[spot.vertex];
    for (std::uint32_t i = 0; i < foot.mesh.vertices.size(); ++i) {
      if ((foot.mesh.vertices[i] - middle).squaredNorm() > kSpotRadiusMm * kSpotRadiusMm) continue;
      if (field.skin_normal[i].dot(field.skin_normal[spot.vertex]) < kSameWay) continue;
      if (!is_judged(field, skin, i)) continue;
      spot.around.push_back(i);
      if (zone == Zone::none) zone = skin.zone[i];
    }
    for (const std::uint32_t i : spot.around) around.zone[i] = zone;
    const std::vector<ZoneClearance> room = by_zone(field, around);
    if (!room.empty()) spot.room = room.front();
    // The mark itself may lie in the twentieth that presses most.
    if (spot.room && is_judged(field, skin, spot.vertex))
      spot.room->p05_mm = std::min(spot.room->p05_mm, field.clearance_mm[spot.vertex]);
    spots.push_back(std::move(spot));
  }
  return spots;
}

}  // namespace lastroom
