#include "geometry/hierarchy.h"

#include <algorithm>
#include <cmath>

#include "geometry/parallel.h"

namespace lastroom {
namespace {

using Float3 = Eigen::Vector3f;

void set_lane(float (&to)[3][kLanes], int lane, const Float3& v) {
  for (int k = 0; k < 3; ++k) to[k][lane] = v[k];
}

/// A lane that no search ever enters.
void set_unused(Frames& frames, int lane) {
  set_lane(frames.origin, lane, {kFarAway, 0.0F, 0.0F});
  set_lane(frames.first, lane, Float3::UnitX());
  set_lane(frames.third, lane, Float3::UnitZ());
}

HierarchyNode make_node(const DistanceBoxes& boxes, const DistanceRange& range) {
  HierarchyNode node{};
  for (std::uint32_t lane = 0; lane < kLanes; ++lane) {
    if (lane >= range.count) {
      set_unused(node.frames, static_cast<int>(lane));
      node.child[lane] = kLeafBit;
      continue;
    }
    const DistanceBox& box = boxes.boxes[range.first + lane];
    for (std::size_t k = 0; k < 3; ++k) {
      node.frames.origin[k][lane] = box.middle[k];
      node.frames.first[k][lane] = box.first[k];
      node.frames.third[k][lane] = box.third[k];
      node.half_size[k][lane] = box.half_size[k];
    }
    node.child[lane] = box.child;
  }
  return node;
}

HierarchyLeaf make_leaf(const Mesh& mesh, const DistanceBoxes& boxes, const DistanceRange& range) {
  HierarchyLeaf leaf{};
  for (int lane = 0; lane < kLanes; ++lane) {
    if (lane >= static_cast<int>(range.count)) {
      set_unused(leaf.frames, lane);
      continue;
    }
    const std::uint32_t triangle = boxes.triangles[range.first + static_cast<std::uint32_t>(lane)];
    const Triangle& t = mesh.triangles[triangle];
    const Vec3 corner[3] = {mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]]};
    const double squared[3] = {(corner[1] - corner[0]).squaredNorm(), (corner[2] - corner[1]).squaredNorm(),
                               (corner[0] - corner[2]).squaredNorm()};
    const int longest =
        squared[0] >= squared[1] ? (squared[0] >= squared[2] ? 0 : 2) : (squared[1] >= squared[2] ? 1 : 2);
    const Vec3& a = corner[longest];
    const Vec3 base = corner[(longest + 1) % 3] - a, side = corner[(longest + 2) % 3] - a;
    const double length = std::sqrt(squared[longest]);
    const Vec3 u = length > 0.0 ? Vec3(base / length) : Vec3::UnitX();
    Vec3 n = base.cross(side);
    const double twice_area = n.norm();
    if (twice_area > 0.0)
      n /= twice_area;
    else
      n = u.unitOrthogonal();  // a line or a point: any plane through it
    set_lane(leaf.frames.origin, lane, (a - boxes.centre_mm).cast<float>());
    set_lane(leaf.frames.first, lane, u.cast<float>());
    set_lane(leaf.frames.third, lane, n.cast<float>());
    leaf.length[lane] = static_cast<float>(length);
    leaf.apex_x[lane] = static_cast<float>(side.dot(u));
    leaf.apex_y[lane] = length > 0.0 ? static_cast<float>(twice_area / length) : 0.0F;
    leaf.triangle[lane] = triangle;
  }
  return leaf;
}

constexpr std::size_t kBlock = 4096;

}  // namespace

Hierarchy build_hierarchy(const Mesh& mesh, const DistanceBoxes& boxes) {
  Hierarchy result;
  result.centre_mm = boxes.centre_mm;
  result.radius_mm = boxes.radius_mm;
  // Not a vector: its memory would be written once more, by one thread.
  result.leaves = std::make_unique_for_overwrite<HierarchyLeaf[]>(boxes.leaves.size());
  for_blocks(boxes.leaves.size(), kBlock / kLanes, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) result.leaves[i] = make_leaf(mesh, boxes, boxes.leaves[i]);
  });
  result.nodes.reserve(boxes.nodes.size());
  for (const DistanceRange& range : boxes.nodes) result.nodes.push_back(make_node(boxes, range));
  return result;
}

}  // namespace lastroom
