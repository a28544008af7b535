#include "geometry/hierarchy.h"

#include <algorithm>
#include <cmath>

#include "geometry/hierarchy_plan.h"
#include "geometry/parallel.h"

namespace lastroom {
namespace {

using Float3 = Eigen::Vector3f;
using Float4 = Eigen::Vector4f;

void set_lane(float (&to)[3][kLanes], int lane, const Float3& v) {
  for (int k = 0; k < 3; ++k) to[k][lane] = v[k];
}

/// A lane that no search ever enters.
void set_unused(Frames& frames, int lane) {
  set_lane(frames.origin, lane, {kFarAway, 0.0F, 0.0F});
  set_lane(frames.first, lane, Float3::UnitX());
  set_lane(frames.third, lane, Float3::UnitZ());
}

HierarchyLeaf make_leaf(const Mesh& mesh, const HierarchyBoxes& boxes, const HierarchyRange& range) {
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

struct OrientedBox {
  Float3 centre = Float3::Zero(), first = Float3::UnitX(), third = Float3::UnitZ(), half_size = Float3::Zero();
};

OrientedBox upright_box(const Mesh& mesh, const std::vector<Eigen::Vector4f>& corners, const HierarchyPlan& plan,
                        const HierarchyRange& range) {
  Eigen::Array4f low = Eigen::Array4f::Constant(kFarAway), high = -low;
  for (std::uint32_t i = range.first; i < range.first + range.count; ++i)
    for (const std::uint32_t corner : mesh.triangles[plan.triangles[i]]) {
      low = low.min(corners[corner].array());
      high = high.max(corners[corner].array());
    }
  OrientedBox box;
  box.centre = ((low + high) / 2.0F).head<3>();
  box.half_size = (high.head<3>() - box.centre.array()).max(box.centre.array() - low.head<3>()).matrix();
  return box;
}

/// A box along a piece of surface: third axis along its mean normal, first along its longest spread in that plane.
OrientedBox box_along_surface(const Mesh& mesh, const std::vector<Eigen::Vector4f>& corners, const HierarchyPlan& plan,
                              const HierarchyRange& range) {
  // Four lanes at a time; the fourth of every corner is zero.
  const Float4 near = corners[mesh.triangles[plan.triangles[range.first]][0]];
  Float4 area_vector = Float4::Zero(), sum = Float4::Zero(), squares[3] = {sum, sum, sum};
  for (std::uint32_t i = range.first; i < range.first + range.count; ++i) {
    const Triangle& t = mesh.triangles[plan.triangles[i]];
    const Float4 a = corners[t[0]] - near, b = corners[t[1]] - near, c = corners[t[2]] - near;
    area_vector += (b - a).cross3(c - a);
    const Float4 middle = a + b + c;
    sum += middle;
    for (int k = 0; k < 3; ++k) squares[k] += middle[k] * middle;
  }
  const Float3 normal = area_vector.head<3>();
  if (!(normal.squaredNorm() > 0.0F)) return upright_box(mesh, corners, plan, range);
  OrientedBox box;
  box.third = normal.normalized();
  const Float3 u = box.third.unitOrthogonal(), v = box.third.cross(u);
  Eigen::Matrix3f spread;
  for (int k = 0; k < 3; ++k) spread.col(k) = (squares[k] - sum[k] / static_cast<float>(range.count) * sum).head<3>();
  const float uu = u.dot(spread * u), vv = v.dot(spread * v), uv = u.dot(spread * v);
  const float angle = 0.5F * std::atan2(2.0F * uv, uu - vv);
  box.first = (std::cos(angle) * u + std::sin(angle) * v).normalized();
  const Float3 second = box.third.cross(box.first);

  Eigen::Matrix3f to_box;
  to_box << box.first.transpose(), second.transpose(), box.third.transpose();
  Float4 column[3];
  for (int k = 0; k < 3; ++k) column[k] << to_box.col(k), 0.0F;
  Float4 low = Float4::Constant(kFarAway), high = -low;
  for (std::uint32_t i = range.first; i < range.first + range.count; ++i)
    for (const std::uint32_t corner : mesh.triangles[plan.triangles[i]]) {
      const Float4 d = corners[corner] - near;
      const Float4 local = d[0] * column[0] + d[1] * column[1] + d[2] * column[2];
      low = low.cwiseMin(local);
      high = high.cwiseMax(local);
    }
  box.centre = near.head<3>() + to_box.transpose() * ((low + high) / 2.0F).head<3>();
  box.half_size = ((high - low) / 2.0F).head<3>();
  return box;
}

constexpr std::size_t kBlock = 4096;

}  // namespace

HierarchyBoxes hierarchy_boxes(const Mesh& mesh) {
  HierarchyBoxes result;
  const Box box = bounds(mesh);
  result.centre_mm = (box.low + box.high) / 2.0;
  result.radius_mm = box.size().norm() / 2.0;

  std::vector<Eigen::Vector4f> corners(mesh.vertices.size());
  for_blocks(corners.size(), kBlock, [&](std::size_t begin, std::size_t end) {
    for (std::size_t v = begin; v < end; ++v) corners[v] << (mesh.vertices[v] - result.centre_mm).cast<float>(), 0.0F;
  });
  HierarchyPlan plan = plan_hierarchy(mesh, corners);
  result.nodes.resize(plan.branches.size());
  for_blocks(plan.branches.size(), 64, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      HierarchyNode& node = result.nodes[i];
      for (int lane = 0; lane < kLanes; ++lane) {
        const PlannedBranch& branch = plan.branches[i];
        set_unused(node.frames, lane);
        set_lane(node.half_size, lane, Float3::Zero());
        node.child[lane] = kLeafBit;
        if (lane >= branch.parts) continue;
        node.child[lane] = branch.child[lane];
        // Larger pieces are curved all round: a box along them gains nothing.
        constexpr std::uint32_t kSurfacePiece = 2048;
        const OrientedBox part = branch.part[lane].count <= kSurfacePiece
                                     ? box_along_surface(mesh, corners, plan, branch.part[lane])
                                     : upright_box(mesh, corners, plan, branch.part[lane]);
        set_lane(node.frames.origin, lane, part.centre);
        set_lane(node.frames.first, lane, part.first);
        set_lane(node.frames.third, lane, part.third);
        set_lane(node.half_size, lane, part.half_size);
      }
    }
  });
  result.leaves = std::move(plan.leaves);
  result.triangles = std::move(plan.triangles);
  return result;
}

bool is_usable(const HierarchyBoxes& boxes, std::size_t triangle_count) {
  for (const HierarchyRange& leaf : boxes.leaves)
    if (leaf.count > kLanes || leaf.first > boxes.triangles.size() || leaf.count > boxes.triangles.size() - leaf.first)
      return false;
  for (const std::uint32_t triangle : boxes.triangles)
    if (triangle >= triangle_count) return false;
  std::vector<int> level(boxes.nodes.size(), 0);  // of a node that has a parent: at least one
  for (std::size_t i = 0; i < boxes.nodes.size(); ++i) {
    if (level[i] >= kMostLevels) return false;
    for (const std::uint32_t child : boxes.nodes[i].child) {
      if (child & kLeafBit) {
        if ((child & ~kLeafBit) >= boxes.leaves.size()) return false;
      } else {
        if (child <= i || child >= boxes.nodes.size() || level[child] > 0) return false;
        level[child] = level[i] + 1;
      }
    }
  }
  return !boxes.nodes.empty();
}

Hierarchy build_hierarchy(const Mesh& mesh, HierarchyBoxes boxes) {
  Hierarchy result;
  result.centre_mm = boxes.centre_mm;
  result.radius_mm = boxes.radius_mm;
  // Not a vector: its memory would be written once more, by one thread.
  result.leaves = std::make_unique_for_overwrite<HierarchyLeaf[]>(boxes.leaves.size());
  for_blocks(boxes.leaves.size(), kBlock / kLanes, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) result.leaves[i] = make_leaf(mesh, boxes, boxes.leaves[i]);
  });
  result.nodes = std::move(boxes.nodes);
  return result;
}

Hierarchy build_hierarchy(const Mesh& mesh) { return build_hierarchy(mesh, hierarchy_boxes(mesh)); }

}  // namespace lastroom
