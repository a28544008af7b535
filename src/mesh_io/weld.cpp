#include <algorithm>

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

std::size_t drop_duplicates(std::vector<Triangle>& triangles) {
  constexpr std::size_t kBatch = 32;  // as in VertexWelder: the table's memory is fetched while hashing goes on
  const auto sorted = [](const Triangle& t) {
    const auto [low, high] = std::minmax({t[0], t[1], t[2]});
    return Triangle{low, t[0] ^ t[1] ^ t[2] ^ low ^ high, high};
  };
  IndexTable table(triangles.size());
  std::array<std::uint64_t, kBatch> hashes;
  std::size_t kept = 0;
  for (std::size_t first = 0; first < triangles.size(); first += kBatch) {
    const std::size_t count = std::min(kBatch, triangles.size() - first);
    for (std::size_t i = 0; i < count; ++i) {
      const Triangle t = sorted(triangles[first + i]);
      hashes[i] = mixed(mixed(t[0] | std::uint64_t{t[1]} << 32) + t[2]);
      table.prefetch(hashes[i]);
    }
    for (std::size_t i = 0; i < count; ++i) {
      const Triangle triangle = triangles[first + i];
      const auto fresh = static_cast<std::uint32_t>(kept);
      const auto same = [&](std::uint32_t j) { return sorted(triangles[j]) == sorted(triangle); };
      if (table.find_or_insert(hashes[i], fresh, same) == fresh) triangles[kept++] = triangle;
    }
  }
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
  drop_duplicates(mesh.triangles);
  return before - mesh.vertices.size();
}

}  // namespace lastroom
