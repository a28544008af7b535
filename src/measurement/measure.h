#pragma once

#include "message.h"
#include "preparation/foot.h"
#include "preparation/last.h"

namespace lastroom {

/// A girth with the loop that was taped, for drawing (in the frame of the body measured).
struct Girth {
  double mm = 0.0;
  std::vector<Vec3> loop_mm;
};

/// Definitions: Lee, Lin, Wang 2014 (J Foot Ankle Res) after the AIST foot dimension database; barefoot, standing.
struct FootMeasures {
  double length_mm = 0.0;  ///< pternion to the longest toe, along the foot axis
  Girth joint_girth, waist_girth, instep_girth;
  double joint_width_mm = 0.0;    ///< first to fifth joint across the foot axis
  double heel_width_mm = 0.0;     ///< widest at 16 % of length, below 40 mm
  double heel_to_joint_mm = 0.0;  ///< pternion to first joint along the foot axis (ball of foot length)
  double heel_to_fifth_joint_mm = 0.0;
  double big_toe_height_mm = 0.0, fifth_toe_height_mm = 0.0;  ///< top of the toe over the floor, at the last joint
  double instep_height_mm = 0.0;
  int longest_toe = 1;                      ///< 1 .. 5
  std::vector<Message> outside_population;  ///< ratios beyond the 1st to 99th percentile of ANSUR II (A1)
  Girth heel_girth = {};              ///< the long heel: round the rear bottom edge of the heel and over the instep
  double joint_girth_sigma_mm = 0.0;  ///< one standard deviation: of the joints' places, of a missing sole
};
FootMeasures measure_foot(const Foot& foot);

/// Definitions: craft references (D5); a last is measured virtually on its 3D model (ISO 19409:2022).
struct LastMeasures {
  double length_mm = 0.0;        ///< tape along the bottom, rearmost to foremost feather edge point
  double stick_length_mm = 0.0;  ///< along the ground, rearmost to foremost point
  Girth joint_girth, waist_girth, instep_girth;
  double joint_width_mm = 0.0;
  double heel_width_mm = 0.0;
  double heel_to_joint_mm = 0.0, heel_to_fifth_joint_mm = 0.0;  ///< from the rearmost point, along x
  double heel_height_mm = 0.0;  ///< feather edge at the heel point over the ground (the tread's)
  double toe_spring_mm = 0.0;   ///< the bottom's foremost point over the ground
  Girth heel_girth = {};        ///< the long heel: round the rear bottom edge of the heel and over the instep
};
LastMeasures measure_last(const Last& last);

}  // namespace lastroom
