#include "preparation/foot_pose.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "geometry/nearest_point.h"
#include "geometry/section.h"
#include "preparation/foot_resting.h"
#include "preparation/foot_template.h"

namespace lastroom {
namespace {

constexpr double kFar = 0.08;          ///< distances beyond 8 % of length count as 8 %: parts that are not there
constexpr double kAnkleHeight = 0.27;  ///< the template's top, where the leg begins
constexpr std::size_t kStartPoints = 1500;

/// The cloud with its search tree, and a thin copy of it for scoring.
struct Target {
  const FootCloud& cloud;
  NearestPoint nearest;
  FootCloud thin;
  double spacing;
};

Vec3 placed(const FootPose& pose, const Vec3& template_point) {
  return pose.turn * pose.size.cwiseProduct(template_point) + pose.shift;
}

/// Near the skin the distance to its tangent plane counts, so that the spacing of the points does not.
double distance_to(const Vec3& from, const Vec3& to, const Vec3& normal, double near) {
  const double distance = (from - to).norm();
  return distance < near ? std::abs(normal.dot(from - to)) : distance;
}

const NearestPoint& nearest_of_template() {
  static const std::vector<Vec3> points = [] {
    std::vector<Vec3> list;
    for (const FootTemplatePoint& t : foot_template()) list.push_back(t.point);
    return list;
  }();
  static const NearestPoint nearest(points);
  return nearest;
}

bool is_sole(const FootTemplatePoint& t) { return t.normal.z() < -0.5 && t.point.z() < 0.1; }
bool is_contact(const FootTemplatePoint& t) { return t.normal.z() < -0.9 && t.point.z() < 0.02; }

/// The target's points nearest to those of the template at the step before; 0 to begin with.
using Nearby = std::vector<std::size_t>;

/// Sets misfit and the shares that are there.
void score(FootPose& pose, const Target& target, std::size_t template_step, const Nearby& nearby) {
  constexpr double kThere = 0.04, kSoleThere = 0.02, kToesFrom = 0.9, kHeelTo = 0.1;  // shares of length
  const double length = pose.size.x();
  struct Share {
    double count = 0.0, there = 0.0, squares = 0.0;
    void add(double d, double near) { count += 1.0, there += d < near ? 1.0 : 0.0, squares += d * d; }
    double share() const { return count > 0.0 ? there / count : 0.0; }
  } sole, contact, upper, toes, heel;
  for (std::size_t i = 0; i < foot_template().size(); i += template_step) {
    const FootTemplatePoint& t = foot_template()[i];
    const Vec3 p = placed(pose, t.point);
    const std::size_t q = target.nearest(p, nearby[i]).first;
    const double off = distance_to(p, target.cloud.points[q], target.cloud.normals[q], 2.0 * target.spacing) / length;
    const double d = std::min(off, kFar);
    if (is_sole(t)) sole.add(d, kSoleThere);
    if (is_contact(t)) contact.add(d, kSoleThere);
    if (!is_sole(t)) upper.add(d, kThere);
    if (!is_sole(t) && t.point.x() > kToesFrom) toes.add(d, kThere);
    if (!is_sole(t) && t.point.x() < kHeelTo) heel.add(d, kThere);
  }
  pose.sole_there = contact.share(), pose.toes_there = toes.share(), pose.heel_there = heel.share();
  if (!pose.sole_missing()) upper.squares += sole.squares, upper.count += sole.count;
  const double missing = upper.squares / std::max(1.0, upper.count);

  double extra = 0.0, extra_area = 0.0;
  for (std::size_t i = 0; i < target.thin.points.size(); ++i) {
    const Vec3 t = (pose.turn.transpose() * (target.thin.points[i] - pose.shift)).cwiseQuotient(pose.size);
    if (t.z() > kAnkleHeight) continue;
    const FootTemplatePoint& near = foot_template()[nearest_of_template()(t).first];
    extra += target.thin.areas[i] * std::pow(std::min(distance_to(t, near.point, near.normal, kFar), kFar), 2);
    extra_area += target.thin.areas[i];
  }
  extra = extra_area > 0.0 ? extra / extra_area : kFar * kFar;
  pose.misfit = std::sqrt((missing + extra) / 2.0);
}

/// What of the generic foot is laid onto the skin, and how.
struct Laying {
  std::size_t step = 1;       ///< every so many of its points
  double front = 1.1;         ///< what lies behind this, of its length
  double reach = 2.0 * kFar;  ///< skin further than this, of its length, doesn't count
};

/// One step of robust least squares on point-to-plane distances (Chen and Medioni 1992) over turn, shift and three
/// sizes.
void fit_step(FootPose& pose, const Target& target, const Laying& laying, Nearby& nearby) {
  using Vector9 = Eigen::Matrix<double, 9, 1>;
  Eigen::Matrix<double, 9, 9> normal_matrix = Eigen::Matrix<double, 9, 9>::Zero();
  Vector9 right = Vector9::Zero();
  const double length = pose.size.x();
  double weight_sum = 0.0;
  for (std::size_t i = 0; i < foot_template().size(); i += laying.step) {
    const FootTemplatePoint& t = foot_template()[i];
    if (t.point.x() > laying.front) continue;
    const Vec3 sized = pose.turn * pose.size.cwiseProduct(t.point);
    const Vec3 p = sized + pose.shift;
    const auto [q, distance] = target.nearest(p, nearby[i]);
    nearby[i] = q;
    const Vec3& n = target.cloud.normals[q];
    const Vec3 m = pose.turn * t.normal.cwiseQuotient(pose.size.normalized());
    if (m.normalized().dot(n) < 0.2) continue;
    const double weight = std::pow(std::max(0.0, 1.0 - std::pow(distance / (laying.reach * length), 2)), 2);  // Tukey
    Vector9 row;
    row.segment<3>(0) = sized.cross(n);
    row.segment<3>(3) = n * length;
    row.segment<3>(6) = (pose.turn.transpose() * n).cwiseProduct(pose.size.cwiseProduct(t.point));
    const double residual = n.dot(target.cloud.points[q] - p);
    normal_matrix += weight * row * row.transpose();
    right += weight * residual * row;
    weight_sum += weight;
  }
  // Feet keep their proportions within about 8 % (A1: breadth/length 0.336 to 0.421), so sizes are held together.
  const double hold = 0.05 * weight_sum * std::pow(0.02 * length / 0.08, 2);
  for (const int k : {1, 2}) {
    const double off = std::log(std::abs(pose.size[k]) / pose.size.x());
    Vector9 row = Vector9::Zero();
    row[6 + k] = 1.0, row[6] = -1.0;
    normal_matrix += hold * row * row.transpose();
    right -= hold * off * row;
  }
  normal_matrix.diagonal().array() += 1e-9 * normal_matrix.trace();
  const Vector9 step = normal_matrix.ldlt().solve(right);
  const Vec3 turn_by = step.segment<3>(0);
  if (turn_by.norm() > 0.0)
    pose.turn = Eigen::AngleAxisd(std::min(turn_by.norm(), 0.3), turn_by.normalized()).toRotationMatrix() * pose.turn;
  pose.shift += step.segment<3>(3) * length;
  for (int k = 0; k < 3; ++k) pose.size[k] *= std::exp(std::clamp(step[6 + k], -0.15, 0.15));
}

void fit(FootPose& pose, const Target& target, int steps, std::size_t template_step) {
  const double start_length = pose.size.x();
  Nearby nearby(foot_template().size(), 0);
  for (int i = 0; i < steps; ++i) fit_step(pose, target, {.step = template_step}, nearby);
  score(pose, target, template_step, nearby);
  // A foot that shrinks away into a corner of the body, or outgrows it, is none.
  if (!(pose.size.x() > 0.5 * start_length && pose.size.x() < 2.0 * start_length)) pose.misfit = kFar;
}

/// The generic foot laid along the low part of the body, toes either way, either side.
void add_starts(const FootCloud& cloud, const Vec3& up, std::vector<FootPose>& starts) {
  double low = std::numeric_limits<double>::infinity(), high = -low;
  for (const Vec3& p : cloud.points) low = std::min(low, p.dot(up)), high = std::max(high, p.dot(up));
  Box box;
  for (const Vec3& p : cloud.points) box.low = box.low.cwiseMin(p), box.high = box.high.cwiseMax(p);
  const double band =
      low + 0.15 * box.size().norm();  // about 45 to 65 mm on a grown-up's foot, with or without its leg

  const auto [u, v] = plane_axes(up);
  Vec2 middle = Vec2::Zero();
  Eigen::Matrix2d spread = Eigen::Matrix2d::Zero();
  double area = 0.0;
  for (std::size_t i = 0; i < cloud.points.size(); ++i) {
    if (cloud.points[i].dot(up) > band) continue;
    const Vec2 p(cloud.points[i].dot(u), cloud.points[i].dot(v));
    middle += cloud.areas[i] * p;
    spread += cloud.areas[i] * p * p.transpose();
    area += cloud.areas[i];
  }
  middle /= area;
  spread = spread / area - middle * middle.transpose();
  const double angle = 0.5 * std::atan2(2.0 * spread(0, 1), spread(0, 0) - spread(1, 1));  // of the main axis
  const Vec2 along(std::cos(angle), std::sin(angle));
  for (const double way : {1.0, -1.0}) {
    const Vec3 forward = way * (along.x() * u + along.y() * v);
    const Vec3 across = up.cross(forward);
    double back = std::numeric_limits<double>::infinity(), front = -back, right = back, left = -back;
    for (const Vec3& p : cloud.points) {
      if (p.dot(up) > band) continue;
      back = std::min(back, p.dot(forward)), front = std::max(front, p.dot(forward));
      right = std::min(right, p.dot(across)), left = std::max(left, p.dot(across));
    }
    for (const Side s : {Side::right, Side::left}) {
      FootPose pose;
      pose.turn << forward, across, up;
      const double length = front - back;
      pose.size = Vec3(length, s == Side::left ? -length : length, length);
      const FootTemplateLandmarks& generic = foot_template_landmarks();
      const double template_middle = (generic.first_joint.y() + generic.fifth_joint.y()) / 2.0 * pose.size.y();
      pose.shift = back * forward + ((right + left) / 2.0 - template_middle) * across + low * up;
      starts.push_back(pose);
    }
  }
}

}  // namespace

double FootPoses::chance_of_wrong_side() const {
  // As if both sides were equally likely beforehand and misfits spread by 1 % of length (2.5 mm): our choice. Feet of
  // the made and the MakeHuman kind fit their own side at 0.001 to 0.010 and the other at 0.025 to 0.030.
  const double for_best = (other_side.misfit * other_side.misfit - best.misfit * best.misfit) / (0.01 * 0.01);
  return 1.0 / (1.0 + std::exp(for_best));
}

FootPoses find_foot_poses(const FootCloud& cloud, const std::optional<Vec3>& up) {
  double area = 0.0;
  for (const double a : cloud.areas) area += a;
  const Target target{cloud, NearestPoint(cloud.points), thinned(cloud, 400),
                      std::sqrt(area / static_cast<double>(cloud.points.size()))};

  std::vector<FootPose> poses;
  const FootCloud start_cloud = thinned(cloud, kStartPoints);
  for (const Vec3& direction : up ? std::vector<Vec3>{*up} : resting_directions(cloud))
    add_starts(start_cloud, direction, poses);

  // Coarse to fine: fewer and fewer poses, more and more points and steps.
  const auto better = [](const FootPose& a, const FootPose& b) { return a.misfit < b.misfit; };
  for (FootPose& pose : poses) fit(pose, target, 2, 5);
  std::stable_sort(poses.begin(), poses.end(), better);
  poses.resize(std::min<std::size_t>(poses.size(), 12));
  for (FootPose& pose : poses) fit(pose, target, 5, 3);
  std::stable_sort(poses.begin(), poses.end(), better);

  FootPoses found;
  std::vector<FootPose> finalists;
  for (const Side s : {Side::right, Side::left}) {
    int taken = 0;
    for (const FootPose& pose : poses)
      if (pose.side() == s && taken < 2) finalists.push_back(pose), ++taken;
  }
  // Each side is also tried where the best of the other one lies.
  FootPose mirrored = poses.front();
  mirrored.size.y() = -mirrored.size.y();
  finalists.push_back(mirrored);
  for (FootPose& pose : finalists) fit(pose, target, 15, 1);
  std::stable_sort(finalists.begin(), finalists.end(), better);
  found.best = finalists.front();
  found.other_side = *std::find_if(finalists.begin(), finalists.end(),
                                   [&](const FootPose& pose) { return pose.side() != found.best.side(); });
  return found;
}

FootPose laid_without_toes(FootPose pose, const FootCloud& cloud) {
  const Target target{cloud, NearestPoint(cloud.points), {}, 0.0};
  constexpr double kToesBegin = 0.75;  // of length; our choice
  Nearby nearby(foot_template().size(), 0);
  for (const double reach : {kFar, 0.5 * kFar})
    for (int i = 0; i < 8; ++i) fit_step(pose, target, {.front = kToesBegin, .reach = reach}, nearby);
  return pose;
}

}  // namespace lastroom
