#pragma once

#include "report/svg.h"

namespace lastroom {

/// A numbered place in a picture.
struct Mark {
  Vec2 at;
  int number = 0;
  bool under = false;  ///< hidden from here: drawn dashed
};

/// Numbered discs, pushed apart where they would cover one another; a moved one keeps a thin line to its place.
void add_marks(Drawing& drawing, const std::vector<Mark>& marks);

}  // namespace lastroom
