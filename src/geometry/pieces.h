#pragma once

#include <cstdint>

#include "geometry/surface_features.h"

namespace lastroom {

/// Which connected piece each triangle belongs to (connected over shared vertices); pieces are numbered by first
/// triangle.
struct Pieces {
  std::vector<std::uint32_t> of_triangle;
  std::vector<double> area;
};
Pieces pieces_of(const Mesh& mesh);
/// The same, connected over edges that two triangles share: bodies that touch along an edge are apart.
Pieces pieces_over_edges(const Mesh& mesh, const SurfaceFeatures& features);

/// The piece of largest area, of at least one.
Mesh largest_piece(const Mesh& mesh, const Pieces& pieces);

/// Turns triangles so that neighbours over an edge agree, then each piece's majority keeps its way. Returns how many
/// were turned.
std::size_t make_winding_consistent(Mesh& mesh);

/// The part below height `top` (z), cut exactly.
Mesh cut_above(const Mesh& mesh, double top);

}  // namespace lastroom
