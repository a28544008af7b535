#pragma once

// The search itself, once for every instruction set: included by the translation units that define their Float8, inside
// their target region. Only +, -, *, /, min, max and comparisons, never fused: every instruction set gives the same
// bits.

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
  // Rounding of one distance: at most 16 half-ulps of the length of p's way to the triangle, and that of coordinates;
  // two distances are compared.
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

/// One query on its way down from the root.
template <class Float8>
class Traversal {
 public:
  void start(const Hierarchy& hierarchy, const NearestQuery& query, NearTies& ties) {
    hierarchy_ = &hierarchy;
    query_ = &query;
    ties_ = &ties;
    waiting_ = 0;
    next_ = {0.0F, 0};
    if (query.seed_leaf != kNoSeed) visit_leaf(query.seed_leaf);
  }

  /// Looks at one node or leaf; false when there is none left that could be nearer.
  bool step() {
    if (next_.child & kLeafBit) {
      if ((next_.child & ~kLeafBit) != query_->seed_leaf) visit_leaf(next_.child & ~kLeafBit);
    } else {
      visit_node(next_.child);
    }
    do {
      if (waiting_ == 0) return false;
      next_ = stack_[--waiting_];
    } while (next_.bound > ties_->limit);
    return true;
  }

 private:
  void visit_node(std::uint32_t index) {
    const HierarchyNode& node = hierarchy_->nodes[index];
    const Float8 bounds =
        squared_to_boxes(node, Float8::all(query_->x), Float8::all(query_->y), Float8::all(query_->z));
    unsigned near = lanes_not_above(bounds, ties_->limit);
    if (near == 0) return;
    alignas(32) float bound[kLanes];
    bounds.store(bound);
    for (const int first = waiting_; near != 0; near &= near - 1) {  // the nearest ends on top, the rest as they come
      const int lane = __builtin_ctz(near);
      stack_[waiting_] = {bound[lane], node.child[lane]};
      if (waiting_ > first && stack_[waiting_ - 1].bound < stack_[waiting_].bound) {
        const Entry below = stack_[waiting_ - 1];
        stack_[waiting_ - 1] = stack_[waiting_];
        stack_[waiting_] = below;
      }
      ++waiting_;
    }
  }

  void visit_leaf(std::uint32_t index) {
    const HierarchyLeaf& leaf = hierarchy_->leaves[index];
    const Float8 found =
        squared_to_triangles(leaf, Float8::all(query_->x), Float8::all(query_->y), Float8::all(query_->z));
    if (lanes_not_above(found, ties_->limit) == 0) return;
    const float least = least_lane(found);
    if (least < ties_->best) tighten(*ties_, *query_, least, index);
    if (ties_->count > NearTies::kMost - kLanes) make_room(*ties_);
    alignas(32) float squared[kLanes];
    found.store(squared);
    for (unsigned near = lanes_not_above(found, ties_->limit); near != 0; near &= near - 1) {
      const int lane = __builtin_ctz(near);
      ties_->squared[ties_->count] = squared[lane];
      ties_->triangle[ties_->count++] = leaf.triangle[lane];
    }
  }

  struct Entry {
    float bound;
    std::uint32_t child;
  };
  const Hierarchy* hierarchy_;
  const NearestQuery* query_;
  NearTies* ties_;
  int waiting_;
  Entry next_;
  Entry stack_[kLanes * 64];  // a node leaves at most 7 entries waiting; the hierarchy is never 64 levels deep
};

/// Step by step in turn: while one query waits for memory or for the outcome of a branch, the others go on.
template <class Float8>
void search_nearest(const Hierarchy& hierarchy, const NearestQuery* queries, NearTies* ties, int count) {
  Traversal<Float8> traversal[kTogether];
  int going[kTogether];
  for (int i = 0; i < count; ++i) {
    traversal[i].start(hierarchy, queries[i], ties[i]);
    going[i] = i;
  }
  while (count > 0)
    for (int i = 0; i < count;) {
      if (traversal[going[i]].step())
        ++i;
      else
        going[i] = going[--count];
    }
}

}  // namespace
}  // namespace lastroom
