#include "demo/last_profile.h"

#include <algorithm>
#include <cmath>

#include "geometry/section.h"

namespace lastroom {
namespace {

constexpr double kConeRoundness = 2.4;  // superellipse exponent of the cut top's outline

}  // namespace

Profile slice(const Mesh& mesh, const HalfPlane& station, double top) {
  const Vec2 across(-station.direction.y(), station.direction.x());
  const Vec2 base(station.x, 0.0);
  Profile points;
  std::vector<double> side;
  side.reserve(mesh.vertices.size());
  for (const Vec3& p : mesh.vertices) side.push_back((p.head<2>() - base).dot(across));
  for (const Triangle& t : mesh.triangles) {
    const std::array<double, 3> s = {side[t[0]], side[t[1]], side[t[2]]};
    if ((s[0] > 0) == (s[1] > 0) && (s[1] > 0) == (s[2] > 0)) continue;
    std::array<Vec2, 2> ends;
    std::size_t found = 0;
    for (std::size_t e = 0; e < 3 && found < 2; ++e) {
      const std::size_t f = (e + 1) % 3;
      if ((s[e] > 0) == (s[f] > 0)) continue;
      const Vec3 p = mesh.vertices[t[e]] + s[e] / (s[e] - s[f]) * (mesh.vertices[t[f]] - mesh.vertices[t[e]]);
      ends[found++] = Vec2((p.head<2>() - base).dot(station.direction), p.z());
    }
    if (found < 2) continue;
    if (ends[0].y() > ends[1].y()) std::swap(ends[0], ends[1]);
    if (ends[0].y() > top) continue;
    if (ends[1].y() > top) ends[1] = ends[0] + (top - ends[0].y()) / (ends[1].y() - ends[0].y()) * (ends[1] - ends[0]);
    points.push_back(ends[0]);
    points.push_back(ends[1]);
  }
  return points;
}

Profile outer_border(Profile points, const Vec2& feather, bool to_cut) {
  points.push_back(feather);
  const Profile hull = convex_hull(std::move(points));
  if (hull.size() < 3) return {feather};
  std::size_t start = 0;
  for (std::size_t i = 1; i < hull.size(); ++i)
    if ((hull[i] - feather).squaredNorm() < (hull[start] - feather).squaredNorm()) start = i;
  Profile border = {feather};
  for (std::size_t step = 1; step < hull.size(); ++step) {
    const Vec2 last = border.back(), next = hull[(start + step) % hull.size()];
    if (to_cut && next.y() <= last.y() + 1e-9 && next.x() < last.x()) break;
    if (next.x() <= 0.0) {
      if (last.x() > 0.0) border.push_back(last + last.x() / (last.x() - next.x()) * (next - last));
      break;
    }
    border.push_back(next);
  }
  return border;
}

double top_of(const Profile& border) { return border.back().y(); }

Profile resampled(const Profile& line, std::size_t intervals) {
  if (line.size() < 2) return Profile(intervals + 1, line.front());
  std::vector<double> at(line.size(), 0.0);
  for (std::size_t i = 1; i < line.size(); ++i) at[i] = at[i - 1] + (line[i] - line[i - 1]).norm();
  Profile even;
  std::size_t i = 1;
  for (std::size_t k = 0; k <= intervals; ++k) {
    const double s = at.back() * static_cast<double>(k) / static_cast<double>(intervals);
    while (i + 1 < line.size() && at[i] < s) ++i;
    const double share = at[i] > at[i - 1] ? std::clamp((s - at[i - 1]) / (at[i] - at[i - 1]), 0.0, 1.0) : 0.0;
    even.push_back(line[i - 1] + share * (line[i] - line[i - 1]));
  }
  return even;
}

double rim_reach(const HalfPlane& station, double rear_x, double front_x, double half_width) {
  const double middle = 0.5 * (rear_x + front_x), half = 0.5 * (front_x - rear_x);
  const auto inside = [&](double q) {
    const Vec2 p = station.plan(q);
    return std::pow(std::abs(p.x() - middle) / half, kConeRoundness) +
               std::pow(std::abs(p.y()) / half_width, kConeRoundness) <
           1.0;
  };
  double low = 0.0, high = half + half_width;
  for (int i = 0; i < 50; ++i) (inside(0.5 * (low + high)) ? low : high) = 0.5 * (low + high);
  return low;
}

void bend_to_rim(Profile& line, const Vec2& rim) {
  const Vec2 from = line.back();
  std::size_t before = line.size() - 1;
  while (before > 0 && (line[before] - from).norm() < 10.0) --before;
  Vec2 tangent = from - line[before];
  if (tangent.norm() < 1e-6 || tangent.y() < 0.0) tangent = Vec2::UnitY();
  tangent.normalize();
  const double reach = 0.4 * (rim - from).norm();
  const Vec2 a = from + reach * tangent, b = rim - reach * Vec2::UnitY();
  for (int i = 1; i <= 12; ++i) {
    const double t = i / 12.0, s = 1.0 - t;
    line.push_back(s * s * s * from + 3 * s * s * t * a + 3 * s * t * t * b + t * t * t * rim);
  }
}

double ray_length(const Profile& border, const Vec2& start, const Vec2& direction) {
  const Vec2 left(-direction.y(), direction.x());
  double reach = 0.0;
  for (std::size_t i = 1; i < border.size(); ++i) {
    const Vec2 a = border[i - 1] - start, b = border[i] - start;
    const double sa = a.dot(left), sb = b.dot(left);
    if (sa * sb > 0.0 || sa == sb) continue;
    reach = std::max(reach, (a + sa / (sa - sb) * (b - a)).dot(direction));
  }
  return reach;
}

}  // namespace lastroom
