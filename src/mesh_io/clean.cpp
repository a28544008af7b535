#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "error.h"
#include "mesh_io/raw_mesh.h"
#include "mesh_io/tidy.h"

namespace lastroom {
namespace {

// No unit makes a foot this large (in micrometres it is 3e5), and squares of lengths stay far from overflow. Our
// choice.
constexpr double kLargestCoordinate = 1e12;

bool usable(const Vec3& v) { return v.cwiseAbs().maxCoeff() <= kLargestCoordinate && v.allFinite(); }

void note(std::vector<std::string>& repairs, std::size_t count, std::string_view one, std::string_view many) {
  if (count == 1) repairs.emplace_back(one);
  if (count > 1) repairs.push_back(fmt::format(fmt::runtime(many), count));
}

std::size_t drop_bad_indices(Mesh& mesh) {
  const std::size_t vertices = mesh.vertices.size();
  return std::erase_if(mesh.triangles, [&](const Triangle& t) { return std::max({t[0], t[1], t[2]}) >= vertices; });
}

// Keeps the vertices for which `keep` is non-zero, and the triangles that lost no corner. Gives how many triangles
// went.
std::size_t keep_vertices(Mesh& mesh, const std::vector<std::uint8_t>& keep) {
  std::vector<std::uint32_t> renamed(mesh.vertices.size(), kNoVertex);
  std::size_t kept = 0;
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v)
    if (keep[v]) {
      renamed[v] = static_cast<std::uint32_t>(kept);
      mesh.vertices[kept++] = mesh.vertices[v];
    }
  mesh.vertices.resize(kept);
  for (Triangle& t : mesh.triangles)
    for (std::uint32_t& corner : t) corner = renamed[corner];
  return drop_bad_indices(mesh);
}

void drop_unusable_vertices(Mesh& mesh, std::vector<std::string>& repairs) {
  std::vector<std::uint8_t> keep(mesh.vertices.size());
  std::transform(mesh.vertices.begin(), mesh.vertices.end(), keep.begin(), [](const Vec3& v) { return usable(v); });
  const auto bad = static_cast<std::size_t>(std::count(keep.begin(), keep.end(), 0));
  if (bad == 0) return;
  const std::size_t triangles = keep_vertices(mesh, keep);
  note(repairs, bad, "One vertex whose place is not a usable number was dropped.",
       "{} vertices whose place is not a usable number were dropped.");
  note(repairs, triangles, "One triangle was dropped with them.", "{} triangles were dropped with them.");
}

void drop_loose_vertices(Mesh& mesh, std::vector<std::string>& repairs) {
  std::vector<std::uint8_t> used(mesh.vertices.size(), 0);
  for (const Triangle& t : mesh.triangles)
    for (std::uint32_t corner : t) used[corner] = 1;
  const auto loose = static_cast<std::size_t>(std::count(used.begin(), used.end(), 0));
  if (loose == 0) return;
  keep_vertices(mesh, used);
  note(repairs, loose, "One vertex that no triangle uses was dropped.",
       "{} vertices that no triangle uses were dropped.");
}

}  // namespace

void add_fan(RawMesh& raw, std::span<const std::uint32_t> corners) {
  if (corners.size() < 3) ++raw.short_faces;
  for (std::size_t i = 2; i < corners.size(); ++i)
    raw.mesh.triangles.push_back({corners[0], corners[i - 1], corners[i]});
}

void add_strip(std::vector<Triangle>& triangles, std::span<const std::uint32_t> corners) {
  for (std::size_t i = 2; i < corners.size(); ++i) {
    Triangle t{corners[i - 2], corners[i - 1], corners[i]};
    if (i % 2 == 1) std::swap(t[0], t[1]);  // every second one runs the other way round
    if (t[0] != t[1] && t[1] != t[2] && t[2] != t[0]) triangles.push_back(t);
  }
}

void check_limits(const std::string& name, std::uint64_t vertices, std::uint64_t triangles, const ReadLimits& limits) {
  if (triangles > limits.largest_triangles)
    throw InputError(fmt::format(
        "{}: has {} triangles and more than {} are not accepted; reduce the mesh, or raise --largest-triangles", name,
        triangles, limits.largest_triangles));
  // As an STL stores them: three corners a triangle.
  if (vertices > 3 * limits.largest_triangles || vertices >= kNoVertex)
    throw InputError(fmt::format(
        "{}: has {} vertices and more than {} are not accepted; reduce the mesh, or raise --largest-triangles", name,
        vertices, 3 * limits.largest_triangles));
}

MeshFile cleaned(const std::string& name, RawMesh raw) {
  MeshFile file{.name = name,
                .sha256 = {},
                .mesh = std::move(raw.mesh),
                .vertices_in_file = raw.vertices_in_file,
                .triangles_in_file = raw.triangles_in_file,
                .mm_per_unit = raw.mm_per_unit,
                .repairs = std::move(raw.repairs)};
  Mesh& mesh = file.mesh;
  if (mesh.vertices.empty()) throw InputError(name + ": holds no vertices; export the scan or last again");
  const bool had_triangles = !mesh.triangles.empty();

  note(file.repairs, raw.short_faces, "One face of fewer than three corners was dropped.",
       "{} faces of fewer than three corners were dropped.");
  note(file.repairs, drop_bad_indices(mesh), "One triangle that points to a missing vertex was dropped.",
       "{} triangles that point to missing vertices were dropped.");
  drop_unusable_vertices(mesh, file.repairs);
  if (!raw.welded) {
    const std::vector<std::uint32_t> renamed = merge_equal_vertices(mesh.vertices);
    for (Triangle& t : mesh.triangles)
      for (std::uint32_t& corner : t) corner = renamed[corner];
  }
  note(file.repairs, drop_repeated_corners(mesh.triangles), "One triangle with a repeated corner was dropped.",
       "{} triangles with repeated corners were dropped.");
  note(file.repairs, drop_duplicates(mesh.triangles, mesh.vertices.size()),
       "One triangle that repeats another was dropped.", "{} triangles that repeat another were dropped.");

  if (mesh.vertices.empty()) throw InputError(name + ": no vertex has a usable place; export the scan or last again");
  if (had_triangles && mesh.triangles.empty())
    throw InputError(name + ": none of its triangles can be used; export the scan or last again");
  if (had_triangles) drop_loose_vertices(mesh, file.repairs);
  return file;
}

}  // namespace lastroom
