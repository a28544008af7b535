#include <doctest/doctest.h>

#include <algorithm>
#include <boost/math/special_functions/ellint_2.hpp>
#include <limits>

#include "geometry/section.h"
#include "geometry_shapes.h"
#include "near.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

double signed_area_mm2(const SectionCurve& curve, const Plane& plane) {
  const auto [u, v] = plane_axes(plane.normal);
  double twice = 0.0;
  for (std::size_t i = 0; i < curve.points_mm.size(); ++i) {
    const Vec3 a = curve.points_mm[i] - plane.point_mm;
    const Vec3 b = curve.points_mm[(i + 1) % curve.points_mm.size()] - plane.point_mm;
    twice += u.dot(a) * v.dot(b) - u.dot(b) * v.dot(a);
  }
  return twice / 2.0;
}

Mesh joined(const Mesh& a, const Mesh& b) {
  Mesh both = a;
  const auto shift = static_cast<std::uint32_t>(a.vertices.size());
  both.vertices.insert(both.vertices.end(), b.vertices.begin(), b.vertices.end());
  for (const Triangle& t : b.triangles) both.triangles.push_back({t[0] + shift, t[1] + shift, t[2] + shift});
  return both;
}

Mesh shifted(Mesh mesh, const Vec3& by) {
  for (Vec3& v : mesh.vertices) v += by;
  return mesh;
}

}  // namespace

TEST_CASE("axes of a plane are unit, at right angles, and turn the right way") {
  std::mt19937 engine(7);
  for (int i = 0; i < 100; ++i) {
    const Vec3 n =
        i < 3 ? Vec3(Vec3::Unit(i)) : uniform_in(engine, Vec3::Constant(-1.0), Vec3::Constant(1.0)).normalized();
    const auto [u, v] = plane_axes(n);
    CHECK((u.cross(v) - n).norm() < 1e-14);
    CHECK(u.norm() == WithinMm{1.0, 1e-14});
    CHECK(v.norm() == WithinMm{1.0, 1e-14});
  }
}

TEST_CASE("the girth of an ellipsoid is the complete elliptic integral") {
  const Vec3 half_axes(60.0, 35.0, 25.0);
  const Mesh unit = geodesic_ball(40);
  const double held = held_radius(unit);       // so the mesh lies between the ellipsoid and `held` times the ellipsoid,
  const Mesh mesh = ellipsoid(half_axes, 40);  // and with convex shapes lengths are ordered as the shapes are
  for (int axis = 0; axis < 3; ++axis) {
    CAPTURE(axis);
    const Plane plane{Vec3::Zero(), Vec3::Unit(axis)};
    const std::vector<SectionCurve> curves = section(mesh, plane);
    REQUIRE(curves.size() == 1);
    CHECK(curves[0].closed);
    const double a = std::max(half_axes[(axis + 1) % 3], half_axes[(axis + 2) % 3]);
    const double b = std::min(half_axes[(axis + 1) % 3], half_axes[(axis + 2) % 3]);
    const double girth = 4.0 * a * boost::math::ellint_2(std::sqrt(1.0 - b * b / (a * a)));
    const double rounding_mm = 1e-9;
    CHECK(girth_mm(curves, plane) <= girth + rounding_mm);
    CHECK(girth_mm(curves, plane) >= held * girth - rounding_mm);
    CHECK(girth * (1.0 - held) < 0.3);  // the check above is worth something: three tenths of a millimetre
  }
}

TEST_CASE("a cut of a ball is a circle of the right area, counter-clockwise, at any height and slant") {
  const double radius = 50.0;
  const Mesh unit = geodesic_ball(30);
  const double held = held_radius(unit);
  const Mesh ball = ellipsoid(Vec3::Constant(radius), 30);
  std::mt19937 engine(3);
  for (int i = 0; i < 20; ++i) {
    const Vec3 normal = uniform_in(engine, Vec3::Constant(-1.0), Vec3::Constant(1.0)).normalized();
    const double height = (uniform(engine) - 0.5) * 1.6 * radius;
    const Plane plane{height * normal, normal};
    const std::vector<SectionCurve> curves = section(ball, plane);
    REQUIRE(curves.size() == 1);
    CHECK(curves[0].closed);
    const double area = signed_area_mm2(curves[0], plane);
    CHECK(area <= std::numbers::pi * (radius * radius - height * height) + 1e-6);
    CHECK(area >= std::numbers::pi * (held * radius * held * radius - height * height) - 1e-6);
    for (const Vec3& p : curves[0].points_mm) CHECK(normal.dot(p) == WithinMm{height, 1e-12 * radius});
  }
}

TEST_CASE("a hollow runs clockwise, and the longest curve comes first") {
  Mesh hollow = box_mesh({2.0, 2.0, 2.0});
  for (Triangle& t : hollow.triangles) std::swap(t[1], t[2]);
  const Plane plane{{0.0, 0.0, 0.1}, Vec3::UnitZ()};
  const std::vector<SectionCurve> curves = section(joined(hollow, box_mesh({10.0, 10.0, 10.0})), plane);
  REQUIRE(curves.size() == 2);
  CHECK(signed_area_mm2(curves[0], plane) == WithinMm{100.0, 1e-12});
  CHECK(signed_area_mm2(curves[1], plane) == WithinMm{-4.0, 1e-12});
}

TEST_CASE("a tape bridges what is hollow or apart") {
  const Mesh two = joined(box_mesh({10.0, 10.0, 10.0}), shifted(box_mesh({10.0, 10.0, 10.0}), {30.0, 0.0, 0.0}));
  const Plane plane{Vec3::Zero(), Vec3::UnitZ()};
  const std::vector<SectionCurve> curves = section(two, plane);
  CHECK(curves.size() == 2);
  CHECK(girth_mm(curves, plane) == WithinMm{2.0 * (40.0 + 10.0), 1e-12});
  const std::vector<Vec3> loop = tape_loop(curves, plane);
  REQUIRE(loop.size() == 4);
  double length = 0.0;
  for (std::size_t i = 0; i < 4; ++i) length += (loop[(i + 1) % 4] - loop[i]).norm();
  CHECK(length == WithinMm{100.0, 1e-12});
}

TEST_CASE("a plane through vertices, along faces or past the mesh") {
  Mesh octahedron;
  octahedron.vertices = {{1, 0, 0}, {0, 1, 0}, {-1, 0, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}};
  octahedron.triangles = {{0, 1, 4}, {1, 2, 4}, {2, 3, 4}, {3, 0, 4}, {1, 0, 5}, {2, 1, 5}, {3, 2, 5}, {0, 3, 5}};
  const auto cut = [&](double z) { return section(octahedron, {{0.0, 0.0, z}, Vec3::UnitZ()}); };
  REQUIRE(cut(0.0).size() == 1);
  CHECK(cut(0.0)[0].points_mm.size() == 4);  // exactly the four corners, none twice
  CHECK(cut(0.0)[0].closed);
  CHECK(cut(1.0).empty());
  CHECK(cut(-1.0).empty());
  CHECK(cut(2.0).empty());
  const std::vector<SectionCurve> lid = section(box_mesh({2.0, 2.0, 2.0}), {{0.0, 0.0, 1.0}, Vec3::UnitZ()});
  REQUIRE(lid.size() == 1);
  CHECK(girth_mm(lid, {Vec3::Zero(), Vec3::UnitZ()}) == WithinMm{8.0, 1e-12});
  CHECK(section(Mesh{}, Plane{}).empty());
  CHECK(girth_mm({}, Plane{}) == 0.0);
}

TEST_CASE("an open surface gives an open curve from rim to rim") {
  const Mesh last = below(last_like(30), 40.0);
  const Plane plane{{-30.0, 0.0, 0.0}, Vec3::UnitX()};
  const std::vector<SectionCurve> curves = section(last, plane);
  REQUIRE(curves.size() == 1);
  CHECK_FALSE(curves[0].closed);
  CHECK(curves[0].points_mm.front().z() > 30.0);
  CHECK(curves[0].points_mm.back().z() > 30.0);
  CHECK(curves[0].points_mm.front().y() * curves[0].points_mm.back().y() < 0.0);
  // Seen against +x (y to the right, z up) the inside is on the left: down on the left side, up on the right.
  CHECK(curves[0].points_mm.front().y() < curves[0].points_mm.back().y());
}

TEST_CASE("the hull of points: known corners, nothing outside, every corner a left turn") {
  CHECK(convex_hull({}).empty());
  CHECK(convex_hull({{1, 1}, {1, 1}}).size() == 1);
  CHECK(convex_hull({{0, 0}, {1, 1}, {2, 2}, {3, 3}}).size() == 2);
  const std::vector<Vec2> square =
      convex_hull({{0, 0}, {1, 0}, {2, 0}, {2, 2}, {1, 2}, {0, 2}, {0, 1}, {1, 1}, {2, 1}});
  CHECK(square == std::vector<Vec2>{{0, 0}, {2, 0}, {2, 2}, {0, 2}});

  std::mt19937 engine(11);
  std::vector<Vec2> points;
  for (int i = 0; i < 500; ++i) points.emplace_back(uniform(engine), uniform(engine) * uniform(engine));
  const std::vector<Vec2> hull = convex_hull(points);
  const auto left_of = [](const Vec2& a, const Vec2& b, const Vec2& p) {
    return (b - a).x() * (p - a).y() - (b - a).y() * (p - a).x();
  };
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const Vec2 &a = hull[i], &b = hull[(i + 1) % hull.size()];
    CHECK(left_of(a, b, hull[(i + 2) % hull.size()]) > 0.0);
    for (const Vec2& p : points) CHECK(left_of(a, b, p) >= -1e-15);
    CHECK(std::find(points.begin(), points.end(), a) != points.end());
  }
}

TEST_CASE("a polygon's area is the shoelace formula's") {
  // A right-angled triangle of 3 and 4 and a square of 2, by Euclid I.41.
  CHECK(polygon_area({{0, 0}, {4, 0}, {0, 3}}) == doctest::Approx(6.0));
  CHECK(polygon_area({{1, 1}, {3, 1}, {3, 3}, {1, 3}}) == doctest::Approx(4.0));
  CHECK(polygon_area({}) == 0.0);
}
