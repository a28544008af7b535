#include "last_wall.h"

#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/AABB_triangle_primitive.h>
#include <CGAL/Simple_cartesian.h>

#include <algorithm>
#include <cmath>
#include <map>

namespace lastroom::test {
namespace {

using Kernel = CGAL::Simple_cartesian<double>;
using Faces = std::vector<Kernel::Triangle_3>;
using Primitive = CGAL::AABB_triangle_primitive<Kernel, Faces::const_iterator>;
using AabbTree = CGAL::AABB_tree<CGAL::AABB_traits<Kernel, Primitive>>;
using Edge = std::pair<std::uint32_t, std::uint32_t>;

Edge edge_of(std::uint32_t a, std::uint32_t b) { return {std::min(a, b), std::max(a, b)}; }
Kernel::Point_3 point_of(const Vec3& p) { return {p.x(), p.y(), p.z()}; }

struct Side {
  Vec3 normal = Vec3::Zero();
  int faces = 0;
  bool cut = false;
};

}  // namespace

struct LastWall::Tree {
  Mesh mesh;
  std::vector<std::uint8_t> cut;
  Faces faces;
  std::vector<std::uint32_t> triangle;  ///< of each face
  std::vector<Vec3> face_normal, corner_normal;
  std::vector<std::uint8_t> corner_cut;
  std::vector<Vec3> cut_corners;
  std::map<Edge, Side> edges;
  AabbTree tree;
  double top_mm = -1e9;
};

LastWall::LastWall(Mesh last, std::vector<std::uint8_t> cut) {
  auto made = std::make_unique<Tree>();
  Tree& t = *made;
  t.mesh = std::move(last);
  t.cut = std::move(cut);
  t.cut.resize(t.mesh.triangles.size(), 0);
  t.corner_normal = vertex_normals(t.mesh);
  t.corner_cut.assign(t.mesh.vertices.size(), 0);
  for (std::uint32_t i = 0; i < t.mesh.triangles.size(); ++i) {
    const Triangle& corners = t.mesh.triangles[i];
    const Vec3 &a = t.mesh.vertices[corners[0]], &b = t.mesh.vertices[corners[1]], &c = t.mesh.vertices[corners[2]];
    const Vec3 across = (b - a).cross(c - a);
    if (across.norm() < 1e-9) continue;
    t.faces.emplace_back(point_of(a), point_of(b), point_of(c));
    t.triangle.push_back(i);
    t.face_normal.push_back(across.normalized());
    for (std::size_t k = 0; k < 3; ++k) {
      Side& side = t.edges[edge_of(corners[k], corners[(k + 1) % 3])];
      side.normal += t.face_normal.back();
      ++side.faces;
      side.cut = side.cut || t.cut[i] != 0;
      if (t.cut[i] != 0) t.corner_cut[corners[k]] = 1;
      t.top_mm = std::max(t.top_mm, t.mesh.vertices[corners[k]].z());
    }
  }
  for (auto& [ends, side] : t.edges) {
    side.normal.normalize();
    side.cut = side.cut || side.faces < 2;
    if (side.faces < 2) t.corner_cut[ends.first] = t.corner_cut[ends.second] = 1;
  }
  for (std::size_t i = 0; i < t.corner_cut.size(); ++i)
    if (t.corner_cut[i] != 0) t.cut_corners.push_back(t.mesh.vertices[i]);
  t.tree.insert(t.faces.cbegin(), t.faces.cend());
  t.tree.build();
  t.tree.accelerate_distance_queries();
  tree_ = std::move(made);
}
LastWall::~LastWall() = default;
LastWall::LastWall(LastWall&&) noexcept = default;
LastWall& LastWall::operator=(LastWall&&) noexcept = default;
const Mesh& LastWall::mesh() const { return tree_->mesh; }
const std::vector<std::uint8_t>& LastWall::cut() const { return tree_->cut; }
double LastWall::top_mm() const { return tree_->top_mm; }

double LastWall::to_cut_mm(const Vec3& on_wall) const {
  double nearest = 1e6;
  for (const Vec3& corner : tree_->cut_corners) nearest = std::min(nearest, (corner - on_wall).norm());
  return nearest;
}

LastWall::Nearest LastWall::at(const Vec3& p) const {
  const auto [on, face] = tree_->tree.closest_point_and_primitive(point_of(p));
  return described(p, Vec3(on.x(), on.y(), on.z()), static_cast<std::size_t>(face - tree_->faces.cbegin()));
}

LastWall::Nearest LastWall::at(const Vec3& p, const Nearest& near) const {
  const AabbTree::Point_and_primitive_id hint(point_of(near.point_mm),
                                              tree_->faces.cbegin() + static_cast<std::ptrdiff_t>(near.face));
  const auto [on, face] = tree_->tree.closest_point_and_primitive(point_of(p), hint);
  return described(p, Vec3(on.x(), on.y(), on.z()), static_cast<std::size_t>(face - tree_->faces.cbegin()));
}

LastWall::Nearest LastWall::described(const Vec3& p, const Vec3& on, std::size_t place) const {
  const Tree& t = *tree_;
  const Triangle& corners = t.mesh.triangles[t.triangle[place]];
  Nearest nearest;
  nearest.point_mm = on;
  nearest.face = static_cast<std::uint32_t>(place);
  const Vec3 &a = t.mesh.vertices[corners[0]], &b = t.mesh.vertices[corners[1]], &c = t.mesh.vertices[corners[2]];
  const double whole = (b - a).cross(c - a).norm();
  const auto weight = [&](const Vec3& from, const Vec3& to) {  // barycentric, of the corner opposite
    return (to - from).cross(nearest.point_mm - from).norm() / whole;
  };
  const std::array<double, 3> share = {weight(b, c), weight(c, a), weight(a, b)};
  constexpr double kOn = 1e-7;
  nearest.normal = t.face_normal[place];
  nearest.on_cut = t.cut[t.triangle[place]] != 0;
  for (std::size_t k = 0; k < 3; ++k) {
    const std::size_t next = (k + 1) % 3, opposite = (k + 2) % 3;
    if (share[k] > 1.0 - kOn) {
      nearest.normal = t.corner_normal[corners[k]];
      nearest.on_cut = t.corner_cut[corners[k]] != 0;
      break;
    }
    if (share[opposite] < kOn && share[k] > kOn && share[next] > kOn) {
      const Side& side = t.edges.at(edge_of(corners[k], corners[next]));
      nearest.normal = side.normal;
      nearest.on_cut = side.cut;
    }
  }
  const Vec3 away = p - nearest.point_mm;
  const double distance = away.norm(), sign = away.dot(nearest.normal) < 0.0 ? -1.0 : 1.0;
  nearest.outside_mm = sign * distance;
  if (distance > 1e-6) nearest.normal = sign / distance * away;
  return nearest;
}

std::optional<double> LastWall::reach_mm(const Vec3& from, const Vec3& direction) const {
  const Kernel::Ray_3 ray(point_of(from), Kernel::Direction_3(direction.x(), direction.y(), direction.z()));
  const auto hit = tree_->tree.first_intersection(ray);
  if (!hit) return std::nullopt;
  const auto* on = boost::get<Kernel::Point_3>(&hit->first);
  if (!on) return std::nullopt;
  return (Vec3(on->x(), on->y(), on->z()) - from).norm();
}

}  // namespace lastroom::test
