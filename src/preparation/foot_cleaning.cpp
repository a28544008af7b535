#include "preparation/foot_cleaning.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "error.h"
#include "geometry/floor.h"
#include "geometry/pieces.h"
#include "mesh_io/read_mesh.h"
#include "preparation/foot_cloud.h"

namespace lastroom {
namespace {

constexpr double kCellShare = 1.0 / 110.0;  ///< of the diagonal: about 3 mm on a foot with some leg

double diagonal(const Mesh& mesh) { return bounds(mesh).size().norm(); }

std::optional<Plane> floor_of(const FootCloud& cloud) {
  Box box;
  for (const Vec3& p : cloud.points) box.low = box.low.cwiseMin(p), box.high = box.high.cwiseMax(p);
  return find_floor(cloud.points, cloud.normals, cloud.areas, 0.01 * box.size().norm());
}

/// Everything up to four times the floor's own roughness, and at least a fifth of a cell, over it counts as floor.
double floor_thickness(const FootCloud& cloud, const Plane& floor, double cell) {
  double squares = 0.0, area = 0.0;
  for (std::size_t i = 0; i < cloud.points.size(); ++i) {
    const double height = (cloud.points[i] - floor.point_mm).dot(floor.normal);
    if (std::abs(height) < cell && std::abs(cloud.normals[i].dot(floor.normal)) > 0.98)
      squares += cloud.areas[i] * height * height, area += cloud.areas[i];
  }
  return std::clamp(4.0 * std::sqrt(squares / std::max(area, 1e-300)), 0.2 * cell, cell);
}

Mesh without_floor(const Mesh& mesh, const Plane& floor, double thickness) {
  std::vector<std::uint8_t> keep;
  keep.reserve(mesh.triangles.size());
  for (const Triangle& t : mesh.triangles)
    keep.push_back(std::any_of(t.begin(), t.end(), [&](std::uint32_t v) {
      return (mesh.vertices[v] - floor.point_mm).dot(floor.normal) > thickness;
    }));
  return submesh(mesh, keep);
}

/// A soup whose corners nearly meet falls into as many pieces as it has triangles. Its corners are moved to ever
/// coarser grids, at most 0.03 % of the diagonal (0.1 mm), until most of it holds together.
void weld_soup(Mesh& mesh, std::vector<Message>& repairs) {
  const auto holds_together = [&] {
    const Pieces pieces = pieces_of(mesh);
    const double total = std::accumulate(pieces.area.begin(), pieces.area.end(), 0.0);
    return *std::max_element(pieces.area.begin(), pieces.area.end()) > 0.25 * total;
  };
  if (holds_together()) return;
  const Mesh soup = mesh;
  for (const double share : {1e-5, 1e-4, 3e-4}) {
    const double grid = share * diagonal(soup);
    mesh = soup;
    for (Vec3& p : mesh.vertices) p = (p / grid).array().round().matrix() * grid;
    const std::size_t merged = weld(mesh);
    if (mesh.triangles.empty() || !holds_together()) continue;
    repairs.push_back({"repair.corners_joined", {{"count", std::uint64_t{merged}}}});
    return;
  }
  mesh = soup;
}

/// How a piece lies in space: its box, its middle and its half-extents along its own main axes, largest first.
struct Extent {
  Box box;
  Vec3 middle = Vec3::Zero();
  Vec3 spread = Vec3::Zero();
  double area = 0.0;
};
Extent extent_of(const Mesh& piece) {
  Extent extent;
  extent.box = bounds(piece);
  const FootCloud cloud = cloud_of(piece, 0.02 * diagonal(piece));
  for (std::size_t i = 0; i < cloud.points.size(); ++i)
    extent.middle += cloud.areas[i] * cloud.points[i], extent.area += cloud.areas[i];
  extent.middle /= extent.area;
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (std::size_t i = 0; i < cloud.points.size(); ++i) {
    const Vec3 d = cloud.points[i] - extent.middle;
    spread += cloud.areas[i] / extent.area * d * d.transpose();
  }
  Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> axes;
  axes.computeDirect(spread, Eigen::EigenvaluesOnly);
  extent.spread = axes.eigenvalues().cwiseMax(0.0).cwiseSqrt().reverse();
  return extent;
}

/// Two pieces side by side, of like size in all three directions. A sole torn off its upper is flat and does not count,
/// nor do the two shells of one thick skin, whose middles coincide.
bool two_bodies(const Extent& a, const Extent& b) {
  if ((a.middle - b.middle).norm() < a.spread[0]) return false;
  for (int k = 0; k < 3; ++k)
    if (std::min(a.spread[k], b.spread[k]) < 0.6 * std::max(a.spread[k], b.spread[k])) return false;
  return true;
}

/// The inner shell of a thick skin: of the same shape as the outer one, and inside it.
bool is_shell_in(const Mesh& inner, const Extent& outer) {
  const Box in = bounds(inner);
  const double slack = 0.005 * outer.box.size().norm();  // at the rim of the leg the two end together
  if (in.size().prod() >= outer.box.size().prod() || ((in.low - outer.box.low).array() < -slack).any() ||
      ((outer.box.high - in.high).array() < -slack).any())
    return false;
  const Extent a = extent_of(inner);
  return (a.middle - outer.middle).norm() < 0.1 * outer.spread[0] &&
         (a.spread.array() > 0.7 * outer.spread.array()).all();
}

Mesh main_piece(Mesh mesh, const std::string& name, std::vector<Message>& repairs) {
  const Pieces pieces = pieces_of(mesh);
  if (pieces.area.size() < 2) return mesh;
  std::vector<std::uint32_t> order(pieces.area.size());
  std::iota(order.begin(), order.end(), 0u);
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return pieces.area[a] > pieces.area[b]; });
  constexpr double kTiny = 0.02;  // of all skin: our choice; behind it a thousand pieces may be as large
  if (const double total = std::accumulate(pieces.area.begin(), pieces.area.end(), 0.0);
      pieces.area[order[0]] < kTiny * total)
    throw InputError(about_file("scan.torn", name, {{"count", order.size()}}));
  // Triangles grouped by piece, so that each is laid out in time for its own.
  std::vector<std::size_t> first(pieces.area.size() + 2, 0);
  for (const std::uint32_t of : pieces.of_triangle) ++first[of + 2];
  std::partial_sum(first.begin(), first.end(), first.begin());
  std::vector<std::size_t> grouped(mesh.triangles.size());
  for (std::size_t t = 0; t < grouped.size(); ++t) grouped[first[pieces.of_triangle[t] + 1]++] = t;
  const auto piece = [&](std::uint32_t p) {
    Mesh part;
    for (std::size_t i = first[p]; i < first[p + 1]; ++i) {
      const auto n = static_cast<std::uint32_t>(part.vertices.size());
      for (const std::uint32_t corner : mesh.triangles[grouped[i]]) part.vertices.push_back(mesh.vertices[corner]);
      part.triangles.push_back({n, n + 1, n + 2});
    }
    return part;
  };
  // The outer shell of a thick skin is the skin, whichever has more area.
  if (is_shell_in(piece(order[0]), extent_of(piece(order[1])))) std::swap(order[0], order[1]);
  const Extent main = extent_of(piece(order[0]));
  if (pieces.area[order[1]] > 0.3 * pieces.area[order[0]] && two_bodies(main, extent_of(piece(order[1]))))
    throw InputError(about_file("scan.two_bodies", name));

  // Larger torn-off parts (a sole) stay where they touch or nearly touch the main one; specks go.
  const double near = 0.05 * main.box.size().norm();
  std::vector<std::uint8_t> keep_piece(pieces.area.size(), 0);
  keep_piece[order[0]] = 1;
  std::size_t dropped = 0;
  for (std::size_t i = 1; i < order.size(); ++i) {
    bool keep = pieces.area[order[i]] > 0.02 * pieces.area[order[0]];
    if (keep) {
      const Mesh part = piece(order[i]);
      const Box other = bounds(part);
      keep = ((other.low - main.box.low).array() > -near).all() &&
             ((main.box.high - other.high).array() > -near).all() && !is_shell_in(part, main);
    }
    keep_piece[order[i]] = keep ? 1 : 0;
    dropped += keep ? 0 : 1;
  }
  if (dropped == 0) return mesh;
  std::vector<std::uint8_t> keep;
  for (std::uint32_t of : pieces.of_triangle) keep.push_back(keep_piece[of]);
  repairs.push_back({"repair.loose_pieces", {{"count", std::uint64_t{dropped}}}});
  return submesh(mesh, keep);
}

}  // namespace

CleanScan clean_scan(Mesh mesh, const std::string& name) {
  CleanScan clean;
  if (mesh.triangles.empty() || !(diagonal(mesh) > 0.0)) throw InputError(about_file("scan.no_surface", name));

  const double cell = kCellShare * diagonal(mesh);
  FootCloud cloud = cloud_of(mesh, cell);
  clean.floor = floor_of(cloud);
  if (clean.floor) {
    mesh = without_floor(mesh, *clean.floor, floor_thickness(cloud, *clean.floor, cell));
    if (mesh.triangles.empty()) throw InputError(about_file("scan.flat_sheet", name));
    clean.repairs.push_back({"repair.floor"});
  }
  weld_soup(mesh, clean.repairs);
  mesh = main_piece(std::move(mesh), name, clean.repairs);
  if (const std::size_t turned = make_winding_consistent(mesh); turned > 0)
    clean.repairs.push_back({"repair.skin_triangles_turned", {{"count", static_cast<std::uint64_t>(turned)}}});
  if (volume_mm3(mesh) < 0.0) {
    for (Triangle& t : mesh.triangles) std::swap(t[1], t[2]);
    clean.inside_out = true;
    clean.repairs.push_back({"repair.skin_turned"});
  }
  clean.cloud = clean.repairs.empty() ? std::move(cloud) : cloud_of(mesh, kCellShare * diagonal(mesh));
  clean.mesh = std::move(mesh);
  return clean;
}

}  // namespace lastroom
