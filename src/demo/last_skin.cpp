#include "demo/last_skin.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

constexpr double kSoleFacesDown = -0.85;  // the sole's flat, without its rounded border
constexpr double kRowStep_mm = 2.5;
constexpr double kFairing_mm = 8.0;  // the bottom is the sole averaged over about this length along x
constexpr double kBend_mm = 10.0;    // on both sides of the joint line, over which the bottom bends
// Toes are round and stand apart: by so much the median of their skin lies under the tape's hull over them. Seen on
// made feet with the default room.
constexpr double kToesUnderTop_mm = 1.8, kBigToeUnderSide_mm = 0.8, kFifthToeUnderSide_mm = 0.2;
constexpr double kBendPerRise_mm = 36.0;                  // a higher heel bends over a longer way
constexpr double kPadFull_mm = 14.0, kPadEnds_mm = 40.0;  // behind the joint line

double ramp(double value, double from, double to) {
  const double t = std::clamp((value - from) / (to - from), 0.0, 1.0);
  return t * t * (3.0 - 2.0 * t);
}
double mix(double a, double b, double share) { return a + share * (b - a); }

/// The room asked for at a skin point, continuous over the region borders.
double room_at(const LastRoom& room, const MadeFoot& foot, double length_mm, const Vec3& p, const Vec3& n) {
  const bool inside = n.y() > 0.0;
  const double along = (p.x() - foot.heel.x()) / length_mm;
  const Vec3& joint = inside ? foot.first_joint : foot.fifth_joint;
  const double from_joint = (p.x() - joint.x()) / length_mm;
  const double joint_share = ramp(from_joint, -0.09, -0.05);
  const double heel = mix(room.heel_sides, room.heel_back, ramp(-n.x(), 0.6, 0.8));
  const double behind = mix(heel, room.waist, ramp(along, 0.33, 0.37));
  const double at_joint = inside ? room.inside_joint : room.outside_joint;
  const double before = inside ? room.big_toe_side - kBigToeUnderSide_mm : room.fifth_toe_side - kFifthToeUnderSide_mm;
  const double side = mix(mix(behind, at_joint, joint_share), before, ramp(from_joint, 0.03, 0.10));
  const double line_y = (p.y() - foot.fifth_joint.y()) / (foot.first_joint.y() - foot.fifth_joint.y());
  const double from_line = (p.x() - mix(foot.fifth_joint.x(), foot.first_joint.x(), line_y)) / length_mm;
  const double third_y = mix(foot.toe_tips[2].y(), foot.toe_tips[3].y(), 0.5);
  const double toe_top = mix(room.fifth_toe_top, room.toe_top, ramp(p.y() - third_y, -5.0, 5.0)) - kToesUnderTop_mm;
  const double top =
      mix(mix(room.instep, room.joint_top, ramp(from_line, -0.10, -0.06)), toe_top, ramp(from_line, 0.0, 0.10));
  return mix(side, top, ramp(n.z(), 0.35, 0.65));
}

double sole_room_at(const LastRoom& room, double length_mm, double heel_x, const Vec3& p, double before_joint_mm) {
  const double along = (p.x() - heel_x) / length_mm;
  return mix(mix(room.seat, room.arch, ramp(along, 0.28, 0.32)), room.tread,
             ramp(before_joint_mm / length_mm, -0.11, -0.07));
}

/// The value that `share` of them lie under; 0 of none. Reorders them.
double quantile(std::vector<double>& values, double share) {
  if (values.empty()) return 0.0;
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

/// Median height over the floor of the sole's flat under the joint.
double tread_height_mm(const MadeFoot& foot, const LastPose& pose, const std::vector<Vec3>& normals) {
  const double length = length_of(foot);
  std::vector<double> heights;
  for (std::size_t i = 0; i < normals.size(); ++i) {
    const Vec3& p = foot.mesh.vertices[i];
    const double before = pose.before_joint_mm(p) / length;
    if (normals[i].z() < kSoleFacesDown && p.z() < 0.1 * length && before > -0.09 && before < 0.06)
      heights.push_back(p.z());
  }
  return quantile(heights, 0.5);
}

}  // namespace

double centring_yaw_deg(const MadeFoot& foot, double pitch_deg, double spring_deg) {
  const LastPose pose(foot, pitch_deg, spring_deg, 0.0);
  const Vec3 along = pose(0.5 * (foot.toe_tips[0] + foot.toe_tips[1])) - pose(foot.heel);
  return -std::atan2(along.y(), along.x()) * 180.0 / std::numbers::pi;
}

LastSkin skin_with_room(const MadeFoot& foot, const LastPose& pose, double pitch_deg, const LastRoom& room) {
  LastSkin skin;
  skin.length_mm = length_of(foot);
  skin.mesh.triangles = foot.mesh.triangles;
  const std::vector<Vec3> normals = vertex_normals(foot.mesh);
  const std::vector<double> areas_mm2 = vertex_areas_mm2(foot.mesh);
  const double y_shift = -pose(foot.heel).y();  // the heel stands on the centre line
  for (std::size_t i = 0; i < normals.size(); ++i) {
    const Vec3& p = foot.mesh.vertices[i];
    const Vec3& n = normals[i];
    const double before = pose.before_joint_mm(p);
    Vec3 posed = pose(p) + Vec3(0.0, y_shift, 0.0);
    if (n.z() < kSoleFacesDown && p.z() < 0.2 * skin.length_mm && before < 0.1 * skin.length_mm)
      skin.sole.push_back(posed - Vec3(0.0, 0.0, sole_room_at(room, skin.length_mm, foot.heel.x(), p, before)));
    if (n.z() < kSoleFacesDown && p.z() < 0.1 * skin.length_mm && before > 0.12 * skin.length_mm) {
      skin.toe_soles.push_back(posed);
      skin.toe_sole_areas_mm2.push_back(areas_mm2[i]);
    }
    skin.mesh.vertices.push_back(posed + room_at(room, foot, skin.length_mm, p, n) * pose.turned(p, n));
  }
  const Vec3 first = pose(foot.first_joint), fifth = pose(foot.fifth_joint);
  skin.joint_middle = (0.5 * (first + fifth)).head<2>() + Vec2(0.0, y_shift);
  skin.forward = Vec2((first - fifth).y(), -(first - fifth).x()).normalized();
  skin.sole_before_joint_mm = tread_height_mm(foot, pose, normals) - room.tread;
  skin.rear_slope_ratio = std::tan(pitch_deg * std::numbers::pi / 180.0);
  skin.heel_x_mm = pose(foot.heel).x();
  skin.tip_x_mm = skin.heel_x_mm;
  for (const Vec3& tip : foot.toe_tips) skin.tip_x_mm = std::max(skin.tip_x_mm, pose(tip).x());
  return skin;
}

LastBottom::LastBottom(const LastSkin& skin, double spring_slope_ratio)
    : joint_middle_(skin.joint_middle),
      forward_(skin.forward),
      fore_z_mm_(skin.sole_before_joint_mm),
      slope_(spring_slope_ratio),
      rear_slope_(skin.rear_slope_ratio),
      first_x_mm_(skin.heel_x_mm + 10.0) {
  using Row = Eigen::Matrix<double, 5, 1>;
  const auto basis = [](double dx, double y) {
    const double w = y / 40.0;
    return Row(1.0, dx, w, w * w, w * w * w);
  };
  const int rows = 1 + static_cast<int>((skin.joint_middle.x() + 35.0 - first_x_mm_) / kRowStep_mm);
  for (int i = 0; i < rows; ++i) {
    const double x0 = first_x_mm_ + i * kRowStep_mm;
    Eigen::Matrix<double, 5, 5> normal = Eigen::Matrix<double, 5, 5>::Zero();
    Row right = Row::Zero();
    Vec2 reach(0.0, 0.0);  // of the sole's flat, to the outside and the inside
    for (const Vec3& p : skin.sole) {
      const double dx = p.x() - x0;
      if (std::abs(dx) > 3.0 * kFairing_mm) continue;
      const double weight = std::exp(-0.5 * dx * dx / (kFairing_mm * kFairing_mm));
      const Row b = basis(dx, p.y());
      normal += weight * b * b.transpose();
      right += weight * b * p.z();
      if (std::abs(dx) < kFairing_mm) reach = Vec2(std::min(reach[0], p.y()), std::max(reach[1], p.y()));
    }
    const double stiff = 1e-3 * normal(0, 0) + 1e-9;
    normal.diagonal() += Row(1e-9, 1e-9, stiff, stiff, stiff);
    rows_.push_back(normal.ldlt().solve(right));
    reach_.push_back(reach);
  }
}

double LastBottom::height_mm(double x_mm, double y_mm) const {
  const double place = std::clamp((x_mm - first_x_mm_) / kRowStep_mm, 0.0, static_cast<double>(rows_.size()) - 1.001);
  const auto row = static_cast<std::size_t>(place);
  const double share = place - static_cast<double>(row);
  const Vec2 reach = reach_[row] + share * (reach_[row + 1] - reach_[row]);
  const double w = std::clamp(y_mm, reach[0] - 2.0, reach[1] + 2.0) / 40.0;
  const auto at = [&](std::size_t i) {
    const double dx = x_mm - (first_x_mm_ + static_cast<double>(i) * kRowStep_mm);
    const auto& c = rows_[i];
    return c[0] + c[1] * std::clamp(dx, -15.0, 15.0) + w * (c[2] + w * (c[3] + w * c[4]));
  };
  const double rear = mix(at(row), at(row + 1), share);
  // Level at the joint line. Behind it the pad of the joint lies on a straight rise to the heel, which the arch leaves
  // further back; before it the toe spring rises.
  const double before_mm = (Vec2(x_mm, y_mm) - joint_middle_).dot(forward_);
  const double bend_mm = std::max(kBend_mm, kBendPerRise_mm * rear_slope_);
  const auto bent = [&](double away_mm) {  // 0 at the joint, slope 1 from bend_mm on
    return away_mm < bend_mm ? away_mm * away_mm / (2.0 * bend_mm) : away_mm - 0.5 * bend_mm;
  };
  const double line = fore_z_mm_ + (before_mm > 0.0 ? slope_ * bent(before_mm) : rear_slope_ * bent(-before_mm));
  return mix(rear, line, ramp(before_mm, -kPadEnds_mm, -kPadFull_mm));
}

}  // namespace lastroom
