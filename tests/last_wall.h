#pragma once

#include <memory>
#include <optional>

#include "geometry/mesh.h"

namespace lastroom::test {

/// A last's surface looked up by CGAL's AABB tree, in double precision; signs by the pseudonormals of Baerentzen and
/// Aanaes 2005. Shares no code with src/geometry's distance.
class LastWall {
 public:
  struct Nearest {
    double outside_mm = 0.0;  ///< signed: positive outside the last
    Vec3 point_mm = Vec3::Zero();
    Vec3 normal = Vec3::Zero();  ///< out of the last
    std::uint32_t face = 0;
    bool on_cut = false;  ///< the open border or the flat top where the last was cut: nothing presses there
  };
  /// `cut`: one per triangle, 1 on a flat cut top; empty for a last without one.
  explicit LastWall(Mesh last, std::vector<std::uint8_t> cut = {});
  ~LastWall();
  LastWall(LastWall&&) noexcept;
  LastWall& operator=(LastWall&&) noexcept;
  Nearest at(const Vec3& p) const;
  /// The same, faster when `near` lies on the surface not far from the answer.
  Nearest at(const Vec3& p, const Nearest& near) const;
  /// How far from `from` along `direction` (unit) the surface is.
  std::optional<double> reach_mm(const Vec3& from, const Vec3& direction) const;
  const Mesh& mesh() const;
  const std::vector<std::uint8_t>& cut() const;  ///< one per triangle
  double top_mm() const;                         ///< height of the highest place
  double to_cut_mm(const Vec3& on_wall) const;  ///< straight to the nearest corner of the cut; far where nothing is cut

 private:
  struct Tree;
  Nearest described(const Vec3& p, const Vec3& on, std::size_t face) const;
  std::unique_ptr<const Tree> tree_;
};

}  // namespace lastroom::test
