#pragma once

#include "geometry/iso_surface.h"
#include "geometry/signed_distance.h"

namespace lastroom::test {

/// A mesh as a body: inside is what its surface winds around, also where it runs through itself. Open at the top only.
class Solid {
 public:
  explicit Solid(const Mesh& mesh);
  double operator()(const Vec3& p) const;  ///< mm to the surface, negative inside

 private:
  bool inside(const Vec3& p) const;
  Mesh mesh_;
  SignedDistance distance_;
  Box box_;
  int columns_ = 0, rows_ = 0;
  std::vector<std::vector<std::uint32_t>> triangles_;  ///< by column of the plan
};

/// The body closed by a ball (Serra 1982, Image Analysis and Mathematical Morphology): what no ball of this radius can
/// enter from outside is filled, as a scanner does that sees no cleft. With radius 0 it is laid out anew.
Mesh closed_by_ball(const Mesh& mesh, double radius_mm, double edge_mm);

}  // namespace lastroom::test
