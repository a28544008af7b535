#pragma once

#include <optional>

#include "preparation/last.h"
#include "preparation/last_bottom.h"

namespace lastroom {

/// Rough poses in which a surface looks like a last, best first: x from heel to toe, z up.
std::vector<Motion> rough_poses(const Mesh& mesh);

/// Heel point at the origin, x along the centre line, tread level; not yet in right form.
struct Standing {
  Motion standing_from_rough = Motion::Identity();
  std::vector<Vec3> feather_edge;       ///< standing, counter-clockwise seen from above, from the heel point
  std::vector<Vec3> centre_line;        ///< standing
  Vec3 left_joint, right_joint, tread;  ///< standing; left is +y
  /// Not negative: the inside is at +y, so it is a right last. exp(-|evidence|)/2 is the chance of error.
  double inside_left_evidence = 0.0;
};
std::optional<Standing> stand_last(const Mesh& rough, const LastBottomFaces& bottom);
/// A last's joint is where its outline is widest less this: what a place, in parts of the last's length from its heel
/// point, costs for lying off from where joints usually are, in mm of width. Infinite where none lies.
double joint_off_place_mm(double length_ratio, bool inside);
/// First and fifth joint of a last that stands, its inside at +y.
std::pair<Vec3, Vec3> joints_in_right_form(const Mesh& standing, double length_mm);

}  // namespace lastroom
