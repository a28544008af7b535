#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <random>

#include "geometry/mesh.h"

/// Shapes for tests and benchmarks of the geometry room, all closed and facing outwards unless told otherwise.
namespace lastroom::test {

/// 20 frequency^2 triangles on the unit ball: an icosahedron's faces in equal rows, pushed out to the ball.
inline Mesh geodesic_ball(std::uint32_t frequency) {
  const double g = std::numbers::phi;
  const Vec3 corner[12] = {{-1, g, 0},  {1, g, 0},  {-1, -g, 0}, {1, -g, 0}, {0, -1, g},  {0, 1, g},
                           {0, -1, -g}, {0, 1, -g}, {g, 0, -1},  {g, 0, 1},  {-g, 0, -1}, {-g, 0, 1}};
  const std::uint32_t face[20][3] = {{0, 11, 5}, {0, 5, 1},  {0, 1, 7},   {0, 7, 10}, {0, 10, 11},
                                     {1, 5, 9},  {5, 11, 4}, {11, 10, 2}, {10, 7, 6}, {7, 1, 8},
                                     {3, 9, 4},  {3, 4, 2},  {3, 2, 6},   {3, 6, 8},  {3, 8, 9},
                                     {4, 9, 5},  {2, 4, 11}, {6, 2, 10},  {8, 6, 7},  {9, 8, 1}};
  Mesh mesh;
  // A point of a face is named by its shares of the face's corners, so that faces find each other's border points.
  std::map<std::array<std::uint32_t, 6>, std::uint32_t> known;
  const auto point = [&](const std::uint32_t(&f)[3], std::uint32_t i, std::uint32_t j) {
    std::array<std::pair<std::uint32_t, std::uint32_t>, 3> share = {{{f[0], frequency - i - j}, {f[1], i}, {f[2], j}}};
    std::sort(share.begin(), share.end());
    std::array<std::uint32_t, 6> name{};
    Vec3 p = Vec3::Zero();
    std::size_t n = 0;
    for (const auto& [c, s] : share)
      if (s > 0) {
        name[n++] = c + 1;
        name[n++] = s;
        p += static_cast<double>(s) * corner[c];
      }
    const auto [entry, fresh] = known.try_emplace(name, static_cast<std::uint32_t>(mesh.vertices.size()));
    if (fresh) mesh.vertices.push_back(p.normalized());
    return entry->second;
  };
  for (const auto& f : face)
    for (std::uint32_t i = 0; i < frequency; ++i)
      for (std::uint32_t j = 0; i + j < frequency; ++j) {
        mesh.triangles.push_back({point(f, i, j), point(f, i + 1, j), point(f, i, j + 1)});
        if (i + j + 1 < frequency)
          mesh.triangles.push_back({point(f, i + 1, j), point(f, i + 1, j + 1), point(f, i, j + 1)});
      }
  return mesh;
}

/// Radius of the largest ball inside a geodesic ball: the least distance of a face's plane from the centre.
inline double held_radius(const Mesh& ball) {
  double least = 1.0;
  for (const Triangle& t : ball.triangles) {
    const Vec3& a = ball.vertices[t[0]];
    least = std::min(least, (ball.vertices[t[1]] - a).cross(ball.vertices[t[2]] - a).normalized().dot(a));
  }
  return least;
}

inline Mesh ellipsoid(const Vec3& half_axes_mm, std::uint32_t frequency) {
  Mesh mesh = geodesic_ball(frequency);
  for (Vec3& v : mesh.vertices) v = v.cwiseProduct(half_axes_mm);
  return mesh;
}

inline Mesh box_mesh(const Vec3& size_mm) {
  Mesh mesh;
  for (int i = 0; i < 8; ++i)
    mesh.vertices.push_back(Vec3((i & 1) - 0.5, ((i >> 1) & 1) - 0.5, ((i >> 2) & 1) - 0.5).cwiseProduct(size_mm));
  mesh.triangles = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                    {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  return mesh;
}

/// A smooth closed body with a last's size and lack of symmetry: 280 mm long, bent inwards, hollow at the waist, low at
/// the toe. Coordinates are float32, as mesh files hold them.
inline Mesh last_like(std::uint32_t frequency) {
  Mesh mesh = geodesic_ball(frequency);
  for (Vec3& v : mesh.vertices) {
    const Vec3 u = v;
    const double toe = std::max(0.0, u.x());
    const double waist = 1.0 - 0.22 * std::exp(-8.0 * (u.x() + 0.1) * (u.x() + 0.1));
    v.x() = 140.0 * u.x();
    v.y() = 49.0 * u.y() * waist + 10.0 * toe * toe;
    v.z() = (u.z() > 0.0 ? 60.0 - 38.0 * toe : 25.0) * u.z() + 6.0 * toe * toe * toe;
    v = v.cast<float>().cast<double>();
  }
  return mesh;
}

/// The part of a mesh all of whose corners lie below z.
inline Mesh below(const Mesh& mesh, double z_mm) {
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : mesh.triangles)
    keep.push_back(mesh.vertices[t[0]].z() < z_mm && mesh.vertices[t[1]].z() < z_mm && mesh.vertices[t[2]].z() < z_mm);
  return submesh(mesh, keep);
}

/// In [0, 1); the same on every machine.
inline double uniform(std::mt19937& engine) { return static_cast<double>(engine()) * 0x1p-32; }

inline Vec3 uniform_in(std::mt19937& engine, const Vec3& low, const Vec3& high) {
  const double x = uniform(engine), y = uniform(engine), z = uniform(engine);
  return low + Vec3(x, y, z).cwiseProduct(high - low);
}

/// Points as a scan has them in a last: vertices of a finer or coarser version of the surface, moved along their
/// normals by `offset_mm(k)` from -19 (inside) to +5 mm in long waves.
inline std::vector<Vec3> near_points(const Mesh& surface) {
  std::vector<Vec3> points = surface.vertices;
  const std::vector<Vec3> normals = vertex_normals(surface);
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec3 p = points[i];
    const double wave = std::sin(0.031 * p.x() + 0.7) * std::cos(0.043 * p.y() + 0.2) * std::cos(0.05 * p.z());
    points[i] = (p + (-7.0 + 12.0 * wave) * normals[i]).cast<float>().cast<double>();
  }
  return points;
}

}  // namespace lastroom::test
