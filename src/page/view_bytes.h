#pragma once

#include <string>

#include "fitting.h"

namespace lastroom {

// What the page's viewer draws (view3d.js), little-endian. Counts as uint32: skin vertices, skin triangles, last
// vertices, last triangles. Then skin places (3 float32 a vertex, mm), room (float32, mm; NaN where it is not judged),
// its doubt (float32, mm, one standard deviation), colours (4 bytes a vertex: red, green, blue, zone), triangles (3
// uint32); the last's places and triangles.

/// Posed skin and last: last frame, as worn.
std::string view_of_fitting(const Fitting& fitting);
/// A body alone, without room.
std::string view_of_body(const Mesh& mesh);

}  // namespace lastroom
