#include "geometry/section.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

namespace lastroom {
namespace {

/// Where the plane cuts one triangle. An edge is named by its two vertices, the lower one first.
using EdgeKey = std::pair<std::uint32_t, std::uint32_t>;
struct Cut {
  EdgeKey from, to;
};

EdgeKey edge_key(std::uint32_t a, std::uint32_t b) { return a < b ? EdgeKey{a, b} : EdgeKey{b, a}; }

/// A vertex on the plane counts as above it, so every triangle is cut in two edges or in none. A triangle that faces
/// outwards is walked from the edge that goes down through the plane to the edge that comes up again; its neighbour
/// goes on from there, and the inside stays on the left.
std::vector<Cut> cut_triangles(const MeshView& mesh, const std::vector<double>& height_mm) {
  std::vector<Cut> cuts;
  for (const Triangle& t : mesh.triangles) {
    const bool above[3] = {height_mm[t[0]] >= 0.0, height_mm[t[1]] >= 0.0, height_mm[t[2]] >= 0.0};
    if (above[0] == above[1] && above[1] == above[2]) continue;
    Cut cut;
    for (std::size_t k = 0; k < 3; ++k) {
      const std::size_t next = (k + 1) % 3;
      if (above[k] && !above[next]) cut.from = edge_key(t[k], t[next]);
      if (!above[k] && above[next]) cut.to = edge_key(t[k], t[next]);
    }
    cuts.push_back(cut);
  }
  return cuts;
}

Vec3 crossing(const MeshView& mesh, const std::vector<double>& height_mm, const EdgeKey& edge) {
  const double a = height_mm[edge.first], b = height_mm[edge.second];
  if (b == 0.0) return mesh.vertices[edge.second];  // exactly, so that all edges of a vertex meet in one point
  return mesh.vertices[edge.first] + a / (a - b) * (mesh.vertices[edge.second] - mesh.vertices[edge.first]);
}

std::vector<Vec2> flattened(const std::vector<SectionCurve>& curves, const Plane& plane) {
  const auto [u, v] = plane_axes(plane.normal);
  std::vector<Vec2> points;
  for (const SectionCurve& curve : curves)
    for (const Vec3& p : curve.points_mm) points.emplace_back(u.dot(p - plane.point_mm), v.dot(p - plane.point_mm));
  return points;
}

}  // namespace

double length_mm(const SectionCurve& curve) {
  double length = 0.0;
  for (std::size_t i = 1; i < curve.points_mm.size(); ++i)
    length += (curve.points_mm[i] - curve.points_mm[i - 1]).norm();
  if (curve.closed && !curve.points_mm.empty()) length += (curve.points_mm.front() - curve.points_mm.back()).norm();
  return length;
}

std::pair<Vec3, Vec3> plane_axes(const Vec3& normal) {
  Eigen::Index least = 0;
  normal.cwiseAbs().minCoeff(&least);
  const Vec3 u = (Vec3::Unit(least) - normal[least] * normal).normalized();
  return {u, normal.cross(u)};
}

std::vector<SectionCurve> section(const MeshView& mesh, const Plane& plane) {
  std::vector<double> height_mm(mesh.vertices.size());
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v)
    height_mm[v] = plane.normal.dot(mesh.vertices[v] - plane.point_mm);
  std::vector<Cut> cuts = cut_triangles(mesh, height_mm);
  std::stable_sort(cuts.begin(), cuts.end(), [](const Cut& a, const Cut& b) { return a.from < b.from; });

  std::vector<EdgeKey> ends;
  for (const Cut& cut : cuts) ends.push_back(cut.to);
  std::sort(ends.begin(), ends.end());

  // Cuts from one edge are used in their order; `next`, at the first of them, is how far that has come.
  std::vector<std::uint8_t> used(cuts.size(), 0);
  std::vector<std::size_t> next(cuts.size());
  std::iota(next.begin(), next.end(), std::size_t{0});
  const auto unused_from = [&](const EdgeKey& edge) {
    const auto first =
        std::lower_bound(cuts.begin(), cuts.end(), edge, [](const Cut& c, const EdgeKey& e) { return c.from < e; });
    if (first == cuts.end() || first->from != edge) return cuts.size();
    std::size_t& i = next[static_cast<std::size_t>(first - cuts.begin())];
    while (i < cuts.size() && cuts[i].from == edge && used[i]) ++i;
    return i < cuts.size() && cuts[i].from == edge ? i : cuts.size();
  };

  std::vector<SectionCurve> curves;
  const auto follow = [&](std::size_t first) {
    SectionCurve curve;
    const auto add = [&](const EdgeKey& edge) {  // a vertex on the plane is met once per edge: keep one
      const Vec3 p = crossing(mesh, height_mm, edge);
      if (curve.points_mm.empty() || curve.points_mm.back() != p) curve.points_mm.push_back(p);
    };
    add(cuts[first].from);
    for (std::size_t i = first; i < cuts.size(); i = unused_from(cuts[i].to)) {
      used[i] = 1;
      curve.closed = cuts[i].to == cuts[first].from;
      add(cuts[i].to);
      if (curve.closed) break;
    }
    if (curve.closed && curve.points_mm.size() > 1 && curve.points_mm.front() == curve.points_mm.back())
      curve.points_mm.pop_back();
    if (curve.points_mm.size() > 1) curves.push_back(std::move(curve));  // a single point: the plane only touches
  };
  for (std::size_t i = 0; i < cuts.size(); ++i)  // open curves first, from their very beginning
    if (!used[i] && !std::binary_search(ends.begin(), ends.end(), cuts[i].from)) follow(i);
  for (std::size_t i = 0; i < cuts.size(); ++i)
    if (!used[i]) follow(i);

  std::stable_sort(curves.begin(), curves.end(),
                   [](const SectionCurve& a, const SectionCurve& b) { return length_mm(a) > length_mm(b); });
  return curves;
}

double polygon_area(const std::vector<Vec2>& corners) {
  double twice = 0.0;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const Vec2 &a = corners[i], &b = corners[(i + 1) % corners.size()];
    twice += a.x() * b.y() - a.y() * b.x();
  }
  return twice / 2.0;
}

std::vector<Vec2> convex_hull(std::vector<Vec2> points) {
  const auto before = [](const Vec2& a, const Vec2& b) { return a.x() != b.x() ? a.x() < b.x() : a.y() < b.y(); };
  std::sort(points.begin(), points.end(), before);
  points.erase(std::unique(points.begin(), points.end()), points.end());
  if (points.size() < 3) return points;

  // Monotone chain (Andrew 1979, Information Processing Letters 9): lower hull to the right, upper hull back.
  std::vector<Vec2> hull;
  const auto turn_left = [&](const Vec2& p, std::size_t keep) {
    while (hull.size() > keep) {
      const Vec2 last = hull.back() - hull[hull.size() - 2], step = p - hull[hull.size() - 2];
      if (last.x() * step.y() - last.y() * step.x() > 0.0) break;
      hull.pop_back();
    }
    hull.push_back(p);
  };
  for (const Vec2& p : points) turn_left(p, 1);
  const std::size_t lower = hull.size();
  for (auto p = points.rbegin() + 1; p != points.rend(); ++p) turn_left(*p, lower);
  hull.pop_back();  // the first point again
  return hull;
}

double girth_mm(const std::vector<SectionCurve>& curves, const Plane& plane) {
  const std::vector<Vec2> points = flattened(curves, plane);
  if (points.size() < 3) return 0.0;
  const std::vector<Vec2> hull = convex_hull(points);
  double girth = 0.0;
  for (std::size_t i = 0; i < hull.size(); ++i) girth += (hull[(i + 1) % hull.size()] - hull[i]).norm();
  return girth;
}

std::vector<Vec3> tape_loop(const std::vector<SectionCurve>& curves, const Plane& plane) {
  const auto [u, v] = plane_axes(plane.normal);
  std::vector<Vec3> loop;
  for (const Vec2& p : convex_hull(flattened(curves, plane))) loop.push_back(plane.point_mm + p.x() * u + p.y() * v);
  return loop;
}

}  // namespace lastroom
