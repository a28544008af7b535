#pragma once

#include "demo/last_skin.h"

namespace lastroom {

struct LoftShape {
  ToeStyle toe = ToeStyle::round;
  double toe_end_x_mm = 0.0;  ///< foremost point
  double cone_z_mm = 0.0;     ///< height of the cut
  double edge_mm = 2.5;
  bool open_at_top = true;
};

/// One grid over the whole last: `stations` half planes around it (heel, inside, toe, outside and back), each a profile
/// from the bottom's middle over the feather edge up to the ridge or the rim. Which vertex is where does not depend on
/// the toe style.
struct Loft {
  Mesh mesh;
  std::vector<std::uint8_t> bottom;         ///< per triangle
  std::vector<std::uint32_t> feather_edge;  ///< vertices, from the heel over the inside to the toe and back
  std::vector<std::uint32_t> centre_line;   ///< vertices, heel to toe
};
Loft loft(const LastSkin& skin, const LastBottom& bottom, const LoftShape& shape);

}  // namespace lastroom
