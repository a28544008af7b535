#include "demo/make_last.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "demo/last_loft.h"
#include "geometry/area_mean.h"

namespace lastroom {
namespace {

constexpr double kDegPerRad = 180.0 / std::numbers::pi;
constexpr double kStyleFrom_mm = 12.0, kStyleFull_mm = 30.0;  // in front of the first joint the style takes over

constexpr int kCoarseRounds = 3, kFineRounds = 3;
constexpr double kCoarseEdge_mm = 5.0;
constexpr double kYawStep = 0.8;            // of what is seen; the toe follows a little
constexpr double kJointReach_ratio = 0.07;  // of foot length: the last is widest this near to the foot's joint
constexpr double kEndDepth_mm = 3.0;        // the last's ends for its long axis: middle of the outline this deep

/// What is sought: with it the heel stands as high and the toe end as sprung as asked.
struct Stance {
  double pitch_deg = 0.0, spring_slope_ratio = 0.0, yaw_deg = 0.0, tread_shift_mm = 0.0, edge_mm = 2.5;
};

/// A last in the bench frame, ground not yet at its place, with what it was made from.
struct Draft {
  Motion bench_from_foot = Motion::Identity();
  double hinge_deg = 0.0;
  Loft loft;
  double off_axis_deg = 0.0;  ///< from the heel's middle to the round toe's; every style shares the rear part's frame
  double level_x_mm = 0.0;    ///< where the bottom was made level, on the centre line
  std::uint32_t first_joint = 0, fifth_joint = 0, tread = 0;  ///< vertices

  const Vec3& at(std::uint32_t vertex) const { return loft.mesh.vertices[vertex]; }
  double height_over_tread(std::uint32_t vertex) const { return at(vertex).z() - at(tread).z(); }
  /// Where the line over both joints crosses the centre line.
  double joint_line_x() const {
    const Vec3 &first = at(first_joint), &fifth = at(fifth_joint);
    return first.x() + first.y() / (first.y() - fifth.y()) * (fifth.x() - first.x());
  }
};

/// Middle, across, of the outline's end within kEndDepth_mm of its extreme in direction `sign` x.
Vec2 end_of(const Loft& loft, double sign) {
  const auto& loop = loft.feather_edge;
  double reach = -1e30, low = 1e30, high = -1e30;
  for (const std::uint32_t i : loop) reach = std::max(reach, sign * loft.mesh.vertices[i].x());
  for (std::size_t i = 0; i < loop.size(); ++i) {
    const Vec3 &a = loft.mesh.vertices[loop[i]], &b = loft.mesh.vertices[loop[(i + 1) % loop.size()]];
    const double da = sign * a.x() - (reach - kEndDepth_mm), db = sign * b.x() - (reach - kEndDepth_mm);
    if ((da > 0.0) == (db > 0.0)) continue;
    const double y = a.y() + da / (da - db) * (b.y() - a.y());
    low = std::min(low, y);
    high = std::max(high, y);
  }
  return {sign * reach, 0.5 * (low + high)};
}

/// The vertex with the most of `value` within the reach of a joint.
template <typename Value>
std::uint32_t most_near(const Mesh& mesh, double x, double reach_mm, const Value& value) {
  std::uint32_t best = 0;
  double most = -1e30;
  for (std::uint32_t i = 0; i < mesh.vertices.size(); ++i) {
    const Vec3& p = mesh.vertices[i];
    if (std::abs(p.x() - x) > reach_mm || value(p) <= most) continue;
    most = value(p);
    best = i;
  }
  return best;
}

/// The same grid with another toe; the rear part is taken over as it is.
void blend_toe(Mesh& mesh, const Mesh& styled, double first_joint_x) {
  for (std::size_t i = 0; i < mesh.vertices.size(); ++i) {
    Vec3& v = mesh.vertices[i];
    const double t = std::clamp((v.x() - first_joint_x - kStyleFrom_mm) / (kStyleFull_mm - kStyleFrom_mm), 0.0, 1.0);
    v += t * t * (3.0 - 2.0 * t) * (styled.vertices[i] - v);
  }
}

/// The lower half of the toes' soles, by area, lies as near to the bottom on average as the tread does once the fore
/// part is turned down by so much: toes are round and bear less than the ball.
double toes_off_deg(const LastSkin& skin, const LastBottom& bottom, double tread_room_mm) {
  constexpr double kBearing = 0.5;
  std::vector<std::pair<double, double>> over_mm;  // and the area there
  double area_mm2 = 0.0, moment = 0.0;
  for (std::size_t i = 0; i < skin.toe_soles.size(); ++i) {
    const Vec3& p = skin.toe_soles[i];
    const double area = skin.toe_sole_areas_mm2[i];
    over_mm.emplace_back(p.z() - bottom.height_mm(p.x(), p.y()) - tread_room_mm, area);
    area_mm2 += area;
    moment += area * (p.head<2>() - skin.joint_middle).dot(skin.forward);
  }
  if (over_mm.empty()) return 0.0;
  return std::atan2(mean_of_least(over_mm, kBearing), moment / area_mm2) * kDegPerRad;
}

/// The foot in its stance, its toes turned down at the joints until they lie on the bottom.
struct Stood {
  LastPose pose;
  LastSkin skin;
  LastBottom bottom;
};
Stood stood(const MadeFoot& foot, const LastShape& shape, const Stance& stance, double toes_down_deg) {
  const double spring_deg = std::atan(stance.spring_slope_ratio) * kDegPerRad - toes_down_deg;
  const double yaw_deg = stance.yaw_deg + centring_yaw_deg(foot, stance.pitch_deg, spring_deg);
  const LastPose pose(foot, stance.pitch_deg, spring_deg, yaw_deg);
  LastSkin skin = skin_with_room(foot, pose, stance.pitch_deg, shape.room);
  skin.joint_middle.x() += stance.tread_shift_mm;
  return {pose, skin, LastBottom(skin, stance.spring_slope_ratio)};
}
Stood with_toes_down(const MadeFoot& foot, const LastShape& shape, const Stance& stance) {
  constexpr int kMostRounds = 8;
  constexpr double kDown_deg = 0.1;  // under a tenth of a millimetre at the toes' middle
  double toes_down_deg = 0.0;
  for (int round = 1;; ++round) {
    Stood now = stood(foot, shape, stance, toes_down_deg);
    const double off_deg = toes_off_deg(now.skin, now.bottom, shape.room.tread);
    if (std::abs(off_deg) < kDown_deg || round == kMostRounds) return now;
    toes_down_deg += off_deg;
  }
}

Draft draft(const MadeFoot& foot, const LastShape& shape, const Stance& stance) {
  const auto [pose, skin, bottom] = with_toes_down(foot, shape, stance);
  const double joint_x = skin.joint_middle.x() - stance.tread_shift_mm;
  LoftShape around;
  around.toe_end_x_mm = skin.tip_x_mm + shape.allowance_mm;
  around.cone_z_mm = bottom.height_mm(skin.heel_x_mm + 0.03 * skin.length_mm, 0.0) + shape.cone_height_mm;
  around.edge_mm = stance.edge_mm;
  around.open_at_top = shape.open_at_top;

  Draft made;
  made.bench_from_foot = pose.bench_from_foot();
  made.bench_from_foot.pretranslate(Vec3(0.0, -pose(foot.heel).y(), 0.0));
  made.hinge_deg = pose.hinge_deg();
  made.level_x_mm = skin.joint_middle.x() + skin.joint_middle.y() * skin.forward.y() / skin.forward.x();
  made.loft = loft(skin, bottom, around);
  const Vec2 along = end_of(made.loft, 1.0) - end_of(made.loft, -1.0);
  made.off_axis_deg = std::atan2(along.y(), along.x()) * kDegPerRad;
  const double first_x = pose(foot.first_joint).x(), fifth_x = pose(foot.fifth_joint).x();
  if (shape.toe != ToeStyle::round) {
    around.toe = shape.toe;
    blend_toe(made.loft.mesh, loft(skin, bottom, around).mesh, first_x);
  }
  const double reach = kJointReach_ratio * skin.length_mm;
  made.first_joint = most_near(made.loft.mesh, first_x, reach, [](const Vec3& p) { return p.y(); });
  made.fifth_joint = most_near(made.loft.mesh, fifth_x, reach, [](const Vec3& p) { return -p.y(); });
  double lowest = 1e30;
  for (const std::uint32_t i : made.loft.centre_line)
    if (std::abs(made.at(i).x() - joint_x) < 0.12 * skin.length_mm && made.at(i).z() < lowest)
      lowest = made.at(made.tread = i).z();
  return made;
}

}  // namespace

MadeLast make_last(const MadeFoot& foot, const LastShape& shape) {
  // Pitch and slope that give the asked heights: both are nearly linear, so a few corrections settle them; the first on
  // a coarse grid.
  const double rear_mm = 0.5 * (foot.first_joint.x() + foot.fifth_joint.x()) - foot.heel.x();
  const double fore_mm = length_of(foot) + foot.heel.x() + shape.allowance_mm - rear_mm;
  Stance stance;
  stance.pitch_deg = std::asin(std::clamp(shape.heel_height_mm / rear_mm, -0.5, 0.7)) * kDegPerRad;
  stance.spring_slope_ratio = shape.toe_spring_mm / fore_mm;
  Draft made;
  for (int round = 0; round < kCoarseRounds + kFineRounds; ++round) {
    stance.edge_mm = round < kCoarseRounds ? std::max(kCoarseEdge_mm, shape.edge_mm) : shape.edge_mm;
    made = draft(foot, shape, stance);
    if (round + 1 == kCoarseRounds + kFineRounds) break;
    const double heel_mm = made.height_over_tread(made.loft.centre_line.front());
    const double toe_mm = made.height_over_tread(made.loft.centre_line.back());
    stance.yaw_deg -= kYawStep * made.off_axis_deg;
    stance.tread_shift_mm += made.joint_line_x() - made.level_x_mm;
    stance.pitch_deg += (shape.heel_height_mm - heel_mm) / rear_mm * kDegPerRad;
    stance.spring_slope_ratio += (shape.toe_spring_mm - toe_mm) / fore_mm;
  }

  // Bench frame -> last frame: the heel point is the origin.
  Motion last_from_bench = Motion::Identity();
  last_from_bench.translate(-made.at(made.loft.centre_line.front()));

  MadeLast last;
  last.mesh = moved(made.loft.mesh, last_from_bench);
  last.last_from_foot = last_from_bench * made.bench_from_foot;
  last.hinge_deg = made.hinge_deg;
  last.bottom = made.loft.bottom;
  const auto& v = last.mesh.vertices;
  for (const std::uint32_t i : made.loft.feather_edge) last.feather_edge.push_back(v[i]);
  for (const std::uint32_t i : made.loft.centre_line) last.centre_line.push_back(v[i]);
  last.first_joint = v[made.first_joint];
  last.fifth_joint = v[made.fifth_joint];
  last.tread = v[made.tread];
  const auto by_x = [](const Vec3& a, const Vec3& b) { return a.x() < b.x(); };
  last.heel_back = *std::min_element(v.begin(), v.end(), by_x);
  last.toe_end = *std::max_element(v.begin(), v.end(), by_x);
  return last;
}

}  // namespace lastroom
