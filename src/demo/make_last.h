#pragma once

#include "demo/make_foot.h"

namespace lastroom {

enum class ToeStyle { round, almond, squared, high_and_bulky };

/// Room between skin and last in mm, per region; negative presses.
struct LastRoom {
  double heel_back = 0.3, heel_sides = 0.5, seat = 0.0, waist = 0.5, arch = 1.5, instep = 0.8, inside_joint = 0.2,
         outside_joint = 0.5, joint_top = 0.8, tread = 0.0, big_toe_side = 2.5, fifth_toe_side = 2.5, toe_top = 4.0,
         fifth_toe_top = 4.0;  ///< toe_top over toes 1 to 3, fifth_toe_top over toes 4 and 5
};

struct LastShape {
  double heel_height_mm = 25.0;
  double toe_spring_mm = 8.0;
  double allowance_mm = 20.0;  ///< last's foremost point in front of the longest toe's tip, along x
  ToeStyle toe = ToeStyle::round;
  LastRoom room;
  double cone_height_mm = 95.0;  ///< where the top is cut, above the seat
  bool open_at_top = true;
  double edge_mm = 2.5;
};

/// A last lofted around a foot posed as a shoe holds it: rear part raised by the heel height about the joint line, fore
/// part hinged to the toe spring. Sections are the foot's taped hulls plus room, faired; the toe is the style's own.
struct MadeLast {
  Mesh mesh;                                   ///< last frame, right form
  Motion last_from_foot = Motion::Identity();  ///< truth of the rear part
  double hinge_deg = 0.0;                      ///< truth of the fore part: a quarter of the toes' soles bears
  // The same facts as in `Last` (preparation/last.h), known by construction:
  std::vector<std::uint8_t> bottom;
  std::vector<Vec3> feather_edge, centre_line;
  Vec3 heel_back, toe_end, first_joint, fifth_joint, tread;
};
MadeLast make_last(const MadeFoot& foot, const LastShape& shape);

}  // namespace lastroom
