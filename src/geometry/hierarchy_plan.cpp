#include "geometry/hierarchy_plan.h"

#include <algorithm>
#include <bit>
#include <limits>
#include <memory>
#include <tuple>
#include <utility>

#include "geometry/parallel.h"

namespace lastroom {
namespace {

using Float4 = Eigen::Array4f;

/// A triangle and its box. The fourth lanes are no coordinates: the triangle's number rides there as bits, so that an
/// item fills half a cache line.
struct PlannedItem {
  Float4 low, high;
  std::uint32_t triangle() const { return std::bit_cast<std::uint32_t>(low[3]); }
};

constexpr float kInfinity = std::numeric_limits<float>::infinity();
constexpr std::uint32_t kOneNode = kLanes * kLanes;   // triangles under a node of leaves
constexpr std::uint32_t kFilledBelow = 8 * kOneNode;  // in larger parts one leaf that is not full is nothing

struct Bounds4 {
  Float4 low = Float4::Constant(kInfinity), high = Float4::Constant(-kInfinity);
  void add(const Float4& l, const Float4& h) {
    low = low.min(l);
    high = high.max(h);
  }
  float half_area() const {
    const Float4 d = high - low;
    return d[0] * d[1] + d[1] * d[2] + d[2] * d[0];
  }
};

struct Part {
  DistanceRange range;
  float half_area = kInfinity;
};

float leaves_for(std::uint32_t count) { return static_cast<float>((count + kLanes - 1) / kLanes); }

/// Where to cut so that leaves, and nodes over leaves, come out full: an empty lane takes memory and time like any
/// other.
std::uint32_t filling(std::uint32_t left_count, std::uint32_t count) {
  const std::uint32_t grain = count > kOneNode ? kOneNode : kLanes;
  return std::clamp((left_count + grain / 2) / grain * grain, grain, (count - 1) / grain * grain);
}

std::pair<Part, Part> halves(const Part& whole) {
  const auto [first, count] = whole.range;
  const std::uint32_t left = filling(count / 2, count);
  return {{{first, left}, whole.half_area / 2.0F}, {{first + left, count - left}, whole.half_area / 2.0F}};
}

/// Slices across an axis, by the items' middles.
struct Bins {
  static constexpr int kCount = 16;
  int axis = 0;
  float low = 0.0F, scale = 0.0F;
  int of(const PlannedItem& item) const { return static_cast<int>((item.low[axis] + item.high[axis] - low) * scale); }
};

/// Between two bins, what comes before bin `bin` and the rest.
struct Cut {
  float cost = kInfinity, left_area = 0.0F, right_area = 0.0F;
  std::uint32_t left_count = 0;
  int bin = 0;
};

/// Of all cuts that leave something on both sides, the one that costs a search least.
Cut cheapest_cut(const PlannedItem* begin, const PlannedItem* end, const Bins& bins) {
  Bounds4 box[Bins::kCount];
  std::uint32_t count[Bins::kCount] = {};
  for (const PlannedItem* i = begin; i != end; ++i) {
    const int bin = bins.of(*i);
    box[bin].add(i->low, i->high);
    ++count[bin];
  }

  float right_area[Bins::kCount];
  Bounds4 right;
  for (int b = Bins::kCount - 1; b > 0; --b) {
    right.add(box[b].low, box[b].high);
    right_area[b] = right.half_area();
  }
  const auto all = static_cast<std::uint32_t>(end - begin);
  Bounds4 left;
  std::uint32_t left_count = 0;
  Cut best;
  for (int b = 1; b < Bins::kCount; ++b) {
    left.add(box[b - 1].low, box[b - 1].high);
    left_count += count[b - 1];
    if (left_count == 0 || left_count == all) continue;
    const float area = left.half_area();
    const float cost = area * leaves_for(left_count) + right_area[b] * leaves_for(all - left_count);
    if (cost < best.cost) best = {cost, area, right_area[b], left_count, b};
  }
  return best;
}

/// Where the costs are least, of the borders between bins across the longest side.
std::pair<Part, Part> split_in_two(PlannedItem* items, const Part& whole) {
  const DistanceRange& range = whole.range;
  PlannedItem* const begin = items + range.first;
  PlannedItem* const end = begin + range.count;
  Bounds4 middles;  // doubled
  for (const PlannedItem* i = begin; i != end; ++i) middles.add(i->low + i->high, i->low + i->high);
  int axis = 0;
  const float size = (middles.high - middles.low).head<3>().maxCoeff(&axis);
  if (!(size > 0.0F)) return halves(whole);
  const auto cut_at = [&](std::uint32_t left_count) {
    std::nth_element(begin, begin + left_count, end, [&](const PlannedItem& a, const PlannedItem& b) {
      return a.low[axis] + a.high[axis] < b.low[axis] + b.high[axis];
    });
  };
  if (range.count <= kOneNode) {  // no cut of so few is worth the search for a better one
    const auto parts = halves(whole);
    cut_at(parts.first.range.count);
    return parts;
  }

  const Bins bins{axis, middles.low[axis], (static_cast<float>(Bins::kCount) - 0.01F) / size};
  Cut best = cheapest_cut(begin, end, bins);
  if (!(best.cost < kInfinity)) return halves(whole);
  if (range.count <= kFilledBelow) {
    best.left_count = filling(best.left_count, range.count);
    cut_at(best.left_count);
  } else {
    std::partition(begin, end, [&](const PlannedItem& item) { return bins.of(item) < best.bin; });
  }
  return {{{range.first, best.left_count}, best.left_area},
          {{range.first + best.left_count, range.count - best.left_count}, best.right_area}};
}

PlannedBranch split_in_eight(PlannedItem* items, const DistanceRange& range, bool evenly) {
  const std::uint32_t whole_enough = range.count > kOneNode ? kOneNode : kLanes;  // to be a node, or a leaf, and full
  Part parts[kLanes];
  parts[0].range = range;
  int count = 1;
  while (count < kLanes) {
    int largest = -1;
    for (int i = 0; i < count; ++i)
      if (parts[i].range.count > whole_enough && (largest < 0 || parts[i].half_area > parts[largest].half_area))
        largest = i;
    if (largest < 0) break;
    std::tie(parts[largest], parts[count]) = evenly ? halves(parts[largest]) : split_in_two(items, parts[largest]);
    ++count;
  }
  PlannedBranch branch;
  branch.parts = count;
  for (int i = 0; i < count; ++i) branch.part[i] = parts[i].range;
  return branch;
}

struct Subplan {
  std::vector<PlannedBranch> branches;
  std::vector<DistanceRange> leaves;
};

/// Depth first. The search keeps its way in a stack of 64 levels; past 32 the parts are halved by count, whatever their
/// shape.
void grow(PlannedItem* items, const DistanceRange& range, int depth, Subplan& plan) {
  constexpr std::uint32_t kWorthAThread = 8192;
  const std::size_t self = plan.branches.size();
  PlannedBranch branch = split_in_eight(items, range, depth > 32);
  plan.branches.emplace_back();
  Subplan part_plans[kLanes];
  const bool parallel = range.count > kWorthAThread;
  if (parallel)
    for_blocks(static_cast<std::size_t>(branch.parts), 1, [&](std::size_t i, std::size_t) {
      if (branch.part[i].count > kLanes) grow(items, branch.part[i], depth + 1, part_plans[i]);
    });
  for (int i = 0; i < branch.parts; ++i) {
    if (branch.part[i].count <= kLanes) {
      branch.child[i] = kLeafBit | static_cast<std::uint32_t>(plan.leaves.size());
      plan.leaves.push_back(branch.part[i]);
      continue;
    }
    branch.child[i] = static_cast<std::uint32_t>(plan.branches.size());
    if (!parallel) {
      grow(items, branch.part[i], depth + 1, plan);
      continue;
    }
    const auto branch_shift = static_cast<std::uint32_t>(plan.branches.size());
    const auto leaf_shift = static_cast<std::uint32_t>(plan.leaves.size());
    for (PlannedBranch& b : part_plans[i].branches) {
      for (int k = 0; k < b.parts; ++k) b.child[k] += b.child[k] & kLeafBit ? leaf_shift : branch_shift;
      plan.branches.push_back(b);
    }
    plan.leaves.insert(plan.leaves.end(), part_plans[i].leaves.begin(), part_plans[i].leaves.end());
  }
  plan.branches[self] = branch;
}

}  // namespace

HierarchyPlan plan_hierarchy(const Mesh& mesh, const std::vector<Eigen::Vector4f>& corners) {
  constexpr std::size_t kBlock = 4096;
  const std::size_t count = mesh.triangles.size();
  const auto items = std::make_unique_for_overwrite<PlannedItem[]>(count);
  for_blocks(count, kBlock, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      const Triangle& t = mesh.triangles[i];
      const Float4 a = corners[t[0]].array(), b = corners[t[1]].array(), c = corners[t[2]].array();
      items[i].low = a.min(b).min(c);
      items[i].high = a.max(b).max(c);
      items[i].low[3] = std::bit_cast<float>(static_cast<std::uint32_t>(i));
    }
  });
  Subplan whole;
  grow(items.get(), {0, static_cast<std::uint32_t>(count)}, 0, whole);
  HierarchyPlan plan{std::vector<std::uint32_t>(count), std::move(whole.branches), std::move(whole.leaves)};
  for_blocks(count, kBlock, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) plan.triangles[i] = items[i].triangle();
  });
  return plan;
}

}  // namespace lastroom
