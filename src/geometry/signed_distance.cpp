#include "geometry/signed_distance.h"

#include <cmath>
#include <stdexcept>
#include <utility>

#include "geometry/hierarchy.h"
#include "geometry/nearest_search.h"
#include "geometry/parallel.h"
#include "geometry/query_order.h"
#include "geometry/surface_features.h"

namespace lastroom {
namespace {

/// The nearest triangle so far in double. Of equally near ones: no face seen from behind if there is another choice
/// (the back of a sheet without thickness encloses nothing), then the first in the mesh. A total order, so that it does
/// not matter in which order they come.
struct Winner {
  const Mesh& mesh;
  Vec3 p_mm;
  TrianglePoint near{std::numeric_limits<double>::infinity(), Vec3::Zero(), 6};
  std::uint32_t triangle = 0;

  bool from_behind(const TrianglePoint& point, std::uint32_t of) const {
    return point.feature == 6 && (p_mm - point.point_mm).dot(face_normal(mesh, of)) < 0.0;
  }
  void consider(std::uint32_t other) {
    const TrianglePoint found = nearest_on_triangle(mesh, other, p_mm);
    if (!(found.squared_mm2 <= near.squared_mm2)) return;
    if (found.squared_mm2 == near.squared_mm2) {
      const bool behind = from_behind(found, other), winner_behind = from_behind(near, triangle);
      if (behind != winner_behind ? behind : other > triangle) return;
    }
    near = found;
    triangle = other;
  }
};

void settle(NearTies& ties) {
  Winner& winner = *static_cast<Winner*>(ties.finish);
  for (int i = 0; i < ties.count; ++i)
    if (ties.squared[i] <= ties.limit) winner.consider(ties.triangle[i]);
  ties.count = 0;
}

SurfacePoint signed_point(const Winner& winner, const SurfaceFeatures& features) {
  SurfacePoint result;
  result.point_mm = winner.near.point_mm;
  result.triangle = winner.triangle;
  const int feature = winner.near.feature;
  if (feature < 3) {
    const std::uint32_t vertex = winner.mesh.triangles[winner.triangle][static_cast<std::size_t>(feature)];
    result.normal = features.vertex_normals[vertex].cast<double>().normalized();
    result.on_rim = features.on_rim[vertex] != 0;
  } else {
    result.normal = face_normal(winner.mesh, winner.triangle);
    if (feature < 6) {
      const std::uint32_t across = features.across[winner.triangle][static_cast<std::size_t>(feature - 3)];
      if (across == SurfaceFeatures::kNone)
        result.on_rim = true;
      else if (across & SurfaceFeatures::kCrowded)
        result.normal = features.crowded_normals[across & ~SurfaceFeatures::kCrowded].normalized();
      else
        result.normal = (result.normal + face_normal(winner.mesh, across)).normalized();
    }
  }
  const Vec3 from_surface = winner.p_mm - result.point_mm;
  const double distance_mm = std::sqrt(winner.near.squared_mm2);
  if (result.normal.isZero(0.0) && distance_mm > 0.0)  // back-to-back triangles enclose nothing: all is outside
    result.normal = from_surface.normalized();
  result.distance_mm = from_surface.dot(result.normal) < 0.0 ? -distance_mm : distance_mm;
  return result;
}

}  // namespace

struct SignedDistance::Tree {
  Mesh own;          ///< empty when the mesh is another's
  const Mesh& mesh;  ///< perhaps `own`
  SurfaceFeatures features;
  Hierarchy hierarchy;
  NearestSearch search = plain_search();

  explicit Tree(const Mesh& others) : mesh(others) { build(InstructionSet::best, {}); }
  Tree(const Mesh& others, const DistanceBoxes& boxes) : mesh(others) { build(InstructionSet::best, boxes); }
  Tree(Mesh copy, InstructionSet instructions) : own(std::move(copy)), mesh(own) { build(instructions, {}); }
  /// `boxes`: none, they are found.
  void build(InstructionSet instructions, const DistanceBoxes& boxes);

  /// `leaf` is searched first, and is the nearest one afterwards.
  SurfacePoint at(const Vec3& p_mm, std::uint32_t& leaf) const;
};

SurfacePoint SignedDistance::Tree::at(const Vec3& p_mm, std::uint32_t& leaf) const {
  Winner winner{mesh, p_mm};
  const Vec3 p = p_mm - hierarchy.centre_mm;
  const double reach_mm = p.norm() + hierarchy.radius_mm;
  if (reach_mm < 1e-3 * kFarAway) {
    NearTies ties;
    ties.finish = &winner;
    ties.settle = settle;
    // Half-ulps of a float: each of two distances errs by up to two of the largest coordinate there is.
    const auto rounding_mm = static_cast<float>(reach_mm * 4.0 * 0x1p-24);
    const Eigen::Vector3f q = p.cast<float>();
    search(hierarchy, {q.x(), q.y(), q.z(), rounding_mm, leaf}, ties);
    settle(ties);
    leaf = ties.best_leaf;
  } else {
    for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t) winner.consider(t);  // beyond the range of float squares
  }
  return signed_point(winner, features);
}

void SignedDistance::Tree::build(InstructionSet instructions, const DistanceBoxes& boxes) {
  if (!(area_mm2(mesh) > 0.0)) throw std::invalid_argument("SignedDistance: no triangle of positive area");
  if (!(bounds(mesh).size().norm() < 1e-3 * kFarAway))
    throw std::invalid_argument("SignedDistance: coordinates are too large");
  side_by_side([&] { hierarchy = build_hierarchy(mesh, boxes.nodes.empty() ? distance_boxes(mesh) : boxes); },
               [&] { features = surface_features(mesh); });
  if (instructions == InstructionSet::best && avx2_search()) search = avx2_search();
}

SignedDistance::SignedDistance(std::unique_ptr<const Tree> tree) : tree_(std::move(tree)) {}
SignedDistance::SignedDistance(const Mesh& mesh, InstructionSet instructions)
    : tree_(std::make_unique<Tree>(mesh, instructions)) {}
SignedDistance SignedDistance::looking_at(const Mesh& mesh) { return SignedDistance(std::make_unique<Tree>(mesh)); }
SignedDistance SignedDistance::looking_at(const Mesh& mesh, const DistanceBoxes& boxes) {
  return SignedDistance(std::make_unique<Tree>(mesh, boxes));
}
SignedDistance::~SignedDistance() = default;
SignedDistance::SignedDistance(SignedDistance&&) noexcept = default;
SignedDistance& SignedDistance::operator=(SignedDistance&&) noexcept = default;

SurfacePoint SignedDistance::at(const Vec3& point_mm) const {
  std::uint32_t leaf = kNoSeed;
  return tree_->at(point_mm, leaf);
}

std::vector<SurfacePoint> SignedDistance::at(std::span<const Vec3> points_mm, std::vector<std::uint32_t>& near) const {
  near.resize(points_mm.size(), kNoSeed);
  std::vector<SurfacePoint> result(points_mm.size());
  for_blocks(points_mm.size(), 1024, [&](std::size_t begin, std::size_t end) {
    std::uint32_t leaf = kNoSeed;
    for (std::size_t i = begin; i < end; ++i) {
      if (near[i] != kNoSeed) leaf = near[i];
      result[i] = tree_->at(points_mm[i], leaf);
      near[i] = leaf;
    }
  });
  return result;
}

std::vector<SurfacePoint> SignedDistance::at(std::span<const Vec3> points_mm) const {
  std::vector<SurfacePoint> result(points_mm.size());
  const std::vector<std::uint32_t> order = nearby_order(points_mm);
  for_blocks(points_mm.size(), 1024, [&](std::size_t begin, std::size_t end) {
    std::uint32_t leaf = kNoSeed;
    for (std::size_t i = begin; i < end; ++i) {
      const std::size_t point = order.empty() ? i : order[i];
      result[point] = tree_->at(points_mm[point], leaf);
    }
  });
  return result;
}

}  // namespace lastroom
