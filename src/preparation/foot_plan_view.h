#pragma once

#include "geometry/mesh_view.h"

namespace lastroom {

/// A mesh seen from above and from below: where vertical lines on a square grid cut its triangles first and last. What
/// it shows does not depend on how large or how many the triangles are.
class PlanView {
 public:
  /// Over everything of `mesh` that lies in front of `from_x`; `spacing` of the lines in the mesh's unit.
  PlanView(const MeshView& mesh, double from_x, double spacing);
  /// The highest and the lowest cut of the line nearest to (x, y); NaN where no skin is there.
  double top_at(const Vec2& p) const { return at(top_, p); }
  double sole_at(const Vec2& p) const { return at(sole_, p); }
  bool has_skin(const Vec2& p) const { return top_at(p) == top_at(p); }

 private:
  double at(const std::vector<float>& heights, const Vec2& p) const;
  void cut(const Vec3& a, const Vec3& b, const Vec3& c);

  Vec2 low_ = Vec2::Zero();
  double spacing_;
  std::ptrdiff_t columns_ = 0, rows_ = 0;
  std::vector<float> top_, sole_;  ///< column by column, along y
};

}  // namespace lastroom
