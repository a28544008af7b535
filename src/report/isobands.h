#pragma once

#include <vector>

#include "geometry/mesh.h"

namespace lastroom {

/// Values at the nodes of a square grid, row by row from `low` upwards.
struct Grid {
  int columns = 0, rows = 0;
  double step_mm = 1.0;
  Vec2 low = Vec2::Zero();  ///< place of node (0, 0)
  std::vector<float> value;

  float at(int column, int row) const { return value[static_cast<std::size_t>(row) * columns + column]; }
  float& at(int column, int row) { return value[static_cast<std::size_t>(row) * columns + column]; }
};

using Loop = std::vector<Vec2>;  ///< closed, no repeated first point

/// The border of {value >= level}: marching squares with linear interpolation (W. E. Lorensen, H. E. Cline, SIGGRAPH
/// 1987, in the plane). Everything outside the grid counts as below. Solid parts run counter-clockwise, holes
/// clockwise, so the signed areas add up to the area of the set. A saddle is joined by the mean of its four corners.
std::vector<Loop> superlevel_loops(const Grid& grid, double level);

double signed_area_mm2(const Loop& loop);

/// Loops with fewer points, nowhere further than `tolerance_mm` from the given ones (D. H. Douglas, T. K. Peucker,
/// Cartographica 1973); those smaller than `least_area_mm2` are dropped.
std::vector<Loop> simplified(const std::vector<Loop>& loops, double tolerance_mm, double least_area_mm2);

}  // namespace lastroom
