#pragma once

// Private to mesh_io: the single steps of cleaning.

#include "geometry/mesh.h"

namespace lastroom {

/// Vertices at the same place become one; gives the new index of every old vertex.
std::vector<std::uint32_t> merge_equal_vertices(std::vector<Vec3>& vertices);
/// The next two give how many triangles they dropped. A triangle that runs the other way round is a duplicate too.
std::size_t drop_repeated_corners(std::vector<Triangle>& triangles);
std::size_t drop_duplicates(std::vector<Triangle>& triangles, std::size_t vertices);

}  // namespace lastroom
