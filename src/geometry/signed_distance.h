#pragma once

#include <memory>
#include <span>

#include "geometry/mesh.h"

namespace lastroom {

/// Where a query point stands to the nearest point of a surface.
struct SurfacePoint {
  double distance_mm = 0.0;  ///< positive: outside the surface. Negative: inside (enclosed by it).
  Vec3 point_mm = Vec3::Zero();
  Vec3 normal = Vec3::Zero();  ///< outward unit pseudonormal of the nearest feature (Baerentzen and Aanaes 2005)
  std::uint32_t triangle = 0;
  bool on_rim = false;  ///< the nearest feature is a boundary edge or vertex of an open surface: the sign is in doubt
};

struct DistanceBoxes;

/// `plain` keeps to what every processor has; for tests. Results are the same bytes.
enum class InstructionSet { best, plain };

/// Signed distance to a triangle mesh, open or closed, by a bounding hierarchy that is built once and then only read.
/// Exact to double rounding; the same bytes whatever the number of threads or the instruction set.
class SignedDistance {
 public:
  /// `mesh` must be welded (shared vertices) and face outwards. Throws std::invalid_argument when it has no triangle
  /// of positive area, or reaches over 10^15 mm.
  explicit SignedDistance(const Mesh& mesh, InstructionSet instructions = InstructionSet::best);
  /// Looks at `mesh` instead of copying it: it must stay where it is and as it is.
  static SignedDistance looking_at(const Mesh& mesh);
  /// The same where `distance_boxes(mesh)` is at hand.
  static SignedDistance looking_at(const Mesh& mesh, const DistanceBoxes& boxes);
  ~SignedDistance();
  SignedDistance(SignedDistance&&) noexcept;
  SignedDistance& operator=(SignedDistance&&) noexcept;

  SurfacePoint at(const Vec3& point_mm) const;
  /// One answer per query, in order. Queries that come in mesh order are fastest; others are sorted on the way.
  std::vector<SurfacePoint> at(std::span<const Vec3> points_mm) const;
  /// The same answers sooner where the same points are asked for again, a little moved: `near`, empty at first, tells
  /// where each is to be looked for, and then where it was found.
  std::vector<SurfacePoint> at(std::span<const Vec3> points_mm, std::vector<std::uint32_t>& near) const;

 private:
  struct Tree;
  explicit SignedDistance(std::unique_ptr<const Tree> tree);
  std::unique_ptr<const Tree> tree_;
};

}  // namespace lastroom
