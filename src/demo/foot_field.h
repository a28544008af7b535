#pragma once

#include "demo/make_foot.h"
#include "geometry/iso_surface.h"

namespace lastroom {

/// What is turned to make the skin meet its promised measures. Zero everywhere is the designed foot.
struct FootKnobs {
  double length_mm = 0.0, second_toe_mm = 0.0, joint_width_mm = 0.0, joint_height_mm = 0.0, heel_width_mm = 0.0,
         heel_to_joint_mm = 0.0, big_toe_height_mm = 0.0, fifth_toe_height_mm = 0.0;
};

/// The foot as a solid: bones in flesh (tapered capsules melted together), standing on a soft floor with a hollow arch.
struct FootField {
  struct Bone {
    Vec3 from, along;  ///< `along` runs from one end to the other
    double inverse_length_squared, radius, radius_growth, melt_mm;
  };
  struct Nail {
    Vec3 middle, along, across, up;  ///< unit directions
    double half_length, half_width;
  };
  std::vector<Bone> body;
  std::array<std::vector<Bone>, 5> toes;  ///< big toe first
  std::array<Nail, 5> nails;
  double toes_begin_mm;            ///< no toe's flesh has a smaller x
  std::array<Vec3, 5> last_joint;  ///< of each toe
  std::array<Vec3, 5> tip;         ///< middle of each toe's pad
  Vec3 first_head, fifth_head;     ///< metatarsal heads
  double length_mm, arch_mm, melt_scale;

  double operator()(const Vec3& p) const;
  double toe_flesh(const Vec3& p) const;
};

FootField foot_field(const FootShape& shape, const FootKnobs& knobs);

}  // namespace lastroom
