#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// A patch of a surface: places in columns from one end to the other, each a row of places from one rim to the other.
struct SurfaceGrid {
  std::size_t columns = 0, rows = 0;  ///< at least two of each, to be laid flat
  std::vector<Vec3> at;               ///< column by column, mm

  const Vec3& operator()(std::size_t column, std::size_t row) const { return at[column * rows + row]; }
};

/// The same places on paper.
struct FlatSheet {
  std::vector<Vec2> at;  ///< as in the grid, mm; columns run along +x, rows along +y, not mirrored
  /// Of each triangle between neighbouring places: the shortest and the longest that a length of 1 on the surface is on
  /// paper (singular values). Paper that goes round a surface without a crease has 1 and 1 everywhere.
  std::vector<std::array<double, 2>> stretch;
};

/// Lays a patch flat with as little stretch as can be: as rigid as possible (L. Liu, L. Zhang, Y. Xu, C. Gotsman, S. J.
/// Gortler, "A local/global approach to mesh parameterization", Symposium on Geometry Processing 2008). What a sheet
/// of paper could be bent into keeps its lengths; a double curvature can't.
FlatSheet laid_flat(const SurfaceGrid& grid);

}  // namespace lastroom
