// Laws of tightening and of its map, on made feet in made lasts.
#include <doctest/doctest.h>

#include <algorithm>
#include <numbers>

#include "assessment/freedom_map.h"
#include "assessment/tightening.h"
#include "assessment_bodies.h"
#include "coarse_fit.h"
#include "near.h"

using namespace lastroom;
using test::coarse_foot;
using test::coarse_last;
using test::finding_about;
using test::Stand;
using test::the_fit;
using test::the_foot;
using test::WithinMm;
using test::zone_of;

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
  const Assessment found = assess(the_fit().evidence(), default_rules(), test::told(Wearer::standard));
  const Tightening& offer = found.tightening;
  REQUIRE(offer.joint_girth_mm > 0.0);
  CHECK(offer.joint_girth_mm <= 25.4 / 4.0 + 1e-6);  // one width fitting (Rossi) at most
  CHECK_FALSE(offer.why.empty());
  const Rules rules = default_rules();
  bool joint_told = false, fifth_toe_told = false;
  for (const Tightening::Effect& effect : offer.effects) {
    CAPTURE(zone_name(effect.zone));
    const Limits& limits = rule_by(rules, rule_of(effect.zone)).standard;
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
  const Assessment found = assess(pressed.evidence(), default_rules(), test::told(Wearer::standard));
  CHECK(found.tightening.joint_girth_mm == 0.0);
  CHECK(english(found.tightening.why).find("fifth toe side") != std::string::npos);
}

TEST_CASE("the four classes cover the last, each where it belongs") {
  const Stand& fit = the_fit();
  const Assessment found = assess(fit.evidence(), default_rules(), test::told(Wearer::standard));
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
  const double usual = standing_out(test::prepared(the_foot())).inside_mm;
  const double large = standing_out(test::prepared(foot)).inside_mm;
  CHECK(large > usual + 2.0);
  const Stand fit = test::stand(foot, bunion.length_mm, coarse_last());
  const Observations seen = observed(fit.evidence());
  const BonyPoints bony = bony_points(seen.standing_out, default_rules(), Wearer::standard);
  CHECK(bony.inside);
  const std::vector<Freedom> map = freedom_map(fit.evidence(), seen, bony, default_rules(), Wearer::standard);
  for (std::size_t i = 0; i < map.size(); ++i)
    if ((fit.last.mesh.vertices[i] - fit.last.first_joint).norm() < 8.0) CHECK(map[i] == Freedom::never_press);
  CHECK_FALSE(bony_points(observed(the_fit().evidence()).standing_out, default_rules(), Wearer::standard).inside);
}

TEST_CASE("a small-toe joint that stands out is never pressed either") {
  // A bell of 10 mm on the skin over the fifth joint: 10 mm more against the chord, less what it adds a tenth of the
  // foot's length away (26 mm, 1.6 bell widths: 10 exp(-1.3) = 2.8 mm on either side).
  MadeFoot foot = the_foot();
  constexpr double kBellMm = 16.0, kHighMm = 10.0;
  for (Vec3& p : foot.mesh.vertices)
    if (p.y() < 0.0) p.y() -= kHighMm * std::exp(-(p - foot.fifth_joint).squaredNorm() / (2.0 * kBellMm * kBellMm));
  foot.fifth_joint.y() -= kHighMm;
  const Stand fit = test::stand(foot, coarse_foot().length_mm, make_last(the_foot(), coarse_last()));
  CHECK(bony_points(observed(fit.evidence()).standing_out, default_rules(), Wearer::standard).outside);
  const Assessment found = fit.judged();
  REQUIRE(finding_about(found, "bony_point"));
  CHECK(finding_about(found, "bony_point")->zone == Zone::outside_joint);
  const std::vector<Freedom> plain = the_fit().judged().tightening.freedom;  // the same last around the plain foot
  const PosedFoot posed(fit.foot.landmarks, fit.registration);
  const Vec3 place = fit.surface.at(posed(foot.fifth_joint)).point_mm;
  int turned = 0;
  for (std::size_t i = 0; i < plain.size(); ++i) {
    if (plain[i] != Freedom::may_tighten || (fit.last.mesh.vertices[i] - place).norm() > 8.0) continue;
    CHECK(found.tightening.freedom[i] == Freedom::never_press);
    ++turned;
  }
  CHECK(turned > 0);
  CHECK_FALSE(finding_about(the_fit().judged(), "bony_point"));
}

TEST_CASE("a marked spot closes its side to tightening, and nothing may be tightened around it") {
  const MadeFoot& made = the_foot();
  const auto near_spot = [](const Stand& s, const Vec3& spot) {
    const PosedFoot posed(s.foot.landmarks, s.registration);
    const Vec3 place = s.surface.at(posed(spot)).point_mm;
    std::vector<std::size_t> near;
    for (std::size_t i = 0; i < s.last.mesh.vertices.size(); ++i)
      if ((s.last.mesh.vertices[i] - place).norm() < 8.0) near.push_back(i);  // 12 mm less two edges
    return near;
  };
  Stand fit = test::stand(made, coarse_foot().length_mm, coarse_last());
  const Tightening before = fit.judged().tightening;
  REQUIRE(before.joint_girth_mm > 0.0);
  bool could = false;
  for (std::size_t i : near_spot(fit, made.first_joint)) could |= before.freedom[i] == Freedom::may_tighten;
  CHECK(could);

  fit.foot.landmarks.never_press = {{made.first_joint, "bunion"}};
  const Tightening inside = fit.judged().tightening;
  for (std::size_t i : near_spot(fit, made.first_joint)) CHECK(inside.freedom[i] == Freedom::never_press);
  CHECK(english(inside.why).find("a spot on the inside is marked") != std::string::npos);
  CHECK(inside.joint_girth_mm < before.joint_girth_mm);
  for (const Tightening::Effect& effect : inside.effects)
    if (effect.zone == Zone::inside_joint) CHECK(effect.after_mm == WithinMm{effect.before_mm, 1e-9});

  fit.foot.landmarks.never_press.push_back({made.toe_tips[4], "nail"});  // goes along with the fifth ray
  const Tightening neither = fit.judged().tightening;
  CHECK(neither.joint_girth_mm == 0.0);
  CHECK(neither.effects.empty());
}

TEST_CASE("pulling in the joint turns the outer toes towards the others") {
  const Evidence evidence = the_fit().evidence();
  const std::vector<Tightening::ToeGap> still = toe_gaps_with_joint_pulled_in(evidence, 0.0);
  REQUIRE(still.size() == 2);
  for (const Tightening::ToeGap& gap : still) CHECK(gap.after_mm == gap.before_mm);
  for (double inward : {1.0, 2.0}) {
    const std::vector<Tightening::ToeGap> gaps = toe_gaps_with_joint_pulled_in(evidence, inward);
    for (std::size_t k = 0; k < gaps.size(); ++k) {
      // A ray turns about its base at 38 % of the foot's length by half of the joint's way: a tip goes further than its
      // joint by the ratio of their levers, at most as far as the gap's own direction lets it.
      const FootLandmarks& marks = evidence.foot.landmarks;
      const double base = 0.38 * coarse_foot().length_mm;
      const bool first = gaps[k].toe == 1;
      const Vec3 &tip = first ? marks.toe_tips[0] : marks.toe_tips[4],
                 &joint = first ? marks.first_joint : marks.fifth_joint;
      const double most = 0.5 * inward * (tip.x() - base) / (joint.x() - base);
      const double closer = gaps[k].before_mm - gaps[k].after_mm;
      CHECK(closer > 0.5 * inward / 2.0);  // further than half the joint's own way
      CHECK(closer <= most * 1.1);         // an arm also has a part across, at most 10 % of its length
      CHECK(gaps[k].before_mm == still[k].before_mm);
    }
  }
  const Tightening offer = the_fit().judged().tightening;
  CHECK(offer.toe_gaps.size() == 2);
}

TEST_CASE("the tightening is the same wherever the last's file lies and however it is turned") {
  const Tightening offer = the_fit().judged().tightening;
  REQUIRE(offer.joint_girth_mm > 0.5);
  // The search ends within 0.01 mm of either side's way; a tape over both shortens by up to twice as much each.
  constexpr double kSearch_mm = 0.04;
  std::vector<Motion> moves;
  for (const double mm : {0.01, 0.02, 0.05, 0.1, 0.2, 0.5}) moves.push_back(Motion(Eigen::Translation3d(mm, -mm, mm)));
  for (const double degrees : {0.1, 33.0}) {
    Motion turn = Motion::Identity();
    turn.rotate(Eigen::AngleAxisd(degrees * std::numbers::pi / 180.0, Vec3::UnitZ()));
    moves.push_back(turn);
  }
  for (const Motion& there : moves) {
    const Stand& fit = the_fit();
    Last last = fit.last;
    last.mesh = moved(last.mesh, there);
    // Through the file's own numbers: what is stood on the bench again has other last digits.
    last.mesh = moved(last.mesh, there.inverse());
    LastMeasures measures = fit.last_measures;
    measures.joint_girth.loop_mm = test::joint_loop(last);
    const Stand again = test::stood(fit.foot, fit.foot_measures, fit.skin, last, measures, fit.registration);
    CHECK(again.judged().tightening.joint_girth_mm == WithinMm{offer.joint_girth_mm, kSearch_mm});
  }
}

TEST_CASE("where no tightening is offered, none is shown on the map") {
  const Tightening none = the_fit().judged(test::told(Wearer::unknown)).tightening;
  REQUIRE(none.joint_girth_mm == 0.0);
  CHECK(std::ranges::count(none.freedom, Freedom::may_tighten) == 0);
  CHECK(none.inside_mm == 0.0);
  const Tightening some = the_fit().judged().tightening;  // else the test could not fail
  CHECK(std::ranges::count(some.freedom, Freedom::may_tighten) > 0);
  CHECK(some.inside_mm > 0.0);
}
