#pragma once

#include <span>

#include "geometry/mesh.h"

namespace lastroom {

/// An order in which neighbours follow each other (Morton 1966: the bits of the coordinates interleaved); empty when
/// the points already come near enough to each other, as vertices of a mesh do.
std::vector<std::uint32_t> nearby_order(std::span<const Vec3> points_mm);

}  // namespace lastroom
