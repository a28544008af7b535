#include "report/worn.h"

namespace lastroom {
namespace {

WornMesh as_worn_mesh(Side side, const MeshView& right_form) {
  if (side == Side::right) return {right_form, nullptr};
  const auto copy = std::make_shared<const Mesh>(mirrored_y(right_form.copy()));
  return {*copy, copy};
}

}  // namespace

WornLandmarks worn_landmarks(const Fitting& fitting) {
  const FootLandmarks& marks = fitting.foot.landmarks;
  const PosedFoot posed(marks, fitting.registration);
  const auto worn = [&](const Vec3& foot_point) { return as_worn(fitting.foot.side, posed(foot_point)); };
  WornLandmarks result;
  result.heel = worn(marks.heel);
  result.first_joint = worn(marks.first_joint);
  result.fifth_joint = worn(marks.fifth_joint);
  for (std::size_t toe = 0; toe < marks.toe_tips.size(); ++toe) result.toe_tips[toe] = worn(marks.toe_tips[toe]);
  return result;
}

WornMesh worn_skin(const Fitting& fitting) {
  return as_worn_mesh(fitting.foot.side, {fitting.clearance.skin_mm, fitting.foot.mesh.triangles});
}

WornMesh worn_last(const Fitting& fitting) { return as_worn_mesh(fitting.foot.side, fitting.last.mesh); }

}  // namespace lastroom
