#include <doctest/doctest.h>

#include <algorithm>
#include <bit>
#include <numeric>
#include <stdexcept>

#include "geometry/hierarchy.h"
#include "geometry/parallel.h"
#include "geometry/query_order.h"
#include "geometry/signed_distance.h"
#include "geometry/surface_features.h"
#include "geometry_shapes.h"
#include "near.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

bool same_bits(const Vec3& a, const Vec3& b) {
  for (int k = 0; k < 3; ++k)
    if (std::bit_cast<std::uint64_t>(a[k]) != std::bit_cast<std::uint64_t>(b[k])) return false;
  return true;
}

bool same_bits(const SurfacePoint& a, const SurfacePoint& b) {
  return std::bit_cast<std::uint64_t>(a.distance_mm) == std::bit_cast<std::uint64_t>(b.distance_mm) &&
         same_bits(a.point_mm, b.point_mm) && same_bits(a.normal, b.normal) && a.triangle == b.triangle &&
         a.on_rim == b.on_rim;
}

int different(const std::vector<SurfacePoint>& a, const std::vector<SurfacePoint>& b) {
  REQUIRE(a.size() == b.size());
  int count = 0;
  for (std::size_t i = 0; i < a.size(); ++i) count += !same_bits(a[i], b[i]);
  return count;
}

/// Loose triangles of all sizes and shapes, some needles, some flat.
Mesh soup(unsigned seed, int triangles) {
  std::mt19937 engine(seed);
  Mesh mesh;
  for (int i = 0; i < triangles; ++i) {
    const Vec3 middle = uniform_in(engine, Vec3::Constant(-100.0), Vec3::Constant(100.0));
    const double size = 40.0 * std::pow(uniform(engine), 3.0);
    const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
    for (int k = 0; k < 3; ++k)
      mesh.vertices.push_back(middle + uniform_in(engine, Vec3::Constant(-size), Vec3::Constant(size)));
    if (i % 5 == 1)
      mesh.vertices[first + 2] = mesh.vertices[first] * 0.3 + mesh.vertices[first + 1] * 0.7 + Vec3(0, 0, 1e-6);
    if (i % 50 == 2) mesh.vertices[first + 2] = mesh.vertices[first] * 0.5 + mesh.vertices[first + 1] * 0.5;
    if (i % 50 == 3) mesh.vertices[first + 1] = mesh.vertices[first + 2] = mesh.vertices[first];
    mesh.triangles.push_back({first, first + 1, first + 2});
  }
  return mesh;
}

bool is_finite(const SurfacePoint& p) {
  return std::isfinite(p.distance_mm) && p.point_mm.allFinite() && p.normal.allFinite();
}

}  // namespace

TEST_CASE("the tree finds what a plain loop over all triangles finds") {
  for (unsigned seed : {1u, 2u, 3u, 4u}) {
    CAPTURE(seed);
    const Mesh mesh = soup(seed, 200);
    const SignedDistance distance(mesh);
    std::mt19937 engine(seed + 100);
    for (int i = 0; i < 1000; ++i) {
      const Vec3 p = uniform_in(engine, Vec3::Constant(-150.0), Vec3::Constant(150.0));
      double least = std::numeric_limits<double>::infinity();
      std::uint32_t winner = 0;
      for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t)
        if (const double squared = nearest_on_triangle(mesh, t, p).squared_mm2; squared < least) {
          least = squared;
          winner = t;
        }
      const SurfacePoint found = distance.at(p);
      CHECK(std::abs(found.distance_mm) == std::sqrt(least));
      CHECK(found.triangle == winner);
      CHECK(is_finite(found));
    }
  }
}

TEST_CASE("same bytes with any number of threads, any order, alone or together, on every instruction set") {
  const Mesh mesh = below(last_like(30), 45.0);
  std::vector<Vec3> points = near_points(last_like(30));
  points.push_back(Vec3::Zero());
  set_thread_limit(1);
  const SignedDistance distance(mesh);
  const std::vector<SurfacePoint> one = distance.at(points);
  set_thread_limit(2);
  CHECK(different(distance.at(points), one) == 0);
  CHECK(different(SignedDistance(mesh).at(points), one) == 0);  // built on two threads
  set_thread_limit(0);
  CHECK(different(SignedDistance(mesh, InstructionSet::plain).at(points), one) == 0);

  std::vector<Vec3> backwards(points.rbegin(), points.rend());
  std::vector<SurfacePoint> turned = distance.at(backwards);
  std::reverse(turned.begin(), turned.end());
  CHECK(different(turned, one) == 0);
  std::vector<Vec3> shuffled = points;  // far steps: sorted on the way
  std::vector<std::size_t> from(points.size());
  std::iota(from.begin(), from.end(), std::size_t{0});
  std::mt19937 engine(9);
  for (std::size_t i = from.size() - 1; i > 0; --i) std::swap(from[i], from[engine() % (i + 1)]);
  std::vector<SurfacePoint> in_order;
  for (std::size_t i = 0; i < from.size(); ++i) {
    shuffled[i] = points[from[i]];
    in_order.push_back(one[from[i]]);
  }
  REQUIRE_FALSE(nearby_order(shuffled).empty());
  CHECK(nearby_order(points).empty());
  CHECK(different(distance.at(shuffled), in_order) == 0);
  std::vector<SurfacePoint> alone;
  for (const Vec3& p : points) alone.push_back(distance.at(p));
  CHECK(different(alone, one) == 0);
}

TEST_CASE("boxes at hand are as good as new ones, and are what is searched") {
  const Mesh mesh = last_like(30);
  const std::vector<Vec3> points = near_points(mesh);
  const DistanceBoxes boxes = distance_boxes(mesh);
  REQUIRE(is_usable(boxes, mesh.triangles.size()));
  const std::vector<SurfacePoint> found = SignedDistance(mesh).at(points);
  CHECK(different(SignedDistance::looking_at(mesh, boxes).at(points), found) == 0);

  DistanceBoxes elsewhere = boxes;  // boxes that lie wrong lead to wrong triangles
  for (DistanceBox& box : elsewhere.boxes) box.middle[0] = -box.middle[0];
  REQUIRE(is_usable(elsewhere, mesh.triangles.size()));
  CHECK(different(SignedDistance::looking_at(mesh, elsewhere).at(points), found) > 0);
}

TEST_CASE("boxes that a search could not go through are told") {
  const Mesh mesh = last_like(30);
  const std::size_t triangles = mesh.triangles.size();
  const DistanceBoxes good = distance_boxes(mesh);
  REQUIRE(good.nodes.size() > 1);
  CHECK(is_usable(good, triangles));
  CHECK_FALSE(is_usable(good, triangles - 1));
  CHECK_FALSE(is_usable({}, triangles));
  const auto spoilt = [&](auto&& spoil) {
    DistanceBoxes bad = good;
    spoil(bad);
    return !is_usable(bad, triangles);
  };
  const auto nodes = static_cast<std::uint32_t>(good.nodes.size());
  const auto leaves = static_cast<std::uint32_t>(good.leaves.size());
  REQUIRE((good.boxes[0].child & kLeafBit) == 0);
  CHECK(spoilt([&](DistanceBoxes& b) { b.boxes[0].child = 0; }));                  // itself, without end
  CHECK(spoilt([&](DistanceBoxes& b) { b.boxes[0].child = b.boxes[1].child; }));   // one twice
  CHECK(spoilt([&](DistanceBoxes& b) { b.boxes[0].child = nodes; }));              // none
  CHECK(spoilt([&](DistanceBoxes& b) { b.boxes[0].child = kLeafBit | leaves; }));  // none
  CHECK(spoilt([&](DistanceBoxes& b) { b.nodes[0].count = kLanes + 1; }));
  CHECK(spoilt([&](DistanceBoxes& b) { b.nodes[0].first = 0xffffffff; }));
  CHECK(spoilt([&](DistanceBoxes& b) { b.leaves[0].count = kLanes + 1; }));
  CHECK(spoilt([&](DistanceBoxes& b) { b.leaves[0].first = 0xffffffff; }));
  CHECK(spoilt([&](DistanceBoxes& b) { b.leaves[0] = {static_cast<std::uint32_t>(triangles) - 1, 2}; }));
  CHECK(spoilt([&](DistanceBoxes& b) { b.triangles[0] = static_cast<std::uint32_t>(triangles); }));

  DistanceBoxes deep = good;  // a chain as deep as may be, and one node deeper
  deep.boxes.assign(kMostLevels + 1, good.boxes[0]);
  deep.nodes.clear();
  for (std::uint32_t i = 0; i < deep.boxes.size(); ++i) {
    deep.boxes[i].child = i + 1;
    deep.nodes.push_back({i, 1});
  }
  deep.boxes.back().child = kLeafBit;
  CHECK_FALSE(is_usable(deep, triangles));
  deep.nodes.pop_back();
  deep.boxes.pop_back();
  deep.boxes.back().child = kLeafBit;
  CHECK(is_usable(deep, triangles));
}

TEST_CASE("many triangles equally far: the first of them, on every instruction set") {
  const Mesh ball = ellipsoid(Vec3::Constant(10.0), 12);
  const std::vector<Vec3> centre(3, Vec3::Zero());
  const std::vector<SurfacePoint> best = SignedDistance(ball).at(centre);
  CHECK(different(SignedDistance(ball, InstructionSet::plain).at(centre), best) == 0);
  double least = std::numeric_limits<double>::infinity();
  for (std::uint32_t t = 0; t < ball.triangles.size(); ++t)
    least = std::min(least, nearest_on_triangle(ball, t, Vec3::Zero()).squared_mm2);
  CHECK(best[0].distance_mm == -std::sqrt(least));
}

TEST_CASE("moving mesh and points together changes nothing but rounding; far from the origin too") {
  const Mesh mesh = last_like(20);
  const std::vector<Vec3> points = near_points(last_like(15));
  Motion move = Motion::Identity();
  move.translate(Vec3(3e4, -2e4, 1e4)).rotate(Eigen::AngleAxisd(1.1, Vec3(1.0, 2.0, -1.0).normalized()));
  const SignedDistance here(mesh), there(moved(mesh, move));
  for (const Vec3& p : points)  // 40000 mm * 2^-52 * rotation and distance
    CHECK(there.at(move * p).distance_mm == WithinMm{here.at(p).distance_mm, 1e-9});
}

TEST_CASE("growing the query's own offset: points moved out along the normal are that far away") {
  const Mesh ball = ellipsoid({60.0, 40.0, 30.0}, 20);  // convex, so a point off a face is nearest to that face
  const SignedDistance distance(ball);
  for (std::uint32_t t = 0; t < ball.triangles.size(); t += 7) {
    const Triangle& c = ball.triangles[t];
    const Vec3 middle = (ball.vertices[c[0]] + ball.vertices[c[1]] + ball.vertices[c[2]]) / 3.0;
    const SurfacePoint out = distance.at(middle + 7.5 * face_normal(ball, t));
    CHECK(out.distance_mm == WithinMm{7.5, 1e-12});
    CHECK(out.triangle == t);
    CHECK((out.point_mm - middle).norm() < 1e-12);
    CHECK((out.normal - face_normal(ball, t)).norm() < 1e-12);
  }
}

TEST_CASE("crowded edges, doubled and back-to-back triangles, slivers and points neither crash nor give NaN") {
  Mesh mesh = box_mesh({10.0, 10.0, 10.0});
  const auto corner = static_cast<std::uint32_t>(mesh.vertices.size());
  mesh.vertices.push_back({0.0, 0.0, 20.0});
  mesh.triangles.push_back({4, 5, corner});     // a fin on an edge that has two triangles already
  mesh.triangles.push_back({5, 4, corner});     // and its back
  mesh.triangles.push_back(mesh.triangles[0]);  // doubled
  mesh.triangles.push_back({0, 0, 1});          // a line
  mesh.triangles.push_back({2, 2, 2});          // a point
  const SignedDistance best(mesh), plain(mesh, InstructionSet::plain);
  std::mt19937 engine(5);
  std::vector<Vec3> points = mesh.vertices;
  for (int i = 0; i < 5000; ++i) points.push_back(uniform_in(engine, Vec3::Constant(-30.0), Vec3::Constant(30.0)));
  const std::vector<SurfacePoint> found = best.at(points);
  CHECK(different(plain.at(points), found) == 0);
  for (const SurfacePoint& p : found) CHECK(is_finite(p));
  CHECK(best.at(Vec3(0.0, 0.0, -20.0)).distance_mm == WithinMm{15.0, 1e-12});
  CHECK(best.at(Vec3(0.0, 0.0, -4.0)).distance_mm == WithinMm{-1.0, 1e-12});

  Mesh stack;  // a thousand times the same triangle: nothing to split by
  stack.vertices = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}};
  stack.triangles.assign(1000, {0, 1, 2});
  const SurfacePoint above = SignedDistance(stack).at(Vec3(0.2, 0.2, 3.0));
  CHECK(above.distance_mm == WithinMm{3.0, 1e-12});
  CHECK(above.triangle == 0);

  Mesh sheet;  // two triangles back to back enclose nothing
  sheet.vertices = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}};
  sheet.triangles = {{0, 1, 2}, {0, 2, 1}};
  for (double z : {-1.0, 1.0})
    for (double x : {-1.0, 0.2})
      CHECK(SignedDistance(sheet).at(Vec3(x, 0.2, z)).distance_mm == WithinMm{std::hypot(std::min(x, 0.0), z), 1e-12});
}

TEST_CASE("a mesh without area or out of all bounds is refused, an empty list of points is not") {
  CHECK_THROWS_AS(SignedDistance(Mesh{}), std::invalid_argument);
  Mesh line;
  line.vertices = {{0, 0, 0}, {1, 0, 0}, {2, 0, 0}};
  line.triangles = {{0, 1, 2}};
  CHECK_THROWS_AS(SignedDistance{line}, std::invalid_argument);
  CHECK_THROWS_AS(SignedDistance{box_mesh(Vec3::Constant(1e30))}, std::invalid_argument);
  CHECK(SignedDistance(box_mesh(Vec3::Constant(1e12))).at(Vec3::Zero()).distance_mm == -5e11);
  CHECK(SignedDistance(box_mesh({1, 1, 1})).at(std::vector<Vec3>{}).empty());
}
