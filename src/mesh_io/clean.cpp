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

void note(std::vector<Message>& repairs, std::size_t count, const char* what) {
  if (count > 0) repairs.push_back({what, {{"count", std::uint64_t{count}}}});
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

void drop_unusable_vertices(Mesh& mesh, std::vector<Message>& repairs) {
  std::vector<std::uint8_t> keep(mesh.vertices.size());
  std::transform(mesh.vertices.begin(), mesh.vertices.end(), keep.begin(), [](const Vec3& v) { return usable(v); });
  const auto bad = static_cast<std::size_t>(std::count(keep.begin(), keep.end(), 0));
  if (bad == 0) return;
  const std::size_t triangles = keep_vertices(mesh, keep);
  note(repairs, bad, "repair.bad_vertices");
  note(repairs, triangles, "repair.with_them");
}

void drop_loose_vertices(Mesh& mesh, std::vector<Message>& repairs) {
  std::vector<std::uint8_t> used(mesh.vertices.size(), 0);
  for (const Triangle& t : mesh.triangles)
    for (std::uint32_t corner : t) used[corner] = 1;
  const auto loose = static_cast<std::size_t>(std::count(used.begin(), used.end(), 0));
  if (loose == 0) return;
  keep_vertices(mesh, used);
  note(repairs, loose, "repair.loose_vertices");
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
    throw InputError(
        about_file("mesh.too_many_triangles", name, {{"count", triangles}, {"most", limits.largest_triangles}}));
  // As an STL stores them: three corners a triangle.
  if (vertices > 3 * limits.largest_triangles || vertices >= kNoVertex)
    throw InputError(
        about_file("mesh.too_many_vertices", name, {{"count", vertices}, {"most", 3 * limits.largest_triangles}}));
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
  if (mesh.vertices.empty()) throw InputError(about_file("mesh.no_vertices", name));
  const bool had_triangles = !mesh.triangles.empty();

  note(file.repairs, raw.short_faces, "repair.short_faces");
  note(file.repairs, drop_bad_indices(mesh), "repair.bad_corners");
  drop_unusable_vertices(mesh, file.repairs);
  if (!raw.welded) {
    const std::vector<std::uint32_t> renamed = merge_equal_vertices(mesh.vertices);
    for (Triangle& t : mesh.triangles)
      for (std::uint32_t& corner : t) corner = renamed[corner];
  }
  note(file.repairs, drop_repeated_corners(mesh.triangles), "repair.repeated_corners");
  note(file.repairs, drop_duplicates(mesh.triangles, mesh.vertices.size()), "repair.doubles");

  if (mesh.vertices.empty()) throw InputError(about_file("mesh.no_usable_vertex", name));
  if (had_triangles && mesh.triangles.empty()) throw InputError(about_file("mesh.no_usable_triangle", name));
  if (had_triangles) drop_loose_vertices(mesh, file.repairs);
  return file;
}

}  // namespace lastroom
