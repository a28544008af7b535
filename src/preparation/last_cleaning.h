#pragma once

#include "preparation/last.h"

namespace lastroom {

/// One outward surface in mm, still in the file's frame.
struct CleanLast {
  Mesh mesh;
  bool open_at_top = false;  ///< it has a rim
};

/// Unit by plausibility, weld, largest piece, outward. Adds what was done to `facts`. `mesh` is the file's. Throws
/// InputError.
CleanLast clean_last(const MeshFile& file, Mesh mesh, const LastPreparation& settings, InputFacts& facts);

}  // namespace lastroom
