// Laws of correction: on balls, where the answer is a formula, and on made feet in made lasts with planted defects.
#include <doctest/doctest.h>

#include "assessment/bump.h"
#include "assessment/marked_spots.h"
#include "assessment_bodies.h"
#include "coarse_fit.h"
#include "mesh_io_shapes.h"
#include "near.h"

using namespace lastroom;
using test::ball_bench;
using test::coarse_foot;
using test::coarse_last;
using test::Stand;
using test::the_fit;
using test::the_foot;
using test::WithinMm;
using test::zone_of;

namespace {

constexpr double kMayGetWorseMm = 0.2;  // issue: no other zone gets worse by more

/// No zone that presses afterwards may have lost more than `kMayGetWorseMm`; a slack one is meant to lose.
void check_nothing_got_worse(const Assessment& found) {
  for (const ZoneVerdict& after : found.corrections.zones_after) {
    const ZoneClearance* before = zone_of(found.zones, after.clearance.zone);
    REQUIRE(before);
    CAPTURE(zone_name(after.clearance.zone));
    if (after.verdict >= Verdict::watch) CHECK(after.clearance.p05_mm >= before->p05_mm - kMayGetWorseMm);
  }
}

}  // namespace

TEST_CASE("a bump on a plane: full height in the core, nothing outside, no step between") {
  Bump bump = bump_at({0.0, Vec3::Zero(), Vec3::UnitZ(), 0, false});
  bump.half_length_mm = 30.0;
  bump.half_width_mm = 15.0;
  bump.height_mm = 2.0;
  CHECK(height_at({bump}, Vec3(0.0, 0.0, 0.0)) == 2.0);
  CHECK(height_at({bump}, Vec3(bump.core_share * 29.9, 0.0, 0.0)) == 2.0);
  CHECK(height_at({bump}, Vec3(30.1, 0.0, 0.0)) == 0.0);
  CHECK(height_at({bump}, Vec3(0.0, 15.1, 0.0)) == 0.0);
  CHECK(height_at({bump}, Vec3(0.0, 0.0, -21.0)) == 0.0);  // the other side of a thin last stays
  // Steepest slope of (1 - u^2)^2 is 8 / (3 sqrt 3) at u = 1 / sqrt 3, over the fading edge's width.
  const double steepest = 2.0 * 8.0 / (3.0 * std::sqrt(3.0)) / (30.0 * (1.0 - bump.core_share));
  for (double x = 0.0; x < 31.0; x += 0.1)
    CHECK(std::abs(height_at({bump}, Vec3(x + 0.1, 0.0, 0.0)) - height_at({bump}, Vec3(x, 0.0, 0.0))) <=
          steepest * 0.1 + 1e-12);
}

TEST_CASE("building up a ball last where the ball foot presses") {
  // The last's middle lies 5 mm behind the foot's: room is R - |r u + 5 x|, most pressed at u = x by R - r - 5 = -4 mm.
  Stand bench = ball_bench(59.0, 60.0, Zone::waist, 0.5, Vec3(0.0, -5.0, 0.0));
  for (std::size_t i = 0; i < bench.skin.zone.size(); ++i) {
    const Vec3 u = bench.foot.mesh.vertices[i].normalized();
    bench.skin.zone[i] = u.y() > 0.9 ? Zone::inside_joint : u.y() > 0.0 ? Zone::joint_top : Zone::toe_pads;
  }
  const Assessment found = bench.judged();
  REQUIRE(zone_of(found.zones, Zone::inside_joint)->p05_mm == WithinMm{-4.0, 0.1});
  REQUIRE(found.zones[0].verdict == Verdict::pinch);
  // Two zones that press side by side are one place to be built up.
  REQUIRE(found.corrections.changes.size() == 1);
  const Correction& change = found.corrections.changes[0];
  CHECK(change.operation == Operation::build_up);
  CHECK(change.place.inside);
  for (std::size_t i = 0; i < bench.last.mesh.vertices.size(); ++i) {
    const Vec3& v = bench.last.mesh.vertices[i];
    const double mm = found.corrections.height_mm[i];
    if (v.y() > 54.5) CHECK(mm >= 2.5 - 0.4);  // presses by 4, clear from -1.5; a twentieth may lie 0.4 lower
    if (v.y() < -20.0) CHECK(mm == 0.0);
    CHECK(mm <= change.height_mm + 1e-9);
  }
  CHECK(found.corrections.corrected_last.mesh.triangles == bench.last.mesh.triangles);
  for (const ZoneVerdict& zone : found.corrections.zones_after) CHECK(zone.verdict != Verdict::pinch);
  check_nothing_got_worse(found);
  // What the report shows as "after" is what anyone measures on the corrected last.
  const SignedDistance corrected(found.corrections.corrected_last.mesh);
  const ClearanceField again = clearance_between(bench.foot, bench.registration, corrected, {.scan_error_mm = 0.5});
  for (const ZoneClearance& zone : by_zone(again, bench.skin))
    CHECK(zone.p05_mm == WithinMm{zone_of(found.corrections.zones_after, zone.zone)->p05_mm, 1e-9});
}

TEST_CASE("building up over a marked spot that its zone's own limit would let press") {
  // As above, but 1 mm: the instep may be pressed by 3 mm, a marked spot by none.
  Stand bench = ball_bench(59.0, 60.0, Zone::instep, 0.2, Vec3(0.0, -2.0, 0.0));
  CHECK(bench.judged().corrections.changes.empty());
  bench.foot.landmarks.never_press = {{Vec3(0.0, 59.0, 0.0), "bunion"}};
  const Assessment found = bench.judged();
  REQUIRE(found.verdict == Verdict::pinch);
  REQUIRE(found.corrections.changes.size() == 1);
  const Correction& change = found.corrections.changes[0];
  CHECK(change.centre_mm.y() == WithinMm{58.0, 1.0});  // the last's own place in front of the spot
  CHECK(change.height_mm >= 2.0);                      // from -1 mm to 1 mm, the least that is clear
  CHECK(found.corrections.verdict_after < Verdict::pinch);
}

TEST_CASE("a built-up last has no fold, also where it was dented") {
  for (const test::Defect& defect : test::planted_defects()) {
    if (!defect.deform) continue;
    CAPTURE(defect.name);
    const Stand planted = test::planted(the_foot(), coarse_foot().length_mm, coarse_last(), defect);
    const Corrections found = planted.judged().corrections;
    const Mesh& before = planted.last.mesh;
    for (std::size_t i = 0; i < found.corrected_last.mesh.triangles.size(); ++i) {
      const auto area = [&](const Mesh& mesh) {
        const Triangle& t = mesh.triangles[i];
        return Vec3((mesh.vertices[t[1]] - mesh.vertices[t[0]]).cross(mesh.vertices[t[2]] - mesh.vertices[t[0]]));
      };
      if (area(before).dot(area(found.corrected_last.mesh)) <= 0.0) {
        CHECK_MESSAGE(false, "triangle turned over near ", before.vertices[before.triangles[i][0]].transpose());
        break;
      }
    }
  }
}

TEST_CASE("taking down a ball last where it is slack") {
  Stand bench = ball_bench(53.5, 60.0, Zone::waist, 0.5);  // 6.5 mm of room; waist is slack above 4
  const Assessment found = bench.judged();
  REQUIRE(found.zones[0].verdict == Verdict::slack);
  REQUIRE_FALSE(found.corrections.changes.empty());
  for (const Correction& change : found.corrections.changes) CHECK(change.height_mm < 0.0);
  CHECK(found.corrections.zones_after[0].clearance.median_mm < found.zones[0].clearance.median_mm);
  CHECK(found.corrections.zones_after[0].verdict != Verdict::pinch);
  check_nothing_got_worse(found);
}

TEST_CASE("nothing is taken down over a marked spot, nor from a foot that may not feel it") {
  Stand bench = ball_bench(53.5, 60.0, Zone::waist, 0.5);
  AssessmentSettings at_risk;
  at_risk.wearer = Wearer::at_risk;
  REQUIRE(bench.judged(at_risk).zones[0].verdict == Verdict::slack);
  CHECK(bench.judged(at_risk).corrections.changes.empty());

  const Assessment unmarked = bench.judged();
  REQUIRE_FALSE(unmarked.corrections.changes.empty());
  const Vec3 on_last = unmarked.corrections.changes.front().centre_mm;
  const auto taken_down_there = [&](const Corrections& found) {
    double most = 0.0;
    for (std::size_t i = 0; i < found.height_mm.size(); ++i)
      if ((bench.last.mesh.vertices[i] - on_last).norm() < kSpotRadiusMm) most = std::max(most, -found.height_mm[i]);
    return most;
  };
  REQUIRE(taken_down_there(unmarked.corrections) > 1.0);
  bench.foot.landmarks.never_press.push_back({on_last.normalized() * 53.5, "wound"});
  CHECK(taken_down_there(bench.judged().corrections) == 0.0);
}

TEST_CASE("nothing at all is changed over a marked spot of a wearer at risk") {
  // The waist presses all round, and half of the way round there is a mark in it.
  Stand bench = ball_bench(62.0, 60.0, Zone::waist, 0.5);
  const Vec3 on_last(0.0, 60.0, 0.0);
  bench.foot.landmarks.never_press.push_back({Vec3(0.0, 62.0, 0.0), "corn"});
  const auto moved_over_mark = [&](Wearer wearer) {
    const Corrections found = bench.judged(test::told(wearer)).corrections;
    for (std::size_t i = 0; i < found.corrected_last.mesh.vertices.size(); ++i) {
      const Vec3& before = bench.last.mesh.vertices[i];
      if ((before - on_last).norm() < kSpotRadiusMm && found.corrected_last.mesh.vertices[i] != before) return true;
    }
    return false;
  };
  CHECK(moved_over_mark(Wearer::standard));  // else the test could not fail
  CHECK_FALSE(moved_over_mark(Wearer::unknown));
  CHECK_FALSE(moved_over_mark(Wearer::at_risk));
}

TEST_CASE("a made foot in a last of usual rooms: nothing pinches, nothing is to be changed") {
  const Assessment found = assess(the_fit().evidence(), default_rules(), test::told(Wearer::standard));
  for (const ZoneVerdict& zone : found.zones) {
    CAPTURE(zone_name(zone.clearance.zone));
    CHECK(zone.verdict != Verdict::pinch);
  }
  CHECK(found.verdict != Verdict::pinch);
  CHECK(found.corrections.changes.empty());
}

TEST_CASE("planted defects are found at the right place, and building up cures a pinch") {
  for (const test::Defect& defect : test::planted_defects()) {
    CAPTURE(defect.name);
    const Assessment found = test::planted(the_foot(), coarse_foot().length_mm, coarse_last(), defect).judged();
    CHECK(test::said_by(found, defect.rules) >= defect.at_least);
    check_nothing_got_worse(found);
    CHECK(found.corrections.changes.size() <= 3);  // issue: at most three
    for (const Correction& change : found.corrections.changes) CHECK(change.place.across_mm <= change.place.side_mm);
    const Verdict length = test::said_by(found, {"toe_room", "allowance"});  // a bump does not make a last longer
    if (found.verdict == Verdict::pinch && length != Verdict::pinch)
      CHECK(found.corrections.verdict_after < Verdict::pinch);
    for (const Correction& change : found.corrections.changes) {
      CAPTURE(zone_name(change.zone));
      for (const ZoneVerdict& after : found.corrections.zones_after)
        if (after.clearance.zone == change.zone && change.height_mm > 0.0) CHECK(after.verdict != Verdict::pinch);
    }
  }
}

TEST_CASE("a place on a box last: along its lower edge from the heel point, and up its wall") {
  // 200 by 80 by 50 mm in squares of 5: every distance is a sum of the box's own sides.
  Last last;
  last.mesh = test::gridded_box(200, 80, 50);
  const Vec3 low = bounds(last.mesh).low;
  for (Vec3& v : last.mesh.vertices) v -= low + Vec3(0.0, 40.0, 0.0);
  for (double y = 0.0; y < 40.0; y += 2.0) last.feather_edge.push_back({0.0, y, 0.0});
  for (double x = 0.0; x < 200.0; x += 2.0) last.feather_edge.push_back({x, 40.0, 0.0});
  for (double y = 40.0; y > -40.0; y -= 2.0) last.feather_edge.push_back({200.0, y, 0.0});
  for (double x = 200.0; x > 0.0; x -= 2.0) last.feather_edge.push_back({x, -40.0, 0.0});
  for (double y = -40.0; y < 0.0; y += 2.0) last.feather_edge.push_back({0.0, y, 0.0});
  for (double x = 0.0; x <= 200.0; x += 2.0) last.centre_line.push_back({x, 0.0, 0.0});
  const SignedDistance surface(last.mesh);
  for (const double y : {40.0, -40.0}) {
    const Vec3 at(100.0, y, 20.0);
    std::vector<double> height(last.mesh.vertices.size(), 0.0);
    std::uint32_t peak = 0;
    for (std::uint32_t v = 0; v < last.mesh.vertices.size(); ++v) {
      if ((last.mesh.vertices[v] - at).norm() < 11.0) height[v] = 1.0;  // two squares up and two down
      if ((last.mesh.vertices[v] - at).norm() < 1e-9) peak = v;
    }
    REQUIRE(height[peak] == 1.0);
    const BenchPlace place = bench_place(last, surface, height, peak, false);
    CHECK(place.inside == (y > 0.0));
    // The tape cuts the corner: a right angle evened twice over 18 mm (a triangle of F = u^2 / 2) is shorter by
    // 36 mm times the integral of 1 - sqrt(F^2 + (1 - F)^2) from 0 to 1, 0.130. The heel point is known to half of 2
    // mm, and places 2 mm apart cut a corner by up to (2 - sqrt 2) mm.
    CHECK(place.along_mm == WithinMm{140.0 - 36.0 * 0.130, 1.0 + 0.6});
    CHECK(place.up_mm == WithinMm{20.0, 1.6});  // the edge is met within 1.5 mm
    CHECK(place.side_mm == WithinMm{50.0 + 40.0, 1.6});
    CHECK(place.across_mm == WithinMm{20.0, 2.0 * 5.0});  // out to the last square that is higher than its rim
  }
}
