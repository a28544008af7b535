#pragma once

// Private to geometry.

#include "geometry/hierarchy.h"

namespace lastroom {

/// Triangles whose distance, as float sees it, lies within rounding of the least. The double finish decides among them.
struct NearTies {
  static constexpr int kMost = 64;
  float best = std::numeric_limits<float>::infinity();
  float limit = best;  ///< both squared: the least so far, and what rounding can't tell from it
  int count = 0;
  float squared[kMost];
  std::uint32_t triangle[kMost];
  std::uint32_t best_leaf = 0;
  void* finish = nullptr;                    ///< state of `settle`
  void (*settle)(NearTies& ties) = nullptr;  ///< finishes the triangles in double and empties the list
};

struct NearestQuery {
  float x, y, z;      ///< around Hierarchy::centre_mm
  float rounding_mm;  ///< of coordinates this large; what the search adds in proportion to the distance is its own
  std::uint32_t seed_leaf;  ///< searched first; kNoSeed
};
constexpr std::uint32_t kNoSeed = 0xffffffff;

using NearestSearch = void (*)(const Hierarchy&, const NearestQuery&, NearTies&);
NearestSearch plain_search();
NearestSearch avx2_search();  ///< null where the compiler or the processor has none

}  // namespace lastroom
