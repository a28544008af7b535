#include "geometry/distance_boxes.h"

#include <cmath>

#include "geometry/hierarchy_plan.h"
#include "geometry/parallel.h"

namespace lastroom {
namespace {

using Float3 = Eigen::Vector3f;
using Float4 = Eigen::Vector4f;

struct OrientedBox {
  Float3 centre = Float3::Zero(), first = Float3::UnitX(), third = Float3::UnitZ(), half_size = Float3::Zero();
};

OrientedBox upright_box(const Mesh& mesh, const std::vector<Eigen::Vector4f>& corners, const HierarchyPlan& plan,
                        const DistanceRange& range) {
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
                              const DistanceRange& range) {
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

OrientedBox box_of(const Mesh& mesh, const std::vector<Eigen::Vector4f>& corners, const HierarchyPlan& plan,
                   const DistanceRange& range) {
  // Larger pieces are curved all round: a box along them gains nothing.
  constexpr std::uint32_t kSurfacePiece = 2048;
  return range.count <= kSurfacePiece ? box_along_surface(mesh, corners, plan, range)
                                      : upright_box(mesh, corners, plan, range);
}

DistanceBox kept(const OrientedBox& box, std::uint32_t child) {
  const auto numbers = [](const Float3& v) { return std::array{v.x(), v.y(), v.z()}; };
  return {numbers(box.centre), numbers(box.first), numbers(box.third), numbers(box.half_size), child};
}

bool is_within(const DistanceRange& range, std::size_t count) {
  return range.first <= count && range.count <= count - range.first;
}

}  // namespace

DistanceBoxes distance_boxes(const Mesh& mesh) {
  DistanceBoxes result;
  const Box box = bounds(mesh);
  result.centre_mm = (box.low + box.high) / 2.0;
  result.radius_mm = box.size().norm() / 2.0;

  std::vector<Eigen::Vector4f> corners(mesh.vertices.size());
  constexpr std::size_t kBlock = 4096;
  for_blocks(corners.size(), kBlock, [&](std::size_t begin, std::size_t end) {
    for (std::size_t v = begin; v < end; ++v) corners[v] << (mesh.vertices[v] - result.centre_mm).cast<float>(), 0.0F;
  });
  HierarchyPlan plan = plan_hierarchy(mesh, corners);
  for (const PlannedBranch& branch : plan.branches) {
    const auto first = result.nodes.empty() ? 0 : result.nodes.back().first + result.nodes.back().count;
    result.nodes.push_back({first, static_cast<std::uint32_t>(branch.parts)});
  }
  result.boxes.resize(result.nodes.back().first + result.nodes.back().count);
  for_blocks(plan.branches.size(), 64, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      const PlannedBranch& branch = plan.branches[i];
      for (int part = 0; part < branch.parts; ++part)
        result.boxes[result.nodes[i].first + static_cast<std::uint32_t>(part)] =
            kept(box_of(mesh, corners, plan, branch.part[part]), branch.child[part]);
    }
  });
  result.leaves = std::move(plan.leaves);
  result.triangles = std::move(plan.triangles);
  return result;
}

bool is_usable(const DistanceBoxes& boxes, std::size_t triangle_count) {
  for (const DistanceRange& leaf : boxes.leaves)
    if (leaf.count > kLanes || !is_within(leaf, boxes.triangles.size())) return false;
  for (const std::uint32_t triangle : boxes.triangles)
    if (triangle >= triangle_count) return false;
  std::vector<int> level(boxes.nodes.size(), 0);  // of a node that has a parent: at least one
  for (std::size_t i = 0; i < boxes.nodes.size(); ++i) {
    if (level[i] >= kMostLevels) return false;
    const DistanceRange& node = boxes.nodes[i];
    if (node.count > kLanes || !is_within(node, boxes.boxes.size())) return false;
    for (std::uint32_t k = node.first; k < node.first + node.count; ++k) {
      const std::uint32_t child = boxes.boxes[k].child;
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

}  // namespace lastroom
