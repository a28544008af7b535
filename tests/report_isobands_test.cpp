#include <doctest/doctest.h>

#include <numbers>

#include "near.h"
#include "report/isobands.h"
#include "report/raster.h"
#include "report_sample.h"

using namespace lastroom;
using test::WithinMm;

namespace {

constexpr double kPi = std::numbers::pi;

template <class Function>
Grid sampled(int size, double step_mm, Function value) {
  Grid grid{size, size, step_mm, Vec2::Constant(-0.5 * step_mm * (size - 1)), {}};
  for (int row = 0; row < size; ++row) {
    for (int column = 0; column < size; ++column) {
      const Vec2 p = grid.low + step_mm * Vec2(column, row);
      grid.value.push_back(static_cast<float>(value(p)));
    }
  }
  return grid;
}

double area_mm2(const std::vector<Loop>& loops) {
  double sum = 0.0;
  for (const Loop& loop : loops) sum += signed_area_mm2(loop);
  return sum;
}

/// Chords of a circle of radius r between points a step apart at most cut off an area of at most h * length, with the
/// sagitta h = step^2 * 2 / (8 r) (the longest chord of a cell is its diagonal), and linear interpolation of a curved
/// field moves a point by as much again.
double chord_bound_mm2(double r, double step) { return 2.0 * (2.0 * step * step / (8.0 * r)) * 2.0 * kPi * r; }

}  // namespace

TEST_CASE("a cone's level sets are discs: their area is pi r squared") {
  const double step = 0.5;
  const Grid grid = sampled(161, step, [](const Vec2& p) { return 30.0 - p.norm(); });
  for (const double level : {5.0, 12.5, 20.0, 27.0}) {
    CAPTURE(level);
    const double r = 30.0 - level;
    const std::vector<Loop> loops = superlevel_loops(grid, level);
    REQUIRE(loops.size() == 1);
    CHECK(area_mm2(loops) == WithinMm{kPi * r * r, chord_bound_mm2(r, step)});
  }
}

TEST_CASE("a ring has a hole that runs the other way, and the areas add up") {
  const double step = 0.5;
  const Grid grid = sampled(161, step, [](const Vec2& p) { return -std::abs(p.norm() - 20.0); });
  const std::vector<Loop> loops = superlevel_loops(grid, -5.0);
  REQUIRE(loops.size() == 2);
  CHECK(signed_area_mm2(loops[0]) * signed_area_mm2(loops[1]) < 0.0);
  const double expected = kPi * (25.0 * 25.0 - 15.0 * 15.0);
  CHECK(area_mm2(loops) == WithinMm{expected, chord_bound_mm2(25.0, step) + chord_bound_mm2(15.0, step)});
}

TEST_CASE("a saddle is joined or parted by the middle of its cell") {
  //  1 0      the middle is 0.5: above 0.4 the two high corners hang together, above 0.6 they don't
  //  0 1
  Grid grid{2, 2, 1.0, Vec2::Zero(), {0.0F, 1.0F, 1.0F, 0.0F}};
  CHECK(superlevel_loops(grid, 0.4).size() == 1);
  CHECK(superlevel_loops(grid, 0.6).size() == 2);
  Grid turned{2, 2, 1.0, Vec2::Zero(), {1.0F, 0.0F, 0.0F, 1.0F}};
  CHECK(superlevel_loops(turned, 0.4).size() == 1);
  CHECK(superlevel_loops(turned, 0.6).size() == 2);
}

TEST_CASE(
    "every border closes, whatever the field: the loops' area is that of the set and its complement's is the rest") {
  // A field of waves in both directions: many saddles, holes and cells cut at the grid's border.
  const Grid grid = sampled(81, 1.0, [](const Vec2& p) { return std::sin(0.7 * p.x()) * std::cos(0.9 * p.y()) + 0.1; });
  double inside = 0.0;
  for (const Loop& loop : superlevel_loops(grid, 0.0)) {
    inside += signed_area_mm2(loop);
    for (std::size_t i = 0; i < loop.size(); ++i) {
      // A step stays within one cell.
      CHECK((loop[i] - loop[(i + 1) % loop.size()]).norm() <= std::sqrt(2.0) + 1e-9);
    }
  }
  Grid turned = grid;
  for (float& v : turned.value) v = -v;
  double outside = 0.0;
  for (const Loop& loop : superlevel_loops(turned, 0.0)) outside += signed_area_mm2(loop);
  // Together they cover the 80 mm square, but for the step down to "below" at its border, which is a millionth wide.
  CHECK(inside + outside == WithinMm{80.0 * 80.0, 0.01});
}

TEST_CASE("simplifying keeps every point within the tolerance and drops specks") {
  const Grid grid =
      sampled(161, 0.5, [](const Vec2& p) { return 30.0 - p.norm() + 2.0 * std::cos(5.0 * std::atan2(p.y(), p.x())); });
  const std::vector<Loop> full = superlevel_loops(grid, 10.0), fewer = simplified(full, 0.2, 1.0);
  REQUIRE(full.size() == 1);
  REQUIRE(fewer.size() == 1);
  CHECK(fewer[0].size() < full[0].size() / 3);
  for (const Vec2& p : full[0]) {
    double nearest = 1e9;
    for (std::size_t i = 0; i < fewer[0].size(); ++i) {
      const Vec2 &a = fewer[0][i], &b = fewer[0][(i + 1) % fewer[0].size()];
      const double t = std::clamp((p - a).dot(b - a) / (b - a).squaredNorm(), 0.0, 1.0);
      nearest = std::min(nearest, (p - a - t * (b - a)).norm());
    }
    CHECK(nearest <= 0.2 + 1e-9);
  }
  CHECK(simplified(full, 0.2, 1e6).empty());
}

TEST_CASE("the raster sees a ball as a disc, its near side, and values where they are") {
  const double r = 20.0;
  const auto size = [&](double x) {
    const double h = std::sqrt(std::max(0.0, r * r - (x - r) * (x - r)));
    return Vec3(h, 2.0 * h, 0.0);
  };
  Mesh ball = test::tube(0.0, 2.0 * r, 200, 200, size);
  for (Vec3& v : ball.vertices) v.z() += r - size(v.x()).y() / 2.0;
  std::vector<double> height;
  for (const Vec3& v : ball.vertices) height.push_back(v.z());
  const Raster seen = look_at(ball, {Vec3::UnitX(), Vec3::UnitZ()}, 0.25);
  const Vec2 middle = View{Vec3::UnitX(), Vec3::UnitZ()}(Vec3(r, 0.0, 0.0));
  CHECK(seen.depth_mm[seen.pixel(middle)] == WithinMm{2.0 * r, 0.005});  // sag of a 0.7 mm facet: 0.7^2 / (8 * 20)
  CHECK_FALSE(seen.from_behind[seen.pixel(middle)]);
  // Outline: half a pixel of blur round the whole edge at most.
  CHECK(area_mm2(superlevel_loops(outline_grid(seen), 0.5)) == WithinMm{kPi * r * r, 0.125 * 2.0 * kPi * r});
  // The cap above 30 mm is a disc of radius sqrt(20^2 - 10^2).
  const Grid heights = value_grid(ball, seen, height, {});
  const double cap = std::sqrt(r * r - 100.0);
  CHECK(area_mm2(superlevel_loops(heights, 30.0)) == WithinMm{kPi * cap * cap, 0.125 * 2.0 * kPi * cap});
}
