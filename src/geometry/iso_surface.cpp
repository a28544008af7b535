#include "geometry/iso_surface.h"

#include <algorithm>
#include <cmath>

#include "geometry/parallel.h"

namespace lastroom {
namespace {

constexpr int kBlockNodes = 8;  // blocks of 8^3 nodes are sampled or skipped together
constexpr std::uint32_t kNone = 0xffffffff;

/// Samples on a regular grid; the two top layers lie half an edge below and above the opening.
struct Grid {
  Vec3 low;
  double edge_mm;
  std::array<int, 3> nodes;
  double opening_mm;
  std::vector<float> value;

  std::size_t at(int i, int j, int k) const {
    return (static_cast<std::size_t>(k) * static_cast<std::size_t>(nodes[1]) + static_cast<std::size_t>(j)) *
               static_cast<std::size_t>(nodes[0]) +
           static_cast<std::size_t>(i);
  }
  Vec3 place(int i, int j, int k) const { return low + edge_mm * Vec3(i, j, k); }
  /// Above the last layer under the opening the solid is a prism, so that the rim is one clean ring.
  Vec3 under_opening(Vec3 p) const {
    p.z() = std::min(p.z(), opening_mm - edge_mm / 2);
    return p;
  }
};

Grid grid_over(const Box& box, double edge_mm) {
  Grid grid;
  grid.edge_mm = edge_mm;
  grid.opening_mm = box.high.z();
  const Vec3 size = box.size() / edge_mm;
  for (int axis = 0; axis < 2; ++axis) grid.nodes[static_cast<std::size_t>(axis)] = static_cast<int>(size[axis]) + 2;
  grid.nodes[2] = static_cast<int>(size.z()) + 3;
  grid.low = {box.low.x(), box.low.y(), grid.opening_mm + edge_mm / 2 - (grid.nodes[2] - 1) * edge_mm};
  grid.value.resize(grid.at(0, 0, grid.nodes[2]));
  return grid;
}

void sample(Grid& grid, const Field& field) {
  const auto blocks_along = [&](std::size_t axis) { return (grid.nodes[axis] + kBlockNodes - 1) / kBlockNodes; };
  const std::array<int, 3> blocks = {blocks_along(0), blocks_along(1), blocks_along(2)};
  const auto count = static_cast<std::size_t>(blocks[0] * blocks[1] * blocks[2]);
  const double reach_mm = kSteepestField * std::sqrt(3.0) / 2 * (kBlockNodes + 1) * grid.edge_mm;
  for_blocks(count, 16, [&](std::size_t begin, std::size_t end) {
    for (std::size_t b = begin; b < end; ++b) {
      const int block = static_cast<int>(b);
      const std::array<int, 3> from = {block % blocks[0] * kBlockNodes, block / blocks[0] % blocks[1] * kBlockNodes,
                                       block / (blocks[0] * blocks[1]) * kBlockNodes};
      constexpr double kMiddle = (kBlockNodes - 1) / 2.0;
      const Vec3 middle = grid.place(from[0], from[1], from[2]) + Vec3::Constant(kMiddle * grid.edge_mm);
      const double there = field(grid.under_opening(middle));
      const bool far = std::abs(there) > reach_mm;
      for (int k = from[2]; k < std::min(from[2] + kBlockNodes, grid.nodes[2]); ++k)
        for (int j = from[1]; j < std::min(from[1] + kBlockNodes, grid.nodes[1]); ++j)
          for (int i = from[0]; i < std::min(from[0] + kBlockNodes, grid.nodes[0]); ++i)
            grid.value[grid.at(i, j, k)] =
                static_cast<float>(far ? there : field(grid.under_opening(grid.place(i, j, k))));
    }
  });
}

/// Surface nets are manifold when no cell face has its inside corners on one diagonal only and no cell on one space
/// diagonal only ("well-composed", Latecki 1997). Where a slit is too narrow for the grid, a corner is filled.
void fill_too_narrow_slits(Grid& grid) {
  const auto filled = [&](std::array<std::size_t, 4> face) {  // corners in a ring
    const auto inside = [&](std::size_t n) { return grid.value[face[n]] < 0; };
    if (inside(0) != inside(2) || inside(1) != inside(3) || inside(0) == inside(1)) return false;
    const std::size_t a = inside(0) ? face[1] : face[0], b = inside(0) ? face[3] : face[2];
    grid.value[grid.value[a] <= grid.value[b] ? a : b] = -1e-3F;
    return true;
  };
  const auto diagonal_filled = [&](int i, int j, int k) {
    std::array<std::size_t, 8> corner;
    int inside = 0;
    for (int c = 0; c < 8; ++c) {
      corner[static_cast<std::size_t>(c)] = grid.at(i + (c & 1), j + (c >> 1 & 1), k + (c >> 2));
      inside += grid.value[corner[static_cast<std::size_t>(c)]] < 0;
    }
    if (inside != 2 && inside != 6) return false;
    for (std::size_t c = 0; c < 4; ++c) {
      const bool first = grid.value[corner[c]] < 0, second = grid.value[corner[7 - c]] < 0;
      if (first != second || first != (inside == 2)) continue;
      grid.value[inside == 2 ? corner[c ^ 1U] : corner[c]] = -1e-3F;
      return true;
    }
    return false;
  };
  for (bool changed = true; changed;) {
    changed = false;
    for (int k = 0; k + 1 < grid.nodes[2]; ++k)
      for (int j = 0; j + 1 < grid.nodes[1]; ++j)
        for (int i = 0; i + 1 < grid.nodes[0]; ++i) {
          const std::size_t o = grid.at(i, j, k), x = grid.at(i + 1, j, k), y = grid.at(i, j + 1, k),
                            z = grid.at(i, j, k + 1), xy = grid.at(i + 1, j + 1, k), yz = grid.at(i, j + 1, k + 1),
                            zx = grid.at(i + 1, j, k + 1);
          changed |= filled({o, x, xy, y});
          changed |= filled({o, y, yz, z});
          changed |= filled({o, z, zx, x});
          changed |= diagonal_filled(i, j, k);
        }
  }
}

/// Cell -> number of its vertex, and the vertices where the cell's edges cross the surface on average.
std::vector<std::uint32_t> place_vertices(const Grid& grid, std::vector<Vec3>& vertices) {
  std::vector<std::uint32_t> vertex_of(grid.value.size(), kNone);
  for (int k = 0; k + 1 < grid.nodes[2]; ++k)
    for (int j = 0; j + 1 < grid.nodes[1]; ++j)
      for (int i = 0; i + 1 < grid.nodes[0]; ++i) {
        std::array<double, 8> value;
        int inside = 0;
        for (int c = 0; c < 8; ++c) {
          const double v = grid.value[grid.at(i + (c & 1), j + (c >> 1 & 1), k + (c >> 2))];
          value[static_cast<std::size_t>(c)] = v;
          inside += v < 0;
        }
        if (inside == 0 || inside == 8) continue;
        Vec3 sum = Vec3::Zero();
        int crossings = 0;
        for (int c = 0; c < 8; ++c)
          for (int axis = 0; axis < 3; ++axis) {
            const int d = c | 1 << axis;
            const double a = value[static_cast<std::size_t>(c)], b = value[static_cast<std::size_t>(d)];
            if (d == c || (a < 0) == (b < 0)) continue;
            sum += Vec3(c & 1, c >> 1 & 1, c >> 2) + a / (a - b) * Vec3::Unit(axis);
            ++crossings;
          }
        vertex_of[grid.at(i, j, k)] = static_cast<std::uint32_t>(vertices.size());
        vertices.push_back(grid.place(i, j, k) + grid.edge_mm / crossings * sum);
      }
  return vertex_of;
}

/// One quad around every grid edge that crosses the surface, as two triangles along its shorter diagonal.
std::vector<Triangle> net(const Grid& grid, const std::vector<std::uint32_t>& vertex_of,
                          const std::vector<Vec3>& vertices) {
  std::vector<Triangle> triangles;
  const std::array<std::size_t, 3> step = {1, grid.at(0, 1, 0), grid.at(0, 0, 1)};
  for (int k = 1; k + 1 < grid.nodes[2]; ++k)
    for (int j = 1; j + 1 < grid.nodes[1]; ++j)
      for (int i = 1; i + 1 < grid.nodes[0]; ++i) {
        const std::size_t here = grid.at(i, j, k);
        for (std::size_t axis = 0; axis < 3; ++axis) {
          const bool inside = grid.value[here] < 0;
          if (inside == (grid.value[here + step[axis]] < 0)) continue;
          const std::size_t u = step[(axis + 1) % 3], v = step[(axis + 2) % 3];
          std::array<std::uint32_t, 4> q = {vertex_of[here - u - v], vertex_of[here - v], vertex_of[here],
                                            vertex_of[here - u]};
          if (!inside) std::swap(q[1], q[3]);
          const auto diagonal = [&](std::size_t a, std::size_t b) { return (vertices[q[a]] - vertices[q[b]]).norm(); };
          if (diagonal(0, 2) <= diagonal(1, 3)) {
            triangles.push_back({q[0], q[1], q[2]});
            triangles.push_back({q[0], q[2], q[3]});
          } else {
            triangles.push_back({q[0], q[1], q[3]});
            triangles.push_back({q[1], q[2], q[3]});
          }
        }
      }
  return triangles;
}

/// Newton steps onto the surface. A rim vertex stays in its plane.
void project(const Grid& grid, const Field& field, int steps, const std::vector<std::uint8_t>& on_rim,
             std::vector<Vec3>& vertices) {
  for_blocks(vertices.size(), 1024, [&](std::size_t begin, std::size_t end) {
    for (std::size_t v = begin; v < end; ++v)
      for (int step = 0; step < steps; ++step) {
        Vec3& p = vertices[v];
        const double value = field(grid.under_opening(p));
        constexpr double kStep_mm = 1e-3;
        Vec3 slope;
        for (int axis = 0; axis < 3; ++axis)
          slope[axis] = (field(grid.under_opening(p + kStep_mm * Vec3::Unit(axis))) - value) / kStep_mm;
        if (on_rim[v]) slope.z() = 0;
        const double steepness = slope.squaredNorm();
        if (steepness < 0.01) continue;  // at a fold of the field: leave it
        Vec3 move = -value / steepness * slope;
        const double longest_mm = grid.edge_mm / 2;
        if (move.norm() > longest_mm) move *= longest_mm / move.norm();
        p += move;
      }
  });
}

/// Moves every vertex towards the middle of its neighbours, so that triangles become even.
void even_out(const std::vector<Triangle>& triangles, const std::vector<std::uint8_t>& on_rim,
              std::vector<Vec3>& vertices) {
  std::vector<Vec3> sum(vertices.size(), Vec3::Zero());
  std::vector<int> count(vertices.size(), 0);
  for (const Triangle& t : triangles)
    for (std::size_t c = 0; c < 3; ++c) {
      const std::uint32_t a = t[c], b = t[(c + 1) % 3];
      // Every inner edge is seen once from each side; rim vertices are pulled by their rim neighbours only.
      if (on_rim[a] && !on_rim[b]) continue;
      sum[a] += vertices[b];
      ++count[a];
    }
  for (std::size_t v = 0; v < vertices.size(); ++v)
    if (!on_rim[v] && count[v] > 0) vertices[v] += 0.5 * (sum[v] / count[v] - vertices[v]);
}

}  // namespace

Mesh iso_surface(const Field& field, const Box& box, double edge_mm) {
  Grid grid = grid_over(box, edge_mm);
  sample(grid, field);
  fill_too_narrow_slits(grid);
  Mesh mesh;
  const std::vector<std::uint32_t> vertex_of = place_vertices(grid, mesh.vertices);
  mesh.triangles = net(grid, vertex_of, mesh.vertices);
  std::vector<std::uint8_t> on_rim(mesh.vertices.size(), 0);
  for (std::size_t cell = grid.at(0, 0, grid.nodes[2] - 2); cell < vertex_of.size(); ++cell)
    if (vertex_of[cell] != kNone) on_rim[vertex_of[cell]] = 1;
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v)
    if (on_rim[v]) mesh.vertices[v].z() = grid.opening_mm;
  constexpr int kRounds = 3;
  for (int round = 0; round < kRounds; ++round) {
    even_out(mesh.triangles, on_rim, mesh.vertices);
    project(grid, field, round + 1 < kRounds ? 1 : 2, on_rim, mesh.vertices);
  }
  return mesh;
}

}  // namespace lastroom
