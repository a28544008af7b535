#include "geometry/hierarchy_plan.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <limits>

#include "geometry/parallel.h"

namespace lastroom {
namespace {

using Float4 = Eigen::Array4f;
constexpr float kInfinity = std::numeric_limits<float>::infinity();

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
  PlannedRange range;
  float half_area = kInfinity;
};

constexpr int kBins = 16;
struct Bins {
  Bounds4 box[3][kBins];
  std::uint32_t count[3][kBins] = {};
};

float leaves_for(std::uint32_t count) { return static_cast<float>((count + kLanes - 1) / kLanes); }

/// Twice the middle of an item's box.
Float4 middle2(const PlannedItem& item) { return item.low + item.high; }

std::pair<Part, Part> halves(std::vector<PlannedItem>& items, const PlannedRange& range, std::uint32_t left,
                             float left_area, float right_area) {
  (void)items;
  return {Part{{range.first, left}, left_area}, Part{{range.first + left, range.count - left}, right_area}};
}

std::pair<Part, Part> split_in_two(std::vector<PlannedItem>& items, const Part& whole, bool evenly) {
  const PlannedRange& range = whole.range;
  PlannedItem* const begin = items.data() + range.first;
  PlannedItem* const end = begin + range.count;
  Bounds4 middles;
  for (const PlannedItem* i = begin; i != end; ++i) middles.add(middle2(*i), middle2(*i));
  const Float4 size = middles.high - middles.low;
  if (evenly || !(size.head<3>().maxCoeff() > 0.0F))
    return halves(items, range, range.count / 2, whole.half_area, whole.half_area);

  Float4 scale = Float4::Zero();
  for (int k = 0; k < 3; ++k)
    if (size[k] > 0.0F) scale[k] = (kBins - 0.01F) / size[k];
  const auto bin_of = [&](const PlannedItem& item) -> Eigen::Array4i {
    return ((middle2(item) - middles.low) * scale).cast<int>();
  };
  Bins bins;
  for (const PlannedItem* i = begin; i != end; ++i) {
    const Eigen::Array4i bin = bin_of(*i);
    for (int k = 0; k < 3; ++k) {
      bins.box[k][bin[k]].add(i->low, i->high);
      ++bins.count[k][bin[k]];
    }
  }

  struct Cut {
    float cost = kInfinity, left_area = 0.0F, right_area = 0.0F;
    int axis = 0, bin = 0;
    std::uint32_t left = 0;
  } best;
  for (int k = 0; k < 3; ++k) {
    if (!(size[k] > 0.0F)) continue;
    float right_area[kBins];
    Bounds4 right;
    for (int b = kBins - 1; b > 0; --b) {
      right.add(bins.box[k][b].low, bins.box[k][b].high);
      right_area[b] = right.half_area();
    }
    Bounds4 left;
    std::uint32_t count = 0;
    for (int b = 1; b < kBins; ++b) {
      left.add(bins.box[k][b - 1].low, bins.box[k][b - 1].high);
      count += bins.count[k][b - 1];
      if (count == 0 || count == range.count) continue;
      const float left_area = left.half_area();
      const float cost = left_area * leaves_for(count) + right_area[b] * leaves_for(range.count - count);
      if (cost < best.cost) best = {cost, left_area, right_area[b], k, b, count};
    }
  }
  if (!(best.cost < kInfinity)) return halves(items, range, range.count / 2, whole.half_area, whole.half_area);
  const float low = middles.low[best.axis], factor = scale[best.axis];
  std::partition(begin, end, [&](const PlannedItem& item) {
    return static_cast<int>((item.low[best.axis] + item.high[best.axis] - low) * factor) < best.bin;
  });
  return halves(items, range, best.left, best.left_area, best.right_area);
}

PlannedBranch split_in_eight(std::vector<PlannedItem>& items, const PlannedRange& range, bool evenly) {
  Part parts[kLanes];
  parts[0].range = range;
  int count = 1;
  while (count < kLanes) {
    int largest = -1;
    for (int i = 0; i < count; ++i)
      if (parts[i].range.count > kLanes && (largest < 0 || parts[i].half_area > parts[largest].half_area)) largest = i;
    if (largest < 0) break;
    std::tie(parts[largest], parts[count]) = split_in_two(items, parts[largest], evenly);
    ++count;
  }
  PlannedBranch branch;
  branch.parts = count;
  for (int i = 0; i < count; ++i) branch.part[i] = parts[i].range;
  return branch;
}

struct Subplan {
  std::vector<PlannedBranch> branches;
  std::vector<PlannedRange> leaves;
};

/// Depth first. The search keeps its way in a stack of 64 levels; past 32 the parts are halved by count, whatever their
/// shape.
void grow(std::vector<PlannedItem>& items, const PlannedRange& range, int depth, Subplan& plan) {
  constexpr std::uint32_t kWorthAThread = 8192;
  const std::size_t self = plan.branches.size();
  PlannedBranch branch = split_in_eight(items, range, depth > 32);
  plan.branches.emplace_back();
  Subplan part_plans[kLanes];
  const bool parallel = range.count > kWorthAThread;
  if (parallel)
    tbb::parallel_for(0, branch.parts, [&](int i) {
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
  HierarchyPlan plan;
  plan.items.resize(mesh.triangles.size());
  for_blocks(plan.items.size(), 4096, [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) {
      const Triangle& t = mesh.triangles[i];
      const Float4 a = corners[t[0]].array(), b = corners[t[1]].array(), c = corners[t[2]].array();
      plan.items[i].low = a.min(b).min(c);
      plan.items[i].high = a.max(b).max(c);
      plan.items[i].number = static_cast<std::uint32_t>(i);
    }
  });
  Subplan whole;
  grow(plan.items, {0, static_cast<std::uint32_t>(plan.items.size())}, 0, whole);
  plan.branches = std::move(whole.branches);
  plan.leaves = std::move(whole.leaves);
  return plan;
}

}  // namespace lastroom
