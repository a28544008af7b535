#include "preparation/foot_landmarks.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "preparation/foot_joints.h"
#include "preparation/foot_template.h"
#include "preparation/foot_toes.h"

namespace lastroom {
namespace {

/// Points chosen by `wanted`, as indices.
std::vector<std::size_t> chosen(const FootCloud& cloud, const std::function<bool(const Vec3&)>& wanted) {
  std::vector<std::size_t> list;
  for (std::size_t i = 0; i < cloud.points.size(); ++i)
    if (wanted(cloud.points[i])) list.push_back(i);
  return list;
}

/// Middle of the skin that lies within `depth` of the furthest in a direction; by area, so that one bad point counts
/// little.
std::optional<Vec3> furthest(const FootCloud& cloud, const std::vector<std::size_t>& among, const Vec3& direction,
                             double depth) {
  if (among.empty()) return std::nullopt;
  double most = -std::numeric_limits<double>::infinity();
  for (std::size_t i : among) most = std::max(most, cloud.points[i].dot(direction));
  Vec3 sum = Vec3::Zero();
  double area = 0.0;
  for (std::size_t i : among)
    if (cloud.points[i].dot(direction) >= most - depth) sum += cloud.areas[i] * cloud.points[i], area += cloud.areas[i];
  Vec3 middle = sum / area;
  return middle + (most - middle.dot(direction)) * direction;
}

FootCloud moved(const FootCloud& cloud, const Motion& motion) {
  FootCloud result = cloud;
  for (Vec3& p : result.points) p = motion * p;
  for (Vec3& n : result.normals) n = motion.linear() * n;
  return result;
}

/// Height under which `share` of the area of these points lies.
double low_quantile(const FootCloud& cloud, std::vector<std::size_t> points, double share) {
  std::sort(points.begin(), points.end(),
            [&](std::size_t a, std::size_t b) { return cloud.points[a].z() < cloud.points[b].z(); });
  double area = 0.0, wanted = 0.0;
  for (std::size_t i : points) wanted += share * cloud.areas[i];
  for (std::size_t i : points)
    if ((area += cloud.areas[i]) >= wanted) return cloud.points[i].z();
  return 0.0;
}

/// Turns `up` to z, by the shortest way.
Motion upright(const Vec3& up) {
  Motion motion = Motion::Identity();
  motion.linear() = Eigen::Quaterniond::FromTwoVectors(up, Vec3::UnitZ()).toRotationMatrix();
  return motion;
}

/// The floor's height and tilt from the skin: a foot stands on three places, the heel and the two ends of the ball.
Motion level(const FootCloud& rough, double length, bool sole_missing) {
  Motion level_from_rough = Motion::Identity();
  FootCloud cloud = rough;
  for (int turn = 0; turn < 3; ++turn) {
    const auto low_in = [&](double x0, double x1, double side) {
      return chosen(cloud, [&](const Vec3& p) {
        return p.x() > x0 * length && p.x() < x1 * length && p.z() < 0.15 * length && side * p.y() >= -0.02 * length;
      });
    };
    const auto heel = furthest(cloud, low_in(0.03, 0.28, 0.0), -Vec3::UnitZ(), 0.006 * length);
    const auto inside = furthest(cloud, low_in(0.62, 0.80, 1.0), -Vec3::UnitZ(), 0.006 * length);
    const auto outside = furthest(cloud, low_in(0.55, 0.75, -1.0), -Vec3::UnitZ(), 0.006 * length);
    if (!heel || !inside || !outside) break;
    Vec3 up = (*inside - *heel).cross(*outside - *heel).normalized();
    if (up.z() < 0.0) up = -up;
    if (up.z() < 0.9) break;  // 25 degrees off: no floor can be told; the generic foot's is kept
    const Motion step = upright(up);
    cloud = moved(cloud, step);
    level_from_rough = step * level_from_rough;
  }
  // The lowest hundredth of the skin near the floor lies under it: noise, and skin that sinks in.
  std::vector<std::size_t> sole;
  for (std::size_t i : chosen(cloud, [&](const Vec3& p) { return p.z() < 0.1 * length; }))
    if (sole_missing || cloud.normals[i].z() < -0.6) sole.push_back(i);
  level_from_rough.pretranslate(Vec3(0.0, 0.0, -low_quantile(cloud, sole, 0.01)));
  return level_from_rough;
}

/// The skin furthest to the side at a joint's place along the foot.
Vec3 joint_on_skin(const FootCloud& cloud, double length, double place, const Vec3& outward) {
  const auto beside = chosen(
      cloud, [&](const Vec3& p) { return std::abs(p.x() - place * length) < 0.012 * length && p.z() < 0.22 * length; });
  Vec3 at = furthest(cloud, beside, outward, 0.0015 * length).value_or(Vec3::Zero());
  at.x() = place * length;
  return at;
}

/// Mean height of the lowest skin before the ball and behind the tips.
double toe_rise(const FootCloud& cloud, double length) {
  constexpr int kStrips = 3;
  constexpr double kFrom = 0.80, kStrip = 0.05;
  double sum = 0.0;
  for (int i = 0; i < kStrips; ++i) {
    const double from = (kFrom + i * kStrip) * length;
    double low = length;
    for (const Vec3& p : cloud.points)
      if (p.x() >= from && p.x() < from + kStrip * length) low = std::min(low, p.z());
    sum += low / kStrips;
  }
  return sum;
}

ToesExpected expected_toes(const Vec3& size, double length, const Motion& foot_from_rough) {
  const FootTemplateLandmarks& usual = foot_template_landmarks();
  const auto placed = [&](const Vec3& p) { return Vec2((foot_from_rough * Vec3(size.cwiseProduct(p))).head<2>()); };
  ToesExpected expected{placed(usual.first_joint), placed(usual.fifth_joint), {}, length};
  for (std::size_t toe = 0; toe < 5; ++toe) expected.tips[toe] = placed(usual.toe_tips[toe]);
  return expected;
}

/// The generic foot's second toe, in the rough frame.
Vec3 usual_second_toe(const RoughFoot& rough, const FootCloud& cloud, bool whole) {
  FootPose pose;
  pose.size = rough.size;
  if (!whole) pose = laid_without_toes(pose, cloud);
  return pose.turn * pose.size.cwiseProduct(foot_template_landmarks().toe_tips[1]) + pose.shift;
}

/// The skin in front, where joints and toes are looked for.
Mesh fore_part(const RoughFoot& rough) {
  std::vector<std::uint8_t> keep;
  keep.reserve(rough.mesh.triangles.size());
  for (const Triangle& t : rough.mesh.triangles) {
    const Vec3& p = rough.mesh.vertices[t[0]];
    keep.push_back(p.x() > 0.42 * rough.size.x() && p.z() < 0.35 * rough.size.x() ? 1 : 0);
  }
  return submesh(rough.mesh, keep);
}

/// Level on its floor, where that was scanned; else as its sole tells.
Motion level(const RoughFoot& rough, const FootCloud& cloud) {
  if (!rough.floor) return level(cloud, rough.size.x(), rough.sole_missing);
  Motion level_from_rough = upright(rough.floor->normal);
  level_from_rough.pretranslate(Vec3(0.0, 0.0, -(level_from_rough * rough.floor->point_mm).z()));
  return level_from_rough;
}

/// Heel and toes as the foot lies now.
void find_ends(StandingFoot& foot, const RoughFoot& rough, const FootCloud& rough_cloud, const Mesh& rough_fore) {
  const HandLandmarks& given = rough.given;
  const Motion& now = foot.foot_from_rough;
  const FootCloud cloud = moved(rough_cloud, now);
  FootLandmarks& marks = foot.landmarks;
  const auto rear =
      chosen(cloud, [&](const Vec3& p) { return p.z() < 0.2 * foot.length && p.x() < 0.3 * foot.length; });
  marks.heel = given.heel ? Vec3(now * *given.heel)
                          : furthest(cloud, rear, -Vec3::UnitX(), 0.003 * foot.length).value_or(Vec3::Zero());
  std::array<std::optional<Vec3>, 5> given_tips;
  for (std::size_t toe = 0; toe < 5; ++toe)
    if (given.toe_tips[toe]) given_tips[toe] = now * *given.toe_tips[toe];
  const Toes toes = find_toes(moved(rough_fore, now), expected_toes(rough.size, foot.length, now), given_tips);
  marks.toe_tips = toes.tips;
  marks.toe_borders = toes.borders;
  marks.toe_there = toes.there;
  foot.toe_shortened = toes.shortened;
}

/// Turned and shifted, with the ends that were found, until the axis is x and the heel at 0.
void turn_along_axis(StandingFoot& foot, const RoughFoot& rough, const FootCloud& rough_cloud) {
  FootLandmarks& marks = foot.landmarks;
  // A second toe that was not told apart, or is gone, is no direction: the generic foot's is; laid without its toes
  // where one is missing.
  const bool told =
      rough.given.toe_tips[1] || (marks.toe_borders[0].seen && marks.toe_borders[1].seen && marks.toe_there[1]);
  const bool whole = std::ranges::all_of(marks.toe_there, std::identity());
  const Vec3 axis =
      (told ? marks.toe_tips[1] : foot.foot_from_rough * usual_second_toe(rough, rough_cloud, whole)) - marks.heel;
  Motion step = Motion::Identity();
  step.linear() = Eigen::AngleAxisd(-std::atan2(axis.y(), axis.x()), Vec3::UnitZ()).toRotationMatrix();
  step.translation() = -(step.linear() * Vec3(marks.heel.x(), marks.heel.y(), 0.0));
  foot.foot_from_rough = step * foot.foot_from_rough;
  marks.heel = step * marks.heel;
  for (Vec3& tip : marks.toe_tips) tip = step * tip;
  for (ToeBorder& border : marks.toe_borders)
    for (Vec2* end : {&border.root, &border.tip}) *end = (step * Vec3(end->x(), end->y(), 0.0)).head<2>();
  foot.length = 0.0;
  for (const Vec3& tip : marks.toe_tips) foot.length = std::max(foot.length, tip.x());
}

}  // namespace

StandingFoot stand_foot(const RoughFoot& rough) {
  const HandLandmarks& given = rough.given;
  const FootCloud rough_cloud = cloud_of(rough.mesh, 0.012 * rough.size.x());
  const Mesh rough_fore = fore_part(rough);

  StandingFoot foot;
  foot.foot_from_rough = level(rough, rough_cloud);
  foot.length = rough.size.x();
  for (int turn = 0; turn < 3; ++turn) {  // heel, toe tips and axis depend on each other; settles in two
    find_ends(foot, rough, rough_cloud, rough_fore);
    turn_along_axis(foot, rough, rough_cloud);
  }

  FootLandmarks& marks = foot.landmarks;
  const FootCloud cloud = moved(rough_cloud, foot.foot_from_rough);
  const JointPlaces joints = find_joints(moved(rough_fore, foot.foot_from_rough), foot.length);
  marks.first_joint = joint_on_skin(cloud, foot.length, joints.first.at, Vec3::UnitY());
  marks.fifth_joint = joint_on_skin(cloud, foot.length, joints.fifth.at, -Vec3::UnitY());
  marks.first_joint_sigma_mm = joints.first.sigma * foot.length;
  marks.fifth_joint_sigma_mm = joints.fifth.sigma * foot.length;
  if (given.first_joint) marks.first_joint = foot.foot_from_rough * *given.first_joint;
  if (given.fifth_joint) marks.fifth_joint = foot.foot_from_rough * *given.fifth_joint;
  if (!rough.sole_missing || rough.floor) foot.toe_rise = toe_rise(cloud, foot.length);
  const auto crest =
      chosen(cloud, [&](const Vec3& p) { return std::abs(p.x() - 0.55 * foot.length) < 0.01 * foot.length; });
  marks.instep = furthest(cloud, crest, Vec3::UnitZ(), 0.002 * foot.length).value_or(Vec3::Zero());
  marks.by_hand = {given.heel.has_value(), given.first_joint.has_value(), given.fifth_joint.has_value()};
  for (std::size_t toe = 0; toe < 5; ++toe) marks.by_hand[3 + toe] = given.toe_tips[toe].has_value();
  return foot;
}

}  // namespace lastroom
