#pragma once

// Private to geometry: the search itself, once for every instruction set: included by the translation units that define
// their Float8, inside their target region. Only +, -, *, /, min, max and comparisons, never fused: every instruction
// set gives the same bits.

#include <utility>

#include "geometry/nearest_search.h"

namespace lastroom {
namespace {

/// The query in each lane's own frame.
template <class Float8>
struct Local {
  Float8 x, y, z;
};

template <class Float8>
inline Local<Float8> to_frames(const Frames& f, const Float8& px, const Float8& py, const Float8& pz) {
  const Float8 x = px - Float8::load(f.origin[0]), y = py - Float8::load(f.origin[1]),
               z = pz - Float8::load(f.origin[2]);
  const Float8 ux = Float8::load(f.first[0]), uy = Float8::load(f.first[1]), uz = Float8::load(f.first[2]);
  const Float8 nx = Float8::load(f.third[0]), ny = Float8::load(f.third[1]), nz = Float8::load(f.third[2]);
  return {x * ux + y * uy + z * uz, x * (ny * uz - nz * uy) + y * (nz * ux - nx * uz) + z * (nx * uy - ny * ux),
          x * nx + y * ny + z * nz};
}

template <class Float8>
inline Float8 squared_to_boxes(const HierarchyNode& node, const Float8& px, const Float8& py, const Float8& pz) {
  const Local<Float8> p = to_frames(node.frames, px, py, pz);
  const Float8 zero = Float8::all(0.0F);
  const Float8 x = max(abs(p.x) - Float8::load(node.half_size[0]), zero);
  const Float8 y = max(abs(p.y) - Float8::load(node.half_size[1]), zero);
  const Float8 z = max(abs(p.z) - Float8::load(node.half_size[2]), zero);
  return x * x + y * y + z * z;
}

/// In the plane of the triangle: the nearest of three segments, or nothing when inside. Every step is well conditioned,
/// for needles too, because axes come from double.
template <class Float8>
inline Float8 squared_to_triangles(const HierarchyLeaf& leaf, const Float8& px, const Float8& py, const Float8& pz) {
  const Local<Float8> p = to_frames(leaf.frames, px, py, pz);
  const Float8 zero = Float8::all(0.0F), one = Float8::all(1.0F), tiny = Float8::all(1e-30F);
  const Float8 length = Float8::load(leaf.length), bx = Float8::load(leaf.apex_x), by = Float8::load(leaf.apex_y);
  const Float8 cx = bx - length, qx = p.x - length;  // from the second corner

  const Float8 base_x = p.x - min(max(p.x, zero), length);
  const Float8 base = base_x * base_x + p.y * p.y;
  const Float8 left_t = min(max((p.x * bx + p.y * by) / max(bx * bx + by * by, tiny), zero), one);
  const Float8 left_x = p.x - left_t * bx, left_y = p.y - left_t * by;
  const Float8 left = left_x * left_x + left_y * left_y;
  const Float8 right_t = min(max((qx * cx + p.y * by) / max(cx * cx + by * by, tiny), zero), one);
  const Float8 right_x = qx - right_t * cx, right_y = p.y - right_t * by;
  const Float8 right = right_x * right_x + right_y * right_y;

  // p is on the inner side of an edge where these are positive.
  const Float8 inside = min(p.y, min(p.x * by - p.y * bx, p.y * cx - qx * by));
  return p.z * p.z + zero_where_positive(inside, min(base, min(left, right)));
}

inline void tighten(NearTies& ties, const NearestQuery& query, float squared, std::uint32_t leaf) {
  ties.best = squared;
  ties.best_leaf = leaf;
  // One distance errs by its share of the coordinates' rounding and, in the frames' products and sums, by fewer than 16
  // half-ulps (2^-24) of itself. Two distances are compared: 2 * 16 * 2^-24 = 2^-19.
  const float distance = __builtin_sqrtf(squared);
  const float reach = distance + query.rounding_mm + distance * 0x1p-19F;
  ties.limit = reach * reach;
}

inline void make_room(NearTies& ties) {
  int kept = 0;
  for (int i = 0; i < ties.count; ++i)
    if (ties.squared[i] <= ties.limit) {
      ties.squared[kept] = ties.squared[i];
      ties.triangle[kept++] = ties.triangle[i];
    }
  ties.count = kept;
  if (kept > NearTies::kMost - kLanes) ties.settle(ties);
}

template <class Float8>
void search_nearest(const Hierarchy& hierarchy, const NearestQuery& query, NearTies& ties) {
  const Float8 px = Float8::all(query.x), py = Float8::all(query.y), pz = Float8::all(query.z);
  const auto visit_leaf = [&](std::uint32_t index) {
    const HierarchyLeaf& leaf = hierarchy.leaves[index];
    alignas(32) float squared[kLanes];
    const Float8 found = squared_to_triangles(leaf, px, py, pz);
    if (lanes_not_above(found, ties.limit) == 0) return;
    const float least = least_lane(found);
    if (least < ties.best) tighten(ties, query, least, index);
    if (ties.count > NearTies::kMost - kLanes) make_room(ties);
    found.store(squared);
    for (unsigned near = lanes_not_above(found, ties.limit); near != 0; near &= near - 1) {
      const int lane = __builtin_ctz(near);
      ties.squared[ties.count] = squared[lane];
      ties.triangle[ties.count++] = leaf.triangle[lane];
    }
  };

  struct Entry {
    float bound;
    std::uint32_t child;
  };
  Entry stack[kLanes * kMostLevels];  // a node leaves at most 7 entries waiting
  int waiting = 0;
  if (query.seed_leaf != kNoSeed) visit_leaf(query.seed_leaf);
  for (Entry next{0.0F, 0};;) {
    if (next.child & kLeafBit) {
      if ((next.child & ~kLeafBit) != query.seed_leaf) visit_leaf(next.child & ~kLeafBit);
    } else {
      const HierarchyNode& node = hierarchy.nodes[next.child];
      alignas(32) float bound[kLanes];
      const Float8 bounds = squared_to_boxes(node, px, py, pz);
      unsigned near = lanes_not_above(bounds, ties.limit);
      if (near != 0) {
        bounds.store(bound);
        const int first = waiting;
        for (; near != 0; near &= near - 1) {
          const int lane = __builtin_ctz(near);
          stack[waiting] = {bound[lane], node.child[lane]};
          if (waiting > first && stack[waiting - 1].bound < stack[waiting].bound)
            std::swap(stack[waiting - 1], stack[waiting]);
          ++waiting;
        }
      }
    }
    do {
      if (waiting == 0) return;
      next = stack[--waiting];
    } while (next.bound > ties.limit);
  }
}

}  // namespace
}  // namespace lastroom
