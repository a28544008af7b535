#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// Parameters of a made-up bare right foot, standing. Proportions default to ANSUR II means (Gordon et al. 2014).
struct FootShape {
  double length_mm = 262.0;
  double joint_width_mm = 100.0;
  double joint_girth_mm = 248.0;
  double heel_width_mm = 69.0;
  double heel_to_joint_mm = 191.0;
  double big_toe_height_mm = 22.0, fifth_toe_height_mm = 15.0;
  double arch_height_mm = 16.0;        ///< of the sole's hollow on the inside; 3 low, 28 high
  double second_toe_longer_mm = -4.0;  ///< second toe tip in front of the big toe's
  double bunion_mm = 0.0;              ///< how far the first joint stands out more than usual; within joint_width_mm
  double bend_deg = 8.4;               ///< inward bend of the outline (A3)
  double leg_height_mm = 130.0;        ///< where the leg is cut
  double edge_mm = 2.0;                ///< typical triangle edge
};

/// A made foot with the truth about it. Foot frame, right form; the leg's top is open.
struct MadeFoot {
  Mesh mesh;
  Vec3 heel = Vec3::Zero(), first_joint = Vec3::Zero(), fifth_joint = Vec3::Zero();
  std::array<Vec3, 5> toe_tips = {Vec3::Zero(), Vec3::Zero(), Vec3::Zero(), Vec3::Zero(), Vec3::Zero()};
};
/// The skin meets every measure of `shape` (length within 0.5 mm, girth 3 mm, the others 1 mm). Throws
/// std::invalid_argument when no foot has these measures together. Toes stand 3 mm apart: with edges over 2 mm some
/// grow together in the mesh.
MadeFoot make_foot(const FootShape& shape);

}  // namespace lastroom
