#include <algorithm>
#include <cmath>

#include "clearance/clearance.h"
#include "zones/skin_normals.h"

namespace lastroom {
namespace {

/// The skin of the toes' ends as a mesh of its own, and which vertices of the foot it is made of.
struct ToeEnds {
  Mesh skin;
  std::vector<std::uint32_t> vertex;
};

ToeEnds toe_ends(const Foot& foot, const SkinMap& skin, const ClearanceField& field) {
  constexpr auto kElsewhere = static_cast<std::uint32_t>(-1);
  ToeEnds ends;
  std::vector<std::uint32_t> place(skin.zone.size(), kElsewhere);
  for (std::uint32_t i = 0; i < skin.zone.size(); ++i) {
    if (!is_toe_end(skin.zone[i])) continue;
    place[i] = static_cast<std::uint32_t>(ends.vertex.size());
    ends.vertex.push_back(i);
    ends.skin.vertices.push_back(field.skin_mm[i]);
  }
  for (const Triangle& t : foot.mesh.triangles)
    if (std::ranges::none_of(t, [&](std::uint32_t corner) { return place[corner] == kElsewhere; }))
      ends.skin.triangles.push_back({place[t[0]], place[t[1]], place[t[2]]});
  return ends;
}

/// The last before its joints without its bottom: what lies inside the feather edge and, as that edge is lost on a
/// rough mesh, what looks down within 45 degrees or lies among such triangles with all its corners.
Mesh walls_and_roof(const Last& last) {
  constexpr double kLooksDown = -0.7;
  const double behind_x = 0.5 * (last.first_joint.x() + last.fifth_joint.x());
  std::vector<std::uint8_t> keep(last.mesh.triangles.size()), under(last.mesh.vertices.size(), 0);
  for (std::size_t i = 0; i < keep.size(); ++i) {
    const Triangle& t = last.mesh.triangles[i];
    const Vec3 &a = last.mesh.vertices[t[0]], &b = last.mesh.vertices[t[1]], &c = last.mesh.vertices[t[2]];
    const Vec3 twice_area = (b - a).cross(c - a);
    const bool bottom = !last.bottom.empty() && last.bottom[i] != 0;
    const bool is_under = bottom || twice_area.z() <= kLooksDown * twice_area.norm();
    keep[i] = !is_under && a.x() > behind_x;
    if (is_under) under[t[0]] = under[t[1]] = under[t[2]] = 1;
  }
  for (std::size_t i = 0; i < keep.size(); ++i) {
    const Triangle& t = last.mesh.triangles[i];
    if (under[t[0]] && under[t[1]] && under[t[2]]) keep[i] = 0;
  }
  return submesh(last.mesh, keep);
}

}  // namespace

ClearanceField with_toe_ends(ClearanceField field, const Foot& foot, const SkinMap& skin,
                             const Registration& registration, double foot_length_mm, const Last& last) {
  const ToeEnds ends = toe_ends(foot, skin, field);
  const Mesh walls = walls_and_roof(last);
  if (ends.vertex.empty() || walls.triangles.empty()) return field;

  const auto surface = SignedDistance::looking_at(walls);
  const std::vector<SurfacePoint> nearest = surface.at(ends.skin.vertices);
  const PosedFoot posed(foot.landmarks, foot_length_mm, registration);
  std::vector<double> clearance_mm(nearest.size());
  for (std::size_t k = 0; k < nearest.size(); ++k) {
    const std::uint32_t i = ends.vertex[k];
    const SurfacePoint& there = nearest[k];
    // Over the feather edge, where the walls end, the way to the nearest point is not along their normal.
    const Vec3 away = field.skin_mm[i] - there.point_mm;
    const Vec3 direction = away.norm() > 1e-6 ? Vec3(away.normalized()) : there.normal;
    // The walls alone end at the feather edge, beside which their sign means little: both must say outside.
    const bool outside = there.distance_mm > 0.0 && field.clearance_mm[i] + field.sock_mm < 0.0;
    clearance_mm[k] = (outside ? -1.0 : 1.0) * std::abs(there.distance_mm) - field.sock_mm;
    field.doubt_mm[i] =
        doubt_along_mm(direction, posed.jacobian(foot.mesh.vertices[i]), registration.covariance, field.scan_error_mm);
    field.last_point_mm[i] = there.point_mm;
  }
  clearance_mm = evened(ends.skin, std::move(clearance_mm), kClearanceEvened_mm);
  for (std::size_t k = 0; k < nearest.size(); ++k) field.clearance_mm[ends.vertex[k]] = clearance_mm[k];
  return field;
}

}  // namespace lastroom
