#include "demo/make_last.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "demo/last_loft.h"

namespace lastroom {
namespace {

constexpr double kDegPerRad = 180.0 / std::numbers::pi;
constexpr double kStyleFrom_mm = 12.0, kStyleFull_mm = 30.0;  // in front of the first joint the style takes over

/// A last in the bench frame, ground not yet at its place, with what it was made from.
struct Draft {
  LastPose pose;
  double y_shift_mm = 0.0, joint_x_mm = 0.0, first_joint_x_mm = 0.0, length_mm = 0.0;
  Loft loft;
};

Draft draft(const MadeFoot& foot, const LastShape& shape, double pitch_deg, double slope_ratio) {
  const double spring_deg = std::atan(slope_ratio) * kDegPerRad;
  const LastPose pose(foot, pitch_deg, spring_deg, centring_yaw_deg(foot, pitch_deg, spring_deg));
  const LastSkin skin = skin_with_room(foot, pose, shape.room);
  const LastBottom bottom(skin, slope_ratio);
  LoftShape around;
  around.toe_end_x_mm = skin.tip_x_mm + shape.allowance_mm;
  around.cone_z_mm = bottom.height_mm(skin.heel_x_mm + 0.03 * skin.length_mm, 0.0) + shape.cone_height_mm;
  around.edge_mm = shape.edge_mm;
  around.open_at_top = shape.open_at_top;
  Loft made = loft(skin, bottom, around);
  const double first_x = pose(foot.first_joint).x();
  if (shape.toe != ToeStyle::round) {  // the same grid with another toe; the rear part is taken over as it is
    around.toe = shape.toe;
    const Loft styled = loft(skin, bottom, around);
    for (std::size_t i = 0; i < made.mesh.vertices.size(); ++i) {
      Vec3& v = made.mesh.vertices[i];
      const double t = std::clamp((v.x() - first_x - kStyleFrom_mm) / (kStyleFull_mm - kStyleFrom_mm), 0.0, 1.0);
      v += t * t * (3.0 - 2.0 * t) * (styled.mesh.vertices[i] - v);
    }
  }
  return {pose, -pose(foot.heel).y(), skin.joint_middle.x(), first_x, skin.length_mm, std::move(made)};
}

/// Lowest vertex of the centre line around the joint.
std::uint32_t tread_of(const Draft& d) {
  std::uint32_t lowest = d.loft.centre_line.front();
  double z = 1e9;
  for (const std::uint32_t i : d.loft.centre_line) {
    const Vec3& p = d.loft.mesh.vertices[i];
    if (std::abs(p.x() - d.joint_x_mm) < 0.15 * d.length_mm && p.z() < z) {
      z = p.z();
      lowest = i;
    }
  }
  return lowest;
}

double height_over_tread(const Draft& d, std::uint32_t vertex) {
  return d.loft.mesh.vertices[vertex].z() - d.loft.mesh.vertices[tread_of(d)].z();
}

}  // namespace

MadeLast make_last(const MadeFoot& foot, const LastShape& shape) {
  // Pitch and slope that give the asked heights: both are nearly linear, so a few corrections settle them.
  const double rear_mm = 0.5 * (foot.first_joint.x() + foot.fifth_joint.x()) - foot.heel.x();
  const double fore_mm = 0.35 * length_of(foot) + shape.allowance_mm - 10.0;
  double pitch_deg = std::asin(shape.heel_height_mm / rear_mm) * kDegPerRad, slope = shape.toe_spring_mm / fore_mm;
  Draft made = draft(foot, shape, pitch_deg, slope);
  for (int round = 0; round < 4; ++round) {
    pitch_deg += (shape.heel_height_mm - height_over_tread(made, made.loft.centre_line.front())) / rear_mm * kDegPerRad;
    slope += (shape.toe_spring_mm - height_over_tread(made, made.loft.centre_line.back())) / fore_mm;
    made = draft(foot, shape, pitch_deg, slope);
  }

  // The last frame starts at the heel point.
  MadeLast last;
  const Vec3 origin = made.loft.mesh.vertices[made.loft.centre_line.front()];
  last.mesh = std::move(made.loft.mesh);
  for (Vec3& v : last.mesh.vertices) v -= origin;
  last.last_from_foot = made.pose.bench_from_foot();
  last.last_from_foot.pretranslate(Vec3(0.0, made.y_shift_mm, 0.0) - origin);
  last.hinge_deg = made.pose.hinge_deg();
  last.bottom = std::move(made.loft.bottom);
  for (const std::uint32_t i : made.loft.feather_edge) last.feather_edge.push_back(last.mesh.vertices[i]);
  for (const std::uint32_t i : made.loft.centre_line) last.centre_line.push_back(last.mesh.vertices[i]);

  last.heel_back = last.toe_end = last.first_joint = last.fifth_joint = last.mesh.vertices.front();
  const double joint_x = made.joint_x_mm - origin.x();
  last.first_joint.y() = -1e9, last.fifth_joint.y() = 1e9;
  for (const Vec3& v : last.mesh.vertices) {
    if (v.x() < last.heel_back.x()) last.heel_back = v;
    if (v.x() > last.toe_end.x()) last.toe_end = v;
    if (std::abs(v.x() - joint_x) > 0.15 * made.length_mm) continue;
    if (v.y() > last.first_joint.y()) last.first_joint = v;
    if (v.y() < last.fifth_joint.y()) last.fifth_joint = v;
  }
  last.tread = last.centre_line.front();
  for (const Vec3& p : last.centre_line)
    if (std::abs(p.x() - joint_x) < 0.15 * made.length_mm && p.z() < last.tread.z()) last.tread = p;
  return last;
}

}  // namespace lastroom
