#pragma once

#include "report/svg.h"

namespace lastroom {

/// A numbered place in a picture.
struct Mark {
  Vec2 at;
  int number = 0;
  bool under = false;         ///< hidden from here: drawn dashed
  Vec2 moved = Vec2::Zero();  ///< where its disc would stand best, from there
};

/// Numbered discs, pushed apart where they would cover one another and into the picture; a moved one keeps a thin line
/// to its place. `below_mm` at the picture's lower edge is kept for a scale bar.
void add_marks(Drawing& drawing, const std::vector<Mark>& marks, double below_mm = 0.0);

}  // namespace lastroom
