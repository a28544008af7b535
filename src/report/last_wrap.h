#pragma once

#include "geometry/flat_sheet.h"
#include "preparation/last.h"

namespace lastroom {

/// What a last is papered with: a piece for each side, from the feather edge to the top edge and the ridge in front of
/// it, and one for the bottom, from the feather edge's inside to its outside.
enum class LastPart { inside, outside, bottom };

/// The piece's places on the last (last frame, right form), heel to toe in columns. Rows begin at the feather edge.
struct LastWrap {
  SurfaceGrid grid;
  std::vector<double> along_mm;   ///< of each column's first place: from the heel point along the feather edge
  std::vector<double> length_mm;  ///< of each column, along the surface
};
/// Empty where the last can't be cut so.
LastWrap wrap_of(const Last& last, LastPart part);

}  // namespace lastroom
