#include "preparation/foot_resting.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "geometry/section.h"

namespace lastroom {
namespace {

/// Evenly spread unit vectors: a Fibonacci spiral from pole to pole.
std::vector<Vec3> spread_directions(int count) {
  std::vector<Vec3> directions;
  const double golden = std::numbers::pi * (3.0 - std::sqrt(5.0));
  for (int i = 0; i < count; ++i) {
    const double z = 1.0 - (2.0 * i + 1.0) / count;
    const double r = std::sqrt(1.0 - z * z);
    directions.emplace_back(r * std::cos(golden * i), r * std::sin(golden * i), z);
  }
  return directions;
}

/// Area of the convex patch in which the points within `depth` of the lowest one lie.
double contact_area(const std::vector<Vec3>& points, const Vec3& up, double depth) {
  double lowest = std::numeric_limits<double>::infinity();
  for (const Vec3& p : points) lowest = std::min(lowest, p.dot(up));
  const auto [u, v] = plane_axes(up);
  std::vector<Vec2> contact;
  for (const Vec3& p : points)
    if (p.dot(up) < lowest + depth) contact.emplace_back(p.dot(u), p.dot(v));
  return polygon_area(convex_hull(std::move(contact)));
}

struct Resting {
  Vec3 up;
  double area;
};

/// Tilts the direction in ever smaller steps towards more contact.
Resting settled(const std::vector<Vec3>& points, Vec3 up, double depth) {
  double area = contact_area(points, up, depth);
  for (const double step_deg : {5.0, 2.5, 1.25}) {
    const double step = step_deg * std::numbers::pi / 180.0;
    for (bool better = true; better;) {
      better = false;
      const auto [u, v] = plane_axes(up);
      for (const Vec3& tilt : {Vec3(step * u), Vec3(-step * u), Vec3(step * v), Vec3(-step * v)}) {
        const Vec3 tilted = (up + tilt).normalized();
        if (const double tilted_area = contact_area(points, tilted, depth); tilted_area > 1.001 * area) {
          up = tilted, area = tilted_area, better = true;
          break;
        }
      }
    }
  }
  return {up, area};
}

}  // namespace

std::vector<Vec3> resting_directions(const FootCloud& cloud) {
  constexpr std::size_t kEnoughPoints = 1200;
  constexpr int kDirections = 300;                // about 12 degrees apart
  constexpr std::size_t kStarts = 20, kKept = 9;  // a leg with a foot rests on sole, cut, both sides, back, front
  constexpr double kSame = 0.94;                  // 20 degrees: the same resting place
  const std::vector<Vec3> points = thinned(cloud, kEnoughPoints).points;
  Box box;
  for (const Vec3& p : points) box.low = box.low.cwiseMin(p), box.high = box.high.cwiseMax(p);
  const double size = box.size().norm();

  std::vector<Resting> starts;
  for (const Vec3& up : spread_directions(kDirections)) starts.push_back({up, contact_area(points, up, 0.04 * size)});
  const auto more_contact = [](const Resting& a, const Resting& b) { return a.area > b.area; };
  std::stable_sort(starts.begin(), starts.end(), more_contact);

  std::vector<Resting> kept;
  std::vector<Vec3> tried;
  for (const Resting& start : starts) {
    if (tried.size() >= kStarts) break;
    if (std::any_of(tried.begin(), tried.end(), [&](const Vec3& t) { return t.dot(start.up) > kSame; })) continue;
    tried.push_back(start.up);
    const Resting rest = settled(points, start.up, 0.015 * size);
    // A tilt may stop short of the sole itself: of one place that with more contact is tried too.
    const bool known = std::any_of(kept.begin(), kept.end(),
                                   [&](const Resting& k) { return k.up.dot(rest.up) > kSame && k.area >= rest.area; });
    if (!known) kept.push_back(rest);
  }
  std::stable_sort(kept.begin(), kept.end(), more_contact);
  std::vector<Vec3> directions;
  for (std::size_t i = 0; i < std::min(kKept, kept.size()); ++i) directions.push_back(kept[i].up);
  return directions;
}

}  // namespace lastroom
