#include <CGAL/AABB_face_graph_triangle_primitive.h>
#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Side_of_triangle_mesh.h>
#include <CGAL/Surface_mesh.h>
#include <doctest/doctest.h>

#include "geometry/signed_distance.h"
#include "geometry_shapes.h"
#include "near.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using CgalMesh = CGAL::Surface_mesh<Kernel::Point_3>;
using CgalTree = CGAL::AABB_tree<CGAL::AABB_traits<Kernel, CGAL::AABB_face_graph_triangle_primitive<CgalMesh>>>;

CgalMesh for_cgal(const Mesh& mesh) {
  CgalMesh result;
  for (const Vec3& v : mesh.vertices) result.add_vertex({v.x(), v.y(), v.z()});
  for (const Triangle& t : mesh.triangles)
    result.add_face(CgalMesh::Vertex_index(t[0]), CgalMesh::Vertex_index(t[1]), CgalMesh::Vertex_index(t[2]));
  return result;
}

/// As for a closed box around the origin (Quilez, "Distance functions": the box), in double.
double box_distance_mm(const Vec3& size, const Vec3& p) {
  const Vec3 out = p.cwiseAbs() - size / 2.0;
  return out.cwiseMax(0.0).norm() + std::min(out.maxCoeff(), 0.0);
}

}  // namespace

TEST_CASE("distance to a box is the formula, inside, outside, off edges and corners") {
  const Vec3 size(30.0, 40.0, 50.0);
  const SignedDistance distance(box_mesh(size));
  std::mt19937 engine(1);
  for (int i = 0; i < 5000; ++i) {
    const Vec3 p = uniform_in(engine, -size, size);
    const SurfacePoint found = distance.at(p);
    CHECK(found.distance_mm == WithinMm{box_distance_mm(size, p), 1e-12});  // 50 mm * 2^-52 * a dozen operations
    CHECK(std::abs(found.distance_mm) == WithinMm{(p - found.point_mm).norm(), 1e-12});
    CHECK(found.normal.norm() == WithinMm{1.0, 1e-12});
    CHECK_FALSE(found.on_rim);
  }
  CHECK(distance.at(Vec3(15.0, 0.0, 0.0)).distance_mm == 0.0);
  CHECK(distance.at(Vec3(0.0, 0.0, 1e6)).distance_mm == WithinMm{1e6 - 25.0, 1e-9});
  CHECK(distance.at(Vec3(0.0, 0.0, -1e20)).distance_mm == WithinMm{1e20, 1e5});  // beyond float: 2^-52 of it
}

TEST_CASE("distance to a ball is that to its centre less its radius, up to the facets' sag") {
  const double radius = 50.0;
  const Mesh ball = ellipsoid(Vec3::Constant(radius), 40);
  const double sag_mm = radius * (1.0 - held_radius(geodesic_ball(40))) + 1e-9;
  CHECK(sag_mm < 0.02);  // so the checks below say something
  const SignedDistance distance(ball);
  std::mt19937 engine(2);
  for (int i = 0; i < 5000; ++i) {
    const Vec3 p = uniform_in(engine, Vec3::Constant(-80.0), Vec3::Constant(80.0));
    const double difference_mm = distance.at(p).distance_mm - (p.norm() - radius);
    CHECK(difference_mm >= -1e-9);  // facets lie inside the ball
    CHECK(difference_mm <= sag_mm);
  }
  CHECK(distance.at(Vec3::Zero()).distance_mm == WithinMm{-radius, sag_mm});  // all facets tie here
}

TEST_CASE("distance and side are CGAL's on a closed last-like body, near and far") {
  const Mesh mesh = last_like(50);
  std::vector<Vec3> points = near_points(last_like(25));
  std::mt19937 engine(4);
  for (int i = 0; i < 4000; ++i) points.push_back(uniform_in(engine, {-400.0, -300.0, -300.0}, {400.0, 300.0, 300.0}));
  for (int i = 0; i < 4000; ++i) points.push_back(uniform_in(engine, {-140.0, -50.0, -25.0}, {140.0, 60.0, 60.0}));
  const std::vector<SurfacePoint> found = SignedDistance(mesh).at(points);

  const CgalMesh cgal_mesh = for_cgal(mesh);
  REQUIRE(CGAL::is_closed(cgal_mesh));
  CgalTree tree(faces(cgal_mesh).first, faces(cgal_mesh).second, cgal_mesh);
  tree.accelerate_distance_queries();
  const CGAL::Side_of_triangle_mesh<CgalMesh, Kernel> side(tree);
  double worst_mm = 0.0;
  int sides_differ = 0, inside = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Kernel::Point_3 p(points[i].x(), points[i].y(), points[i].z());
    worst_mm = std::max(worst_mm, std::abs(std::abs(found[i].distance_mm) - std::sqrt(tree.squared_distance(p))));
    const bool is_inside = side(p) == CGAL::ON_BOUNDED_SIDE;
    inside += is_inside;
    sides_differ += is_inside != (found[i].distance_mm < 0.0);
  }
  CHECK(worst_mm < 1e-9);  // both in double: 400 mm * 2^-52 * squares and roots of them
  CHECK(sides_differ == 0);
  CHECK(inside > 5000);
  CHECK(points.size() - static_cast<std::size_t>(inside) > 3000);
}

TEST_CASE("an open last: right sides well below the rim, and the rim is told") {
  const Mesh closed = last_like(60);
  const double cut_mm = 45.0;
  const Mesh open = below(closed, cut_mm);
  const std::vector<Vec3> points = near_points(last_like(40));
  const std::vector<SurfacePoint> truth = SignedDistance(closed).at(points), found = SignedDistance(open).at(points);
  int judged = 0, rim = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (points[i].z() < cut_mm - 20.0) {
      ++judged;
      CHECK((found[i].distance_mm < 0.0) == (truth[i].distance_mm < 0.0));
      if (truth[i].point_mm.z() < cut_mm - 10.0) CHECK_FALSE(found[i].on_rim);
    }
    if (found[i].on_rim) {
      ++rim;
      CHECK(found[i].point_mm.z() > cut_mm - 5.0);  // the rim's teeth are one triangle high
    }
    if (points[i].z() > cut_mm + 5.0) CHECK(found[i].on_rim);
  }
  CHECK(judged > 5000);
  CHECK(rim > 500);
}
