#pragma once

#include <array>

namespace lastroom {

/// What decides where a foot comes to rest in a shoe beside the two shapes. None of it is seen in a scan; each has a
/// range. Skin and what lies under it answer like an elastic foundation: force by area by mm of press (N/mm3).
struct Physics {
  double heel_pad_N_per_mm3, fore_sole_N_per_mm3, heel_cup_N_per_mm3, upper_N_per_mm3;
  double body_load_N;         ///< on one foot of somebody who stands on both
  double fastening_N;         ///< draws the foot back and down at the instep
  double fastening_down_deg;  ///< below the way back
  double toes_moment_N_mm;    ///< that presses the toes onto the bottom, about the joint line
};

struct PhysicsRange {
  double Physics::*value;
  double least, most;
};

/// Heel pad: 12 to 25 mm thick at 100 to 400 kPa (Naemi et al. 2016, doi 10.5772/64170), soft tissue of 0.15 MPa and
/// more (Cheung, Zhang et al., J Biomech 2005;38:1045): 0.15 MPa / 12 mm = 0.012, 0.42 MPa / 12 mm = 0.035. Fore sole:
/// about 1.3 times. Sides, top and heel cup: the same tissue over leather that gives 0.5 to 1.5 mm at 50 N (our
/// choice). Load: half of 60 to 80 kg. Fastening, its direction and the toes' moment: our choice.
constexpr std::array<PhysicsRange, 8> kPhysicsRanges = {{{&Physics::heel_pad_N_per_mm3, 0.012, 0.035},
                                                         {&Physics::fore_sole_N_per_mm3, 0.016, 0.045},
                                                         {&Physics::heel_cup_N_per_mm3, 0.015, 0.030},
                                                         {&Physics::upper_N_per_mm3, 0.009, 0.024},
                                                         {&Physics::body_load_N, 300.0, 400.0},
                                                         {&Physics::fastening_N, 20.0, 60.0},
                                                         {&Physics::fastening_down_deg, 30.0, 60.0},
                                                         {&Physics::toes_moment_N_mm, 500.0, 2000.0}}};

/// The middle of every range.
Physics usual_physics();

}  // namespace lastroom
