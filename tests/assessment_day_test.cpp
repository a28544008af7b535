// A day in the shoe: how far feet swell, and what that changes.
#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "assessment/day.h"
#include "assessment_bodies.h"
#include "coarse_fit.h"
#include "near.h"

using namespace lastroom;
using test::ball;
using test::ball_bench;
using test::ball_sag_mm;
using test::Stand;
using test::WithinMm;

namespace {

std::optional<Day> day_of(const Stand& bench, const AssessmentSettings& settings) {
  const Rules rules = default_rules();
  return day_in_the_shoe(bench.evidence(), assess(bench.evidence(), rules, settings), rules, settings);
}

}  // namespace

TEST_CASE("a swelling is so much of the volume over the area") {
  constexpr double kRadius = 40.0, kPi = std::numbers::pi;
  // A ball's volume over its area is a third of its radius (Archimedes).
  CHECK(swelling_mm(ball(kRadius), kSwells) == WithinMm{kSwells * kRadius / 3.0, kSwells * ball_sag_mm(kRadius)});
  // Cut off at a height, as a scan is: without the cap of height h, pi h^2 (3 r - h) / 3, and its skin, 2 pi r h. The
  // rim is uneven by an edge, 1.2 * 1.1071 / 24 * 40 = 2.2 mm: so much of the cap's height is not known.
  const double edge_mm = 1.2 * 1.1071 / test::kBallFrequency * kRadius;
  const auto swells = [&](double h) {
    const double volume = 4.0 / 3.0 * kPi * std::pow(kRadius, 3) - kPi * h * h * (3.0 * kRadius - h) / 3.0;
    return kSwells * volume / (4.0 * kPi * kRadius * kRadius - 2.0 * kPi * kRadius * h);
  };
  const double least = std::min(swells(20.0), swells(20.0 + edge_mm)),
               most = std::max(swells(20.0), swells(20.0 + edge_mm));
  const double found = swelling_mm(test::below(ball(kRadius), kRadius - 20.0), kSwells);
  CHECK(found > least - kSwells * ball_sag_mm(kRadius));
  CHECK(found < most + kSwells * edge_mm);
}

TEST_CASE("a foot's girth grows in a day by what was published") {
  // 1.2 to 7.1 mm on a girth of 252 mm (PMC2953309; doi 10.1007/BF00417985). A convex outline grown by t is 2 pi t
  // longer (Steiner).
  const Mesh& foot = test::the_fit().foot.mesh;
  CHECK(2.0 * std::numbers::pi * swelling_mm(foot, kSwellsLeast) > 1.2);
  CHECK(2.0 * std::numbers::pi * swelling_mm(foot, kSwellsMost) < 7.1);
}

TEST_CASE("a grown foot has the room of a foot that is so much larger, its sole and its heel where they were") {
  constexpr double kFoot = 40.0, kLast = 45.0, kGrown = 0.5;
  const Stand bench = ball_bench(kFoot, kLast, Zone::instep, 0.0);
  ClearanceField found = bench.clearance;
  grow(bench.clearance, kGrown, found);
  // A ball of radius r + t, its middle t further ahead and up, touches the planes behind and below where it did before.
  const Stand larger = ball_bench(kFoot + kGrown, kLast, Zone::instep, 0.0, Vec3(-kGrown, 0.0, -kGrown));
  // The distance to a ball bends by 1 / r: a place that moves t sqrt(2) aside errs by t^2 / r; a facet sags.
  const double error_mm = kGrown * kGrown / kFoot + 2.0 * ball_sag_mm(kLast);
  for (std::size_t i = 0; i < found.clearance_mm.size(); ++i)
    CHECK(found.clearance_mm[i] == WithinMm{larger.clearance.clearance_mm[i], error_mm});
}

TEST_CASE("what fits in the morning may pinch late in the day, and it is said where") {
  constexpr double kFoot = 40.0;
  const double late_mm = kSwells * kFoot / 3.0;  // 0.47
  const auto day_with = [&](double room_mm, Wearer wearer) {
    const Stand bench = ball_bench(kFoot, kFoot + room_mm, Zone::fifth_toe_side, 0.0);
    return day_of(bench, test::told(wearer)).value();
  };
  // A fifth toe's side pinches below 0 and is watched below 1 mm. Late in the day most of the ball has 0.47 mm less
  // room, and its upper front (1 + sqrt(2)) times that, 1.14: a twentieth of it more than 1 mm.
  const Day pinched = day_with(1.05, Wearer::standard);
  REQUIRE(pinched.times.size() == 8);
  CHECK(pinched.times[0].grown_mm == 0.0);
  CHECK(pinched.times[3].grown_mm == WithinMm{late_mm, 0.01 * late_mm});
  CHECK_FALSE(pinched.times[0].worst.has_value());
  REQUIRE(pinched.times[3].worst.has_value());
  CHECK(pinched.times[3].worst->zone == Zone::fifth_toe_side);
  CHECK(pinched.sentence.key == "day.fits_then_pinches");
  CHECK(english(pinched.sentence).find("Fifth toe, side") != std::string::npos);
  // The most that feet swell, 0.76 mm here, takes 1.83 there.
  CHECK(day_with(2.0, Wearer::standard).sentence.key == "day.fits_then_watch");
  CHECK(day_with(4.0, Wearer::standard).sentence.key == "day.same");
  CHECK(day_with(-1.0, Wearer::standard).sentence.key == "day.pinches_all_day");
  // Limits of 1 and 2 mm at risk; that it fits is not said.
  CHECK(day_with(2.05, Wearer::at_risk).sentence.key == "day.pinches_late");
  CHECK(day_with(2.05, Wearer::unknown).sentence.key == "day.pinches_late");
}

TEST_CASE("no day is told of a foot that can't be judged, or whose volume is not known") {
  Stand bench = ball_bench(40.0, 44.0, Zone::instep, 0.0);
  bench.foot.sole_missing = true;
  CHECK_FALSE(day_of(bench, test::told(Wearer::standard)).has_value());
  bench.foot.sole_missing = false;
  bench.registration.converged = false;
  CHECK_FALSE(day_of(bench, test::told(Wearer::standard)).has_value());
}
