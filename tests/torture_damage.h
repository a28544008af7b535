#pragma once

// What scanners, converters, mail and strangers do to meshes. Every function gives a damaged copy; all dice are seeded.

#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <set>

#include "truth_cases.h"

namespace lastroom::test {

inline std::uint32_t index_of(std::size_t i) { return static_cast<std::uint32_t>(i); }

inline Mesh joined(Mesh a, const Mesh& b) {
  const std::uint32_t shift = index_of(a.vertices.size());
  a.vertices.insert(a.vertices.end(), b.vertices.begin(), b.vertices.end());
  for (const Triangle& t : b.triangles) a.triangles.push_back({t[0] + shift, t[1] + shift, t[2] + shift});
  return a;
}

inline Mesh scaled(Mesh mesh, double factor) {
  for (Vec3& v : mesh.vertices) v *= factor;
  return mesh;
}

inline Mesh shifted(Mesh mesh, const Vec3& by) {
  for (Vec3& v : mesh.vertices) v += by;
  return mesh;
}

/// Every triangle with corners of its own, in any order, each corner moved by up to `gap_mm`.
inline Mesh soup(const Mesh& mesh, double gap_mm) {
  Dice dice(3);
  std::vector<Triangle> order = mesh.triangles;
  for (std::size_t i = order.size(); i > 1; --i)
    std::swap(order[i - 1], order[static_cast<std::size_t>(dice.among(static_cast<int>(i)))]);
  Mesh out;
  for (const Triangle& t : order) {
    const std::uint32_t first = index_of(out.vertices.size());
    for (std::uint32_t v : t) {
      const Vec3 by(dice.uniform(-1.0, 1.0), dice.uniform(-1.0, 1.0), dice.uniform(-1.0, 1.0));
      out.vertices.push_back(mesh.vertices[v] + gap_mm * by);
    }
    out.triangles.push_back({first, first + 1, first + 2});
  }
  return out;
}

inline Mesh flipped(Mesh mesh, double share) {
  Dice dice(4);
  for (Triangle& t : mesh.triangles)
    if (dice.chance(share)) std::swap(t[1], t[2]);
  return mesh;
}

/// Without the triangles whose first corner is `lost`.
inline Mesh without(const Mesh& mesh, const std::function<bool(const Vec3&)>& lost) {
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : mesh.triangles) keep.push_back(!lost(mesh.vertices[t[0]]));
  return submesh(mesh, keep);
}

/// Round holes in random places until `share` of the area is gone.
inline Mesh with_holes(Mesh mesh, double share, double radius_mm) {
  Dice dice(5);
  const double wanted = (1.0 - share) * area_mm2(mesh);
  while (area_mm2(mesh) > wanted) {
    const Vec3 middle = mesh.vertices[static_cast<std::size_t>(dice.among(static_cast<int>(mesh.vertices.size())))];
    mesh = without(mesh, [&](const Vec3& v) { return (v - middle).norm() < radius_mm; });
  }
  return mesh;
}

inline Mesh rough(Mesh mesh, double spread_mm) {
  Dice dice(6);
  for (Vec3& v : mesh.vertices)
    v += Vec3(dice.normal(0.0, spread_mm), dice.normal(0.0, spread_mm), dice.normal(0.0, spread_mm));
  return mesh;
}

/// As a voxel scanner sees it: every coordinate on a grid.
inline Mesh on_grid(Mesh mesh, double step_mm) {
  for (Vec3& v : mesh.vertices) v = (v / step_mm).array().round() * step_mm;
  return mesh;
}

/// The skin and, turned inwards, the same skin `wall_mm` below it.
inline Mesh double_walled(const Mesh& mesh, double wall_mm) {
  Mesh inner = mesh;
  const std::vector<Vec3> normals = vertex_normals(mesh);
  for (std::size_t i = 0; i < normals.size(); ++i) inner.vertices[i] -= wall_mm * normals[i];
  for (Triangle& t : inner.triangles) std::swap(t[1], t[2]);
  return joined(mesh, inner);
}

/// As a scan made solid for printing: double walls whose borders are joined by a strip, so that they are one closed
/// shell.
inline Mesh solid_walled(const Mesh& mesh, double wall_mm) {
  std::set<std::pair<std::uint32_t, std::uint32_t>> edges;
  for (const Triangle& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) edges.insert({t[k], t[(k + 1) % 3]});
  Mesh walls = double_walled(mesh, wall_mm);
  const std::uint32_t inner = index_of(mesh.vertices.size());
  for (const auto& [a, b] : edges) {
    if (edges.contains({b, a})) continue;
    walls.triangles.push_back({b, a, a + inner});
    walls.triangles.push_back({b, a + inner, b + inner});
  }
  return walls;
}

/// Long thin triangles between random vertices.
inline Mesh with_needles(Mesh mesh, int count) {
  Dice dice(7);
  const int size = static_cast<int>(mesh.vertices.size());
  for (int i = 0; i < count; ++i) {
    const std::uint32_t a = index_of(static_cast<std::size_t>(dice.among(size)));
    const std::uint32_t b = index_of(static_cast<std::size_t>(dice.among(size)));
    mesh.vertices.push_back(mesh.vertices[a] + Vec3(0.001, 0.001, 0.001));
    mesh.triangles.push_back({a, b, index_of(mesh.vertices.size() - 1)});
  }
  return mesh;
}

/// A third triangle on an edge, sticking out, here and there.
inline Mesh with_fins(Mesh mesh, int count) {
  Dice dice(8);
  const int size = static_cast<int>(mesh.triangles.size());
  for (int i = 0; i < count; ++i) {
    const Triangle t = mesh.triangles[static_cast<std::size_t>(dice.among(size))];
    const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
    mesh.vertices.push_back(a + 2.0 * (b - a).cross(c - a).normalized());
    mesh.triangles.push_back({t[0], t[1], index_of(mesh.vertices.size() - 1)});
  }
  return mesh;
}

/// Half a million triangles around one vertex.
inline Mesh with_fan(Mesh mesh) {
  const std::uint32_t first = index_of(mesh.vertices.size());
  constexpr std::uint32_t kRound = 500'000;
  const Vec3 middle = mesh.vertices.front();
  for (std::uint32_t i = 0; i < kRound; ++i) {
    const double turn = 2.0 * std::numbers::pi * i / kRound;
    mesh.vertices.push_back(middle + Vec3(std::cos(turn), std::sin(turn), 0.1));
    mesh.triangles.push_back({0, first + i, first + (i + 1) % kRound});
  }
  return mesh;
}

inline Mesh box_of(const Vec3& size) {
  Mesh box;
  for (int i = 0; i < 8; ++i) box.vertices.push_back(Vec3(i & 1, i >> 1 & 1, i >> 2 & 1).cwiseProduct(size));
  box.triangles = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                   {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  return box;
}

/// A closed or one-sided surface over a grid of `u` times `v`, both running over [0, 2 pi).
inline Mesh gridded(std::uint32_t u_steps, std::uint32_t v_steps, bool v_closed,
                    const std::function<Vec3(double, double)>& place) {
  Mesh mesh;
  for (std::uint32_t i = 0; i < u_steps; ++i)
    for (std::uint32_t j = 0; j < v_steps; ++j)
      mesh.vertices.push_back(place(2.0 * std::numbers::pi * i / u_steps, 2.0 * std::numbers::pi * j / v_steps));
  for (std::uint32_t i = 0; i < u_steps; ++i)
    for (std::uint32_t j = 0; j + (v_closed ? 0u : 1u) < v_steps; ++j) {
      const std::uint32_t p = i * v_steps + j, q = i * v_steps + (j + 1) % v_steps;
      const std::uint32_t r = (i + 1) % u_steps * v_steps + j, s = (i + 1) % u_steps * v_steps + (j + 1) % v_steps;
      mesh.triangles.push_back({p, r, q});
      mesh.triangles.push_back({q, r, s});
    }
  return mesh;
}

inline Mesh ball_of(const Vec3& radii, const Vec3& middle = Vec3::Zero()) {
  return gridded(60, 61, false, [&](double u, double v) -> Vec3 {
    return middle + radii.cwiseProduct(
                        Vec3(std::sin(v / 2.0) * std::cos(u), std::sin(v / 2.0) * std::sin(u), std::cos(v / 2.0)));
  });
}

/// A bottle of Klein in its figure-of-eight form, 250 mm across: no inside, no outside.
inline Mesh klein_bottle() {
  return gridded(120, 60, true, [](double u, double v) {
    const double r = 85.0 + 40.0 * (std::cos(u / 2.0) * std::sin(v) - std::sin(u / 2.0) * std::sin(2.0 * v));
    return Vec3(r * std::cos(u), r * std::sin(u),
                40.0 * (std::sin(u / 2.0) * std::sin(v) + std::cos(u / 2.0) * std::sin(2.0 * v)));
  });
}

inline Mesh moebius_band() {
  return gridded(120, 12, false, [](double u, double v) {
    const double w = 40.0 * (v / std::numbers::pi - 1.0);
    return Vec3((100.0 + w * std::cos(u / 2.0)) * std::cos(u), (100.0 + w * std::cos(u / 2.0)) * std::sin(u),
                w * std::sin(u / 2.0));
  });
}

/// Small balls all around, within `reach_mm`.
inline Mesh with_specks(Mesh mesh, int count, double reach_mm) {
  Dice dice(9);
  for (int i = 0; i < count; ++i) {
    const Vec3 at(dice.uniform(-reach_mm, reach_mm), dice.uniform(-reach_mm, reach_mm),
                  dice.uniform(-reach_mm, reach_mm));
    mesh = joined(std::move(mesh), shifted(box_of(Vec3::Constant(dice.uniform(0.5, 2.0))), at));
  }
  return mesh;
}

/// `count` points spread over the surface by area.
inline Mesh points_on(const Mesh& mesh, std::size_t count) {
  Dice dice(10);
  std::vector<double> up_to;
  double sum = 0.0;
  for (const Triangle& t : mesh.triangles) {
    const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
    up_to.push_back(sum += (b - a).cross(c - a).norm());
  }
  Mesh points;
  for (std::size_t i = 0; i < count; ++i) {
    const auto at = std::upper_bound(up_to.begin(), up_to.end() - 1, dice.uniform(0.0, sum));
    const Triangle& t = mesh.triangles[static_cast<std::size_t>(at - up_to.begin())];
    double u = dice.uniform(0.0, 1.0), v = dice.uniform(0.0, 1.0);
    if (u + v > 1.0) u = 1.0 - u, v = 1.0 - v;
    points.vertices.push_back(mesh.vertices[t[0]] + u * (mesh.vertices[t[1]] - mesh.vertices[t[0]]) +
                              v * (mesh.vertices[t[2]] - mesh.vertices[t[0]]));
  }
  return points;
}

/// OBJ with every digit of a double, where the program's own writers round to float32.
inline std::string exact_obj(const Mesh& mesh) {
  std::string out;
  for (const Vec3& v : mesh.vertices) out += fmt::format("v {} {} {}\n", v.x(), v.y(), v.z());
  for (const Triangle& t : mesh.triangles) out += fmt::format("f {} {} {}\n", t[0] + 1, t[1] + 1, t[2] + 1);
  return out;
}

}  // namespace lastroom::test
