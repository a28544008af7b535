#include <algorithm>
#include <numeric>
#include <utility>

#include "geometry/parallel.h"
#include "mesh_io/index_table.h"
#include "mesh_io/raw_mesh.h"
#include "mesh_io/tidy.h"

namespace lastroom {

std::vector<std::uint32_t> merge_equal_vertices(std::vector<Vec3>& vertices) {
  std::vector<std::uint32_t> renamed(vertices.size());
  std::vector<Vec3> unique;
  unique.reserve(vertices.size());
  VertexWelder welder(unique, vertices.size());
  for (std::size_t i = 0; i < vertices.size(); i += VertexWelder::kBatch)
    welder.add(&vertices[i], std::min(VertexWelder::kBatch, vertices.size() - i), &renamed[i]);
  vertices = std::move(unique);
  return renamed;
}

std::size_t drop_repeated_corners(std::vector<Triangle>& triangles) {
  return std::erase_if(triangles, [](const Triangle& t) { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0]; });
}

std::size_t drop_duplicates(std::vector<Triangle>& triangles, std::size_t vertices) {
  const auto sorted = [](const Triangle& t) {
    const auto [low, high] = std::minmax({t[0], t[1], t[2]});
    return Triangle{low, t[0] ^ t[1] ^ t[2] ^ low ^ high, high};
  };
  // Triangles grouped by their lowest vertex, in order: on a surface there are two or so to compare in a group.
  std::vector<std::uint32_t> first(vertices + 2, 0), grouped(triangles.size());
  for (const Triangle& t : triangles) ++first[std::min({t[0], t[1], t[2]}) + 2];
  std::partial_sum(first.begin(), first.end(), first.begin());
  for (std::uint32_t i = 0; i < triangles.size(); ++i) {
    const Triangle& t = triangles[i];
    grouped[first[std::min({t[0], t[1], t[2]}) + 1]++] = i;
  }
  std::vector<std::uint8_t> repeats(triangles.size(), 0);
  constexpr std::size_t kBlock = 4096;
  for_blocks(vertices, kBlock, [&](std::size_t first_vertex, std::size_t last_vertex) {
    for (std::size_t v = first_vertex; v < last_vertex; ++v) {
      const auto begin = grouped.begin() + first[v], end = grouped.begin() + first[v + 1];
      constexpr std::ptrdiff_t kMany = 32;  // a fan of a million triangles would take a million times a million steps
      if (end - begin > kMany) {
        std::sort(begin, end, [&](std::uint32_t i, std::uint32_t j) {
          return std::pair(sorted(triangles[i]), i) < std::pair(sorted(triangles[j]), j);
        });
        for (auto i = begin + 1; i != end; ++i) repeats[*i] = sorted(triangles[*i]) == sorted(triangles[*(i - 1)]);
        continue;
      }
      for (auto i = begin; i != end; ++i) {
        const Triangle mine = sorted(triangles[*i]);
        repeats[*i] = std::any_of(begin, i, [&](std::uint32_t j) { return sorted(triangles[j]) == mine; });
      }
    }
  });
  std::size_t kept = 0;
  for (std::size_t i = 0; i < triangles.size(); ++i)
    if (!repeats[i]) triangles[kept++] = triangles[i];
  const std::size_t dropped = triangles.size() - kept;
  triangles.resize(kept);
  return dropped;
}

std::size_t weld(Mesh& mesh) {
  const std::size_t before = mesh.vertices.size();
  const std::vector<std::uint32_t> renamed = merge_equal_vertices(mesh.vertices);
  for (Triangle& t : mesh.triangles)
    for (std::uint32_t& corner : t) corner = renamed[corner];
  drop_repeated_corners(mesh.triangles);
  drop_duplicates(mesh.triangles, mesh.vertices.size());
  return before - mesh.vertices.size();
}

}  // namespace lastroom
