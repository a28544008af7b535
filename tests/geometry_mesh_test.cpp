#include <doctest/doctest.h>

#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <stdexcept>
#include <string>
#include <thread>

#include "geometry/area_mean.h"
#include "geometry/mesh.h"
#include "geometry/open_rims.h"
#include "geometry/parallel.h"
#include "geometry/section.h"
#include "geometry/surface_features.h"
#include "geometry_shapes.h"
#include "near.h"

using namespace lastroom;
using namespace lastroom::test;

TEST_CASE("the mean of what is least takes of the last value only its share") {
  // By hand: half of an area of 5 is all of the least, 2, and half a unit of the next: (2 * 1 + 0.5 * 4) / 2.5.
  std::vector<std::pair<double, double>> values = {{4.0, 1.0}, {9.0, 2.0}, {1.0, 2.0}};
  CHECK(mean_of_least(values, 0.5) == doctest::Approx(1.6));
  CHECK(mean_of_least(values, 1.0) == doctest::Approx(24.0 / 5.0));
}

TEST_CASE("a box has the area and volume of a box, wherever it stands") {
  Mesh box = box_mesh({3.0, 4.0, 5.0});
  for (Vec3& v : box.vertices) v += Vec3(1000.0, -2000.0, 500.0);
  CHECK(area_mm2(box) == WithinMm{94.0, 1e-9});  // rounding of coordinates near 2000: 2000 * 2^-52 * edges
  CHECK(volume_mm3(box) == WithinMm{60.0, 1e-9});
  CHECK(volume_mm3(mirrored_y(box)) == WithinMm{60.0, 1e-9});  // still faces outwards
  CHECK((bounds(box).size() - Vec3(3.0, 4.0, 5.0)).norm() < 1e-9);
  double sum = 0.0;
  for (double a : vertex_areas_mm2(box)) sum += a;
  CHECK(sum == WithinMm{94.0, 1e-9});
}

TEST_CASE("normals at a box's corners don't depend on how its sides are divided into triangles") {
  const Mesh box = box_mesh({3.0, 4.0, 5.0});
  const std::vector<Vec3> normals = vertex_normals(box);
  for (std::size_t v = 0; v < normals.size(); ++v) {
    const Vec3 diagonal = box.vertices[v].cwiseSign() / std::sqrt(3.0);  // three right angles, one per side
    CHECK((normals[v] - diagonal).norm() < 1e-15 * 10);
  }
}

TEST_CASE("a ball's normals point away from its centre, and a lone vertex has none") {
  Mesh ball = geodesic_ball(20);
  ball.vertices.push_back({5.0, 5.0, 5.0});
  const std::vector<Vec3> normals = vertex_normals(ball);
  // Around a vertex the facets are not quite alike: the error is that of one edge's slope, squared.
  const double edge = (ball.vertices[0] - ball.vertices[1]).norm();
  for (std::size_t v = 0; v + 1 < normals.size(); ++v) CHECK((normals[v] - ball.vertices[v]).norm() < edge * edge);
  CHECK(normals.back() == Vec3::Zero());
}

TEST_CASE("a part keeps order and drops what is unused") {
  const Mesh box = box_mesh({1.0, 1.0, 1.0});
  std::vector<std::uint8_t> keep(box.triangles.size(), 0);
  keep[2] = keep[3] = 1;  // the top
  const Mesh top = submesh(box, keep);
  REQUIRE(top.vertices.size() == 4);
  CHECK(top.triangles.size() == 2);
  CHECK(area_mm2(top) == WithinMm{1.0, 1e-15});
  for (const Vec3& v : top.vertices) CHECK(v.z() == 0.5);
}

TEST_CASE("a box without lid and bottom has two rims of four edges, with their middles; a whole one has none") {
  Mesh box = box_mesh({2.0, 4.0, 6.0});
  CHECK(open_rims(box).edges.empty());
  const double low = bounds(box).low.z(), high = bounds(box).high.z();
  std::vector<std::uint8_t> sides;
  for (const Triangle& t : box.triangles)
    sides.push_back(box.vertices[t[0]].z() != box.vertices[t[1]].z() ||
                    box.vertices[t[0]].z() != box.vertices[t[2]].z());
  box = submesh(box, sides);
  const OpenRims open = open_rims(box);
  REQUIRE(open.middles.size() == 2);
  CHECK(open.edges.size() == 8);
  const Vec3 centre = 0.5 * (bounds(box).low + bounds(box).high);
  for (const Vec3& middle : open.middles) {
    CHECK((middle.head<2>() - centre.head<2>()).norm() < 1e-12);  // of four corners, summed in doubles
    CHECK((middle.z() == low || middle.z() == high));
  }
  // Fans over the rims go on with the sides' orientation: the box is whole again, and its volume has the right sign.
  for (const OpenRims::Edge& edge : open.edges)
    box.triangles.push_back({edge.from, edge.to, static_cast<std::uint32_t>(box.vertices.size() + edge.rim)});
  box.vertices.insert(box.vertices.end(), open.middles.begin(), open.middles.end());
  CHECK(volume_mm3(box) == WithinMm{48.0, 1e-12});
}

TEST_CASE("blocks cover every index once, whatever the number of threads") {
  for (int threads : {1, 2, 0}) {
    set_thread_limit(threads);
    std::vector<std::atomic<int>> seen(1000);
    for_blocks(seen.size(), 64, [&](std::size_t begin, std::size_t end) {
      CHECK(begin % 64 == 0);
      for (std::size_t i = begin; i < end; ++i) ++seen[i];
    });
    for (const auto& count : seen) CHECK(count == 1);
    for_blocks(0, 64, [](std::size_t, std::size_t) { FAIL("no work for an empty range"); });
  }
}

TEST_CASE("a limit of threads holds for Open3D too") {
  set_thread_limit(2);
  const std::string told = std::getenv("OMP_NUM_THREADS");
  CHECK((told == "2" || told == "1"));  // 1 where only one is safe
  set_thread_limit(1);
  CHECK(std::getenv("OMP_NUM_THREADS") == std::string("1"));
  set_thread_limit(0);
}

TEST_CASE("an exception in one block leaves no other one half done") {
  set_thread_limit(2);
  std::atomic<bool> other_runs = false, thrown = false;
  std::atomic<int> begun = 0, inner = 0, ended = 0;
  const auto wait_for = [](const std::atomic<bool>& flag) {  // not for ever: there may be one thread only
    for (int ms = 0; ms < 2000 && !flag; ++ms) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  };
  const auto work = [&](std::size_t block, std::size_t) {
    if (block == 0) {
      wait_for(other_runs);
      thrown = true;
      throw std::runtime_error("one of them");
    }
    ++begun;
    other_runs = true;
    wait_for(thrown);
    std::this_thread::sleep_for(std::chrono::milliseconds(20));  // the exception is on its way
    for_blocks(500, 1, [&](std::size_t, std::size_t) { ++inner; });
    ++ended;
  };
  CHECK_THROWS_WITH_AS(for_blocks(8, 1, work), "one of them", std::runtime_error);
  CHECK(ended == begun);
  CHECK(inner == 500 * begun);
  set_thread_limit(0);
}

TEST_CASE("a book of triangles on one edge takes time in proportion to its pages") {
  constexpr std::uint32_t kPages = 600'000;
  Mesh book{{Vec3(0.0, 0.0, -1.0), Vec3(0.0, 0.0, 1.0)}, {}};
  for (std::uint32_t page = 0; page < kPages; ++page) {
    const double angle = 2.0 * std::numbers::pi * page / kPages;
    book.vertices.push_back(Vec3(std::cos(angle), std::sin(angle), 0.5));
    book.triangles.push_back(page % 2 == 0 ? Triangle{0, 1, page + 2} : Triangle{1, 0, page + 2});
  }
  const auto start = std::chrono::steady_clock::now();
  const SurfaceFeatures features = edge_features(book);
  const std::vector<SectionCurve> curves = section(book, {Vec3::Zero(), Vec3::UnitZ()});
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
  // Half a second; the square of half the pages, 9e10 steps of a nanosecond at best, would be a minute and a half.
  CHECK(took.count() < 20.0);
  REQUIRE(features.crowded_normals.size() == 1);
  CHECK(features.across[0][0] == SurfaceFeatures::kCrowded);
  CHECK(features.across[kPages - 1][0] == SurfaceFeatures::kCrowded);
  CHECK(features.across[0][1] == SurfaceFeatures::kNone);
  CHECK(features.on_rim[2] == 1);
  CHECK(curves.size() == kPages / 2);  // over the edge from page to page
}
