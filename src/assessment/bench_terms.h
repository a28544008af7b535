#pragma once

#include "preparation/last.h"

namespace lastroom {

/// Along the bottom's centre line from the heel to the place nearest to `p` in plan.
double from_heel_mm(const Last& last, const Vec3& p);

/// Of the bottom's centre line, at the x of `p`.
double centre_y_mm(const Last& last, const Vec3& p);

/// Height of `p` over the nearest place of the feather edge in plan.
double above_feather_edge_mm(const Last& last, const Vec3& p);

}  // namespace lastroom
