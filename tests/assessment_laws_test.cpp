// Laws of judgement, tightening and correction: on balls, where the answer is a formula, and on made feet in made
// lasts.
#include <doctest/doctest.h>

#include "assessment/bump.h"
#include "assessment/freedom_map.h"
#include "assessment/skin_sample.h"
#include "assessment/tightening.h"
#include "assessment_bodies.h"
#include "near.h"
#include "planted.h"

using namespace lastroom;
using test::ball_bench;
using test::Stand;
using test::WithinMm;

namespace {

constexpr double kMayGetWorseMm = 0.2;  // issue: no other zone gets worse by more

/// A pair that fits: the made foot in the made last of usual rooms, meshed as coarsely as the laws allow.
FootShape coarse_foot() {
  FootShape shape;
  shape.edge_mm = 3.0;
  return shape;
}

LastShape coarse_last() {
  LastShape shape;
  shape.edge_mm = 3.5;
  shape.toe = ToeStyle::squared;
  return shape;
}

const MadeFoot& the_foot() {
  static const MadeFoot foot = make_foot(coarse_foot());
  return foot;
}

const Stand& the_fit() {
  static const Stand fit = test::stand(the_foot(), coarse_foot().length_mm, coarse_last());
  return fit;
}

const ZoneClearance* zone_of(const std::vector<ZoneVerdict>& zones, Zone zone) {
  for (const ZoneVerdict& z : zones)
    if (z.clearance.zone == zone) return &z.clearance;
  return nullptr;
}

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
  REQUIRE(found.corrections.changes.size() >= 1);
  bool at_the_joint = false;
  for (const Correction& change : found.corrections.changes) {
    CHECK(change.height_mm > 0.0);
    if (change.zone != Zone::inside_joint) continue;
    at_the_joint = true;
    // The zone is a cap about +y: so is the patch's middle, on the last's surface.
    CHECK(change.centre_mm.x() == WithinMm{0.0, 6.0});
    CHECK(change.centre_mm.y() == WithinMm{55.0, 1.0});
    CHECK(change.inside);
    CHECK(change.length_mm >= 2.0 * 59.0 * std::sqrt(1.0 - 0.81));  // it covers the cap
  }
  CHECK(at_the_joint);
  CHECK(found.corrections.corrected_last.triangles == bench.last.mesh.triangles);
  for (const ZoneVerdict& zone : found.corrections.zones_after) CHECK(zone.verdict != Verdict::pinch);
  check_nothing_got_worse(found);
  // What the report shows as "after" is what anyone measures on the corrected last.
  const SignedDistance corrected(found.corrections.corrected_last);
  const ClearanceField again =
      clearance_between(bench.foot, bench.registration, 250.0, corrected, {.scan_error_mm = 0.5});
  for (const ZoneClearance& zone : by_zone(again, bench.skin))
    CHECK(zone.p05_mm == WithinMm{zone_of(found.corrections.zones_after, zone.zone)->p05_mm, 1e-9});
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

TEST_CASE("a made foot in a last of usual rooms: nothing pinches, nothing is to be changed") {
  const Assessment found = assess(the_fit().evidence(), default_rules(), {});
  for (const ZoneVerdict& zone : found.zones) {
    CAPTURE(zone_name(zone.clearance.zone));
    CHECK(zone.verdict != Verdict::pinch);
  }
  CHECK(found.verdict != Verdict::pinch);
  CHECK(found.corrections.changes.empty());
}

TEST_CASE("pulling in the joint never takes room from the fifth toe, and more of it never helps the joint") {
  const Evidence evidence = the_fit().evidence();
  std::vector<ZoneClearance> before = with_joint_pulled_in(evidence, 0.0, true, true);
  const std::vector<ZoneClearance> unchanged = before;
  constexpr double kRounding = 1e-9;
  for (double inward : {0.5, 1.0, 2.0, 4.0}) {
    CAPTURE(inward);
    const std::vector<ZoneClearance> after = with_joint_pulled_in(evidence, inward, true, true);
    const auto gain = [&](Zone zone, const std::vector<ZoneClearance>& from) {
      return find_zone(after, zone)->p05_mm - find_zone(from, zone)->p05_mm;
    };
    CHECK(gain(Zone::fifth_toe_side, unchanged) >= -kRounding);
    CHECK(gain(Zone::inside_joint, before) <= kRounding);
    CHECK(gain(Zone::outside_joint, before) <= kRounding);
    // The bones follow by half: the joint's skin loses at most what the last moved, at least nothing.
    CHECK(gain(Zone::inside_joint, unchanged) >= -inward - kRounding);
    before = after;
  }
}

TEST_CASE("the tightening that is offered leaves every zone within its limits, and names what stops it") {
  const Assessment found = assess(the_fit().evidence(), default_rules(), {});
  const Tightening& offer = found.tightening;
  REQUIRE(offer.joint_girth_mm > 0.0);
  CHECK(offer.joint_girth_mm <= 25.4 / 4.0 + 1e-6);  // one width fitting (Rossi) at most
  CHECK_FALSE(offer.why.empty());
  const Rules rules = default_rules();
  bool joint_told = false, fifth_toe_told = false;
  for (const Tightening::Effect& effect : offer.effects) {
    CAPTURE(zone_name(effect.zone));
    const Limits& limits = rule_named(rules, zone_name(effect.zone)).standard;
    CHECK(effect.before_mm == zone_of(found.zones, effect.zone)->p05_mm);
    if (effect.before_mm >= limits.watch_below_mm) CHECK(effect.after_mm >= limits.watch_below_mm);
    joint_told |= effect.zone == Zone::inside_joint && effect.after_mm < effect.before_mm;
    fifth_toe_told |= effect.zone == Zone::fifth_toe_side;
  }
  CHECK(joint_told);
  CHECK(fifth_toe_told);
}

TEST_CASE("nothing is offered at risk, when not known, or while something presses") {
  for (const Wearer wearer : {Wearer::at_risk, Wearer::unknown}) {
    AssessmentSettings settings;
    settings.wearer = wearer;
    const Assessment found = assess(the_fit().evidence(), default_rules(), settings);
    CHECK(found.tightening.joint_girth_mm == 0.0);
    CHECK(found.tightening.effects.empty());
    CHECK(found.tightening.area_mm2[static_cast<std::size_t>(Freedom::may_tighten)] == 0.0);
  }
  LastShape pressing = coarse_last();
  pressing.room.fifth_toe_side = -2.0;
  const Stand pressed = test::stand(the_foot(), coarse_foot().length_mm, pressing);
  const Assessment found = assess(pressed.evidence(), default_rules(), {});
  CHECK(found.tightening.joint_girth_mm == 0.0);
  CHECK(found.tightening.why.find("fifth toe side") != std::string::npos);
}

TEST_CASE("the four classes cover the last, each where it belongs") {
  const Stand& fit = the_fit();
  const Assessment found = assess(fit.evidence(), default_rules(), {});
  const Tightening& map = found.tightening;
  REQUIRE(map.freedom.size() == fit.last.mesh.vertices.size());
  double total = 0.0;
  for (double area : map.area_mm2) {
    CHECK(area > 0.0);
    total += area;
  }
  CHECK(total == doctest::Approx(area_mm2(fit.last.mesh)).epsilon(1e-9));
  const double tip_x = fit.toe_room.tip_at_mm.x();
  for (std::size_t i = 0; i < map.freedom.size(); ++i) {
    const Vec3& p = fit.last.mesh.vertices[i];
    if (p.x() > tip_x + 6.0) REQUIRE(map.freedom[i] == Freedom::free_to_style);  // 2 mm and the reach of a cell
    if (p.x() < 0.5 * tip_x) REQUIRE(map.freedom[i] != Freedom::free_to_style);
    if (p.x() < 0.25 * tip_x) REQUIRE(map.freedom[i] == Freedom::keep);
    if (map.freedom[i] == Freedom::may_tighten) REQUIRE(p.x() < 0.85 * tip_x);
  }
  // No skin of the fifth toe's side lies behind a place that may be tightened.
  for (std::size_t i = 0; i < fit.skin.zone.size(); ++i) {
    if (fit.skin.zone[i] != Zone::fifth_toe_side || fit.skin.toe[i] != 5) continue;
    const Vec3& place = fit.clearance.last_point_mm[i];
    const auto nearest = std::min_element(
        fit.last.mesh.vertices.begin(), fit.last.mesh.vertices.end(),
        [&](const Vec3& a, const Vec3& b) { return (a - place).squaredNorm() < (b - place).squaredNorm(); });
    REQUIRE(map.freedom[static_cast<std::size_t>(nearest - fit.last.mesh.vertices.begin())] != Freedom::may_tighten);
    i += 20;  // a few of them
  }
}

TEST_CASE("a joint that stands out is never pressed") {
  FootShape bunion = coarse_foot();
  bunion.bunion_mm = 8.0;
  const MadeFoot foot = make_foot(bunion);
  const double usual = standing_out(test::prepared(the_foot()), coarse_foot().length_mm).inside_mm;
  const double large = standing_out(test::prepared(foot), bunion.length_mm).inside_mm;
  CHECK(large > usual + 2.0);
  const Stand fit = test::stand(foot, bunion.length_mm, coarse_last());
  const BonyPoints bony = bony_points(fit.evidence(), default_rules(), Wearer::standard);
  CHECK(bony.inside);
  const std::vector<Freedom> map = freedom_map(fit.evidence(), default_rules(), Wearer::standard);
  for (std::size_t i = 0; i < map.size(); ++i)
    if ((fit.last.mesh.vertices[i] - fit.last.first_joint).norm() < 8.0) CHECK(map[i] == Freedom::never_press);
  CHECK_FALSE(bony_points(the_fit().evidence(), default_rules(), Wearer::standard).inside);
}

TEST_CASE("planted defects are found at the right place, and building up cures a pinch") {
  for (const test::Defect& defect : test::planted_defects()) {
    CAPTURE(defect.name);
    const Assessment found = test::planted(the_foot(), coarse_foot().length_mm, coarse_last(), defect).judged();
    CHECK(test::said_by(found, defect.rules) >= defect.at_least);
    check_nothing_got_worse(found);
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
