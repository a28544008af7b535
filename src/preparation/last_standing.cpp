#include "preparation/last_standing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "geometry/section.h"

namespace lastroom {
namespace {

constexpr double kEndDepth_mm = 3.0;   // the ends of the feather edge within this depth make heel point and toe point
constexpr double kTreadHalf_mm = 5.0;  // half the length that lies on a bench; our choice
constexpr double kTreadReach_ratio = 0.2;  // of the length, on both sides, that may hold the tread up
// Joints in lengths from the heel: a foot's lie at 0.73 and about 0.64 of its own length (A1: 200.9/271.2; memory),
// which is 20 to 25 mm shorter than the last (A5). The spread covers allowances of 5 to 35 mm.
constexpr double kInsideJointPlace = 0.67, kOutsideJointPlace = 0.60, kJointSpread = 0.04;
constexpr int kRounds = 8;  // each step moves the others a little

Motion turn(const Vec3& axis, double angle_rad) {
  Motion motion = Motion::Identity();
  motion.linear() = Eigen::AngleAxisd(angle_rad, axis).toRotationMatrix();
  return motion;
}

/// Middle, across, of the feather edge's end within kEndDepth_mm of its extreme in direction `sign` x.
Vec2 end_of(const std::vector<Vec3>& loop, double sign) {
  double reach = -1e30;
  for (const Vec3& p : loop) reach = std::max(reach, sign * p.x());
  double low = 1e30, high = -1e30;
  const double cut = reach - kEndDepth_mm;
  for (std::size_t i = 0; i < loop.size(); ++i) {
    const Vec3 &a = loop[i], &b = loop[(i + 1) % loop.size()];
    const double da = sign * a.x() - cut, db = sign * b.x() - cut;
    if ((da > 0.0) == (db > 0.0)) continue;
    const double y = a.y() + da / (da - db) * (b.y() - a.y());
    low = std::min(low, y);
    high = std::max(high, y);
  }
  return {sign * reach, low <= high ? 0.5 * (low + high) : 0.0};
}

std::vector<Vec3> moved(const std::vector<Vec3>& points, const Motion& motion) {
  std::vector<Vec3> result(points.size());
  std::transform(points.begin(), points.end(), result.begin(), [&](const Vec3& p) { return Vec3(motion * p); });
  return result;
}

/// Where the loop crosses y = 0, rearmost and foremost.
std::optional<std::pair<Vec3, Vec3>> crossings(const std::vector<Vec3>& loop) {
  std::optional<std::pair<Vec3, Vec3>> found;
  for (std::size_t i = 0; i < loop.size(); ++i) {
    const Vec3 &a = loop[i], &b = loop[(i + 1) % loop.size()];
    if ((a.y() > 0.0) == (b.y() > 0.0)) continue;
    const Vec3 p = a + a.y() / (a.y() - b.y()) * (b - a);
    if (!found) found = {p, p};
    if (p.x() < found->first.x()) found->first = p;
    if (p.x() > found->second.x()) found->second = p;
  }
  return found;
}

/// The bottom cut by a vertical plane, in the standing frame, in order of `key`.
std::vector<Vec3> bottom_profile(const Mesh& bottom, const Motion& standing, const Vec3& point, const Vec3& normal,
                                 const Vec3& key) {
  const Motion back = standing.inverse();
  std::vector<Vec3> line;
  for (const SectionCurve& curve : section(bottom, {back * point, back.linear() * normal}))
    for (const Vec3& p : curve.points_mm) line.push_back(standing * p);
  std::sort(line.begin(), line.end(), [&](const Vec3& a, const Vec3& b) { return a.dot(key) < b.dot(key); });
  return line;
}

/// Slope dz/ds of the line at s = 0 from a least squares parabola over |s| < reach.
double slope_at(const std::vector<Vec3>& line, const Vec3& key, double place, double reach) {
  Eigen::Matrix3d normal = 1e-9 * Eigen::Matrix3d::Identity();
  Vec3 right = Vec3::Zero();
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {  // weighted by length, so that the mesh's density has no say
    const Vec3 middle = 0.5 * (line[i] + line[i + 1]);
    const double s = middle.dot(key) - place, weight = (line[i + 1] - line[i]).dot(key);
    if (std::abs(s) > reach || weight <= 0.0) continue;
    const Vec3 basis(1.0, s, s * s);
    normal += weight * basis * basis.transpose();
    right += weight * middle.z() * basis;
  }
  return Vec3(normal.ldlt().solve(right))[1];
}

/// Slope at `place` of the lower hull of the line within `reach`: how the line rests on a board there. A hollow beside
/// it (the arch) has no say.
double resting_slope_at(const std::vector<Vec3>& line, double place, double reach) {
  std::vector<Vec2> hull;
  for (const Vec3& p : line) {
    if (std::abs(p.x() - place) > reach) continue;
    const Vec2 next(p.x(), p.z());
    while (hull.size() > 1) {
      const Vec2 a = hull.back() - hull[hull.size() - 2], b = next - hull.back();
      if (a.x() * b.y() - a.y() * b.x() > 0.0) break;
      hull.pop_back();
    }
    hull.push_back(next);
  }
  const auto height = [&](double x) {
    for (std::size_t i = 1; i < hull.size(); ++i)
      if (hull[i].x() >= x || i + 1 == hull.size())
        return hull[i - 1].y() +
               (x - hull[i - 1].x()) / (hull[i].x() - hull[i - 1].x()) * (hull[i].y() - hull[i - 1].y());
    return 0.0;
  };
  if (hull.size() < 2) return 0.0;
  return (height(place + kTreadHalf_mm) - height(place - kTreadHalf_mm)) / (2.0 * kTreadHalf_mm);
}

/// The loop's utmost points left (+y) and right at a station.
std::pair<Vec3, Vec3> edge_points(const std::vector<Vec3>& loop, double x) {
  Vec3 left = Vec3::Zero(), right = Vec3::Zero();
  for (std::size_t i = 0; i < loop.size(); ++i) {
    const Vec3 &a = loop[i], &b = loop[(i + 1) % loop.size()];
    if ((a.x() > x) == (b.x() > x)) continue;
    const Vec3 p = a + (x - a.x()) / (b.x() - a.x()) * (b - a);
    if (p.y() > left.y()) left = p;
    if (p.y() < right.y()) right = p;
  }
  return {left, right};
}

struct Joints {
  Vec3 left = Vec3::Zero(), right = Vec3::Zero();
  double line_crosses_x() const { return left.x() + left.y() / (left.y() - right.y()) * (right.x() - left.x()); }
};

/// Positive: the inside is at +y. In units of one typical spread, so that exp(-|evidence|) is the chance of error. At
/// the waist the feather edge rises on the inside (the arch), and all along the outline bows out on the outside.
double inside_left_evidence(const std::vector<Vec3>& loop, double length_mm) {
  constexpr double kSpread_ratio = 0.015;  // of the length; a straight last has neither, our choice
  double rise = 0.0, bow = 0.0;
  constexpr std::array kWaist = {0.30, 0.35, 0.40, 0.45, 0.50}, kOutline = {0.3, 0.4, 0.5, 0.6, 0.8};
  for (const double station : kWaist) {
    const auto [left, right] = edge_points(loop, station * length_mm);
    rise += (left.z() - right.z()) / length_mm / kWaist.size();
  }
  for (const double station : kOutline) {
    const auto [left, right] = edge_points(loop, station * length_mm);
    bow += -(left.y() + right.y()) / length_mm / kOutline.size();
  }
  return (rise + bow) / kSpread_ratio;
}

/// A vertex of one side, and how far out it lies, less for being far from where joints lie.
struct SidePoint {
  double score_mm = 0.0;
  Vec3 at = Vec3::Zero();
};

/// Takes away what stands out from the skin a few millimetres before and behind it, as size pins do. Our choice: pins
/// are up to 4 mm thick and 8 mm apart; a last bends by less than 0.6 mm over 6 mm.
void drop_pins(std::vector<SidePoint>& side, double length_mm) {
  constexpr int kFrom = 3, kTo = 5;  // stations of 1 mm
  constexpr double kBend_mm = 0.6, kNone = -1e30;
  std::vector<double> most(static_cast<std::size_t>(length_mm) + 2, kNone);
  const auto station = [&](const SidePoint& p) { return static_cast<int>(p.at.x()); };
  for (const SidePoint& p : side) {
    double& score_mm = most[static_cast<std::size_t>(station(p))];
    score_mm = std::max(score_mm, p.score_mm);
  }
  const auto beside = [&](int at, int way) {
    double score_mm = kNone;
    for (int i = kFrom; i <= kTo; ++i)
      if (const int there = at + way * i; there >= 0 && there < static_cast<int>(most.size()))
        score_mm = std::max(score_mm, most[static_cast<std::size_t>(there)]);
    return score_mm;
  };
  std::erase_if(side, [&](const SidePoint& p) {
    const double behind_mm = beside(station(p), -1), before_mm = beside(station(p), 1);
    return behind_mm > kNone && before_mm > kNone && p.score_mm > 0.5 * (behind_mm + before_mm) + kBend_mm;
  });
}

/// The widest place on one side, `sign` y. An outline that runs straight for some centimetres has its joint where
/// joints are. Of all places as wide as the widest but for what a scan or a grid leaves open, the middle one is meant:
/// it stays where it is when the mesh is another.
Vec3 widest_of(const Mesh& rough, const Motion& standing, double length_mm, double sign, bool inside) {
  constexpr double kAsWide_mm = 0.6;
  std::vector<SidePoint> side;
  for (const Vec3& v : rough.vertices) {
    const Vec3 p = standing * v;
    const double off_place_mm = joint_off_place_mm(p.x() / length_mm, inside);
    if (sign * p.y() >= 0.0 && !std::isinf(off_place_mm)) side.push_back({sign * p.y() - off_place_mm, p});
  }
  drop_pins(side, length_mm);
  double best = -1e30;
  for (const SidePoint& p : side) best = std::max(best, p.score_mm);
  std::erase_if(side, [&](const SidePoint& p) { return p.score_mm < best - kAsWide_mm; });
  double weights = 0.0, middle = 0.0, widest = 0.0;
  for (const auto& [score_mm, p] : side) {
    const double weight = score_mm - best + kAsWide_mm;
    weights += weight, middle += weight * p.x();
    widest = std::max(widest, sign * p.y());
  }
  if (!(weights > 0.0)) return Vec3::Zero();
  middle /= weights;
  const Vec3 near =
      std::ranges::min_element(side, {}, [&](const SidePoint& p) { return std::abs(p.at.x() - middle); })->at;
  return {near.x(), sign * widest, near.z()};
}

Joints joints_of(const Mesh& rough, const Motion& standing, double length_mm, bool inside_left) {
  return {widest_of(rough, standing, length_mm, 1.0, inside_left),
          widest_of(rough, standing, length_mm, -1.0, !inside_left)};
}

/// Turned about z until the feather edge's centre line runs along x.
Motion along_centre_line(Motion standing, const std::vector<Vec3>& loop_rough) {
  for (int i = 0; i < 4; ++i) {
    const std::vector<Vec3> loop = moved(loop_rough, standing);
    const Vec2 heel = end_of(loop, -1.0), toe = end_of(loop, 1.0);
    standing = turn(-Vec3::UnitZ(), std::atan2(toe.y() - heel.y(), toe.x() - heel.x())) * standing;
    const Vec2 new_heel = end_of(moved(loop_rough, standing), -1.0);
    standing.pretranslate(Vec3(0.0, -new_heel.y(), 0.0));
  }
  return standing;
}

/// Pitched and rolled until the bottom rests level where the joint line crosses the centre line.
Motion level_on_tread(Motion standing, const Mesh& bottom, const Joints& joints, double length) {
  const double tread_x = joints.line_crosses_x();
  const Vec3 tread_plan(tread_x, 0.0, 0.0);
  const std::vector<Vec3> profile = bottom_profile(bottom, standing, tread_plan, Vec3::UnitY(), Vec3::UnitX());
  const double pitch = std::atan(resting_slope_at(profile, tread_x, kTreadReach_ratio * length));
  standing = turn(Vec3::UnitY(), pitch) * standing;
  Vec3 across = joints.left - joints.right;
  across.z() = 0.0;
  const double width = across.norm(), middle = 0.5 * (joints.left + joints.right).dot(across / width);
  across /= width;
  const double roll = std::atan(slope_at(
      bottom_profile(bottom, standing, tread_plan, across.cross(Vec3::UnitZ()), across), across, middle, 0.35 * width));
  return turn(-Vec3::UnitX(), roll) * standing;
}

}  // namespace

/// One spread away weighs as much as half a millimetre of width.
double joint_off_place_mm(double length_ratio, bool inside) {
  constexpr double kMostStray = 6.25;
  const double off = (length_ratio - (inside ? kInsideJointPlace : kOutsideJointPlace)) / kJointSpread;
  return off * off > kMostStray ? std::numeric_limits<double>::infinity() : 0.5 * off * off;
}

std::pair<Vec3, Vec3> joints_in_right_form(const Mesh& standing, double length_mm) {
  const Joints joints = joints_of(standing, Motion::Identity(), length_mm, true);
  return {joints.left, joints.right};
}

std::optional<Standing> stand_last(const Mesh& rough, const LastBottomFaces& faces) {
  if (faces.feather_loop.size() < 8) return std::nullopt;
  const Mesh bottom = submesh(rough, faces.bottom);
  std::vector<Vec3> loop_rough;
  for (const std::uint32_t i : faces.feather_loop) loop_rough.push_back(rough.vertices[i]);

  Motion standing = Motion::Identity();
  Joints joints;
  double length = 0.0, tread_x = 0.0;
  for (int round = 0; round < kRounds; ++round) {
    standing = along_centre_line(standing, loop_rough);
    const auto ends = crossings(moved(loop_rough, standing));
    if (!ends) return std::nullopt;
    standing.pretranslate(-ends->first);
    length = ends->second.x() - ends->first.x();
    joints = joints_of(rough, standing, length, inside_left_evidence(moved(loop_rough, standing), length) >= 0.0);
    if (joints.left.y() < 5.0 || joints.right.y() > -5.0) return std::nullopt;
    tread_x = joints.line_crosses_x();
    standing = level_on_tread(standing, bottom, joints, length);
  }

  Standing result;
  std::vector<Vec3> loop = moved(loop_rough, standing);
  const auto ends = crossings(loop);
  if (!ends) return std::nullopt;
  standing.pretranslate(-ends->first);
  for (Vec3& p : loop) p -= ends->first;
  result.standing_from_rough = standing;
  result.inside_left_evidence = inside_left_evidence(loop, length);
  joints = joints_of(rough, standing, length, result.inside_left_evidence >= 0.0);
  result.left_joint = joints.left;
  result.right_joint = joints.right;
  std::size_t start = 0;
  for (std::size_t i = 0; i < loop.size(); ++i)
    if (loop[i].squaredNorm() < loop[start].squaredNorm()) start = i;
  std::rotate(loop.begin(), loop.begin() + static_cast<std::ptrdiff_t>(start), loop.end());
  result.feather_edge = std::move(loop);
  result.centre_line = bottom_profile(bottom, standing, Vec3::Zero(), Vec3::UnitY(), Vec3::UnitX());
  if (result.centre_line.size() < 10) return std::nullopt;
  result.tread = result.centre_line.front();
  for (const Vec3& p : result.centre_line)
    if (std::abs(p.x() - tread_x) < 0.15 * length && p.z() < result.tread.z()) result.tread = p;
  return result;
}

}  // namespace lastroom
