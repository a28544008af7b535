// Every rule just inside and just outside its limit, on bodies whose room is a formula or on values given by hand.
#include <doctest/doctest.h>

#include <numbers>
#include <tuple>

#include "assessment/girth_by_room.h"
#include "assessment/marked_spots.h"
#include "assessment_bodies.h"
#include "near.h"

using namespace lastroom;
using test::ball_bench;
using test::finding_about;
using test::kLastRadius;
using test::roomy;
using test::Stand;
using test::told;
using test::WithinMm;

namespace {

constexpr double kStep = 0.05;  // mm either side of a limit; more than the ball's sag of 0.031 mm

}  // namespace

TEST_CASE("every zone just inside and just outside each of its limits") {
  REQUIRE(test::ball_sag_mm(kLastRadius) < kStep);
  const Rules rules = default_rules();
  for (std::size_t i = 0; i < kZoneCount; ++i)
    for (const Wearer wearer : {Wearer::standard, Wearer::at_risk, Wearer::unknown}) {
      const Zone zone = static_cast<Zone>(i);
      const Rule& rule = rule_by(rules, rule_of(zone));
      const Limits& limits = wearer == Wearer::standard ? rule.standard : rule.at_risk;
      const auto check = [&](double room_mm, Verdict expected, std::optional<double> limit_mm) {
        CAPTURE(zone_name(zone));
        CAPTURE(static_cast<int>(wearer));
        CAPTURE(room_mm);
        AssessmentSettings settings;
        settings.wearer = wearer;
        const Assessment found = ball_bench(kLastRadius - room_mm, kLastRadius, zone, 0.0).judged(settings);
        REQUIRE(found.zones.size() == 1);
        CHECK(found.zones[0].verdict == expected);
        CHECK_FALSE(found.zones[0].undecided);  // without doubt everything is decided
        CHECK(found.zones[0].limit_mm == limits.pinch_below_mm);
        CHECK(found.zones[0].chance_of_pinch == (expected == Verdict::pinch ? 1.0 : 0.0));
        const Finding* finding = finding_about(found, zone_name(zone));
        REQUIRE((finding != nullptr) == (expected != Verdict::clear));
        if (!finding) return;
        CHECK(finding->verdict == expected);
        CHECK(*finding->measured_mm == WithinMm{room_mm, test::ball_sag_mm(kLastRadius)});
        CHECK(*finding->limit_mm == *limit_mm);
        CHECK(finding->source == rule.source);
        CHECK(finding->at_mm->norm() == WithinMm{kLastRadius - room_mm, 1e-9});  // on the skin
      };
      check(limits.pinch_below_mm - kStep, Verdict::pinch, limits.pinch_below_mm);
      check(limits.pinch_below_mm + kStep, Verdict::watch, limits.watch_below_mm);
      check(limits.watch_below_mm - kStep, Verdict::watch, limits.watch_below_mm);
      check(limits.watch_below_mm + kStep, Verdict::clear, {});
      if (!limits.slack_above_mm) {
        check(20.0, Verdict::clear, {});
      } else {
        check(*limits.slack_above_mm - kStep, Verdict::clear, {});
        check(*limits.slack_above_mm + kStep, Verdict::slack, limits.slack_above_mm);
      }
    }
}

TEST_CASE("a measurement that can't decide says so: a normal distribution about the limit") {
  // Table of the standard normal distribution: it lies below 0.7 with 0.7580, below 0.9 with 0.8159, below 1 with
  // 0.8413.
  struct Row {
    double beyond_in_doubts, chance;
    Verdict verdict;
    bool undecided;
  };
  const Row rows[] = {{1.0, 0.8413, Verdict::pinch, false},  {0.9, 0.8159, Verdict::pinch, false},
                      {0.7, 0.7580, Verdict::watch, true},   {0.0, 0.5, Verdict::watch, true},
                      {-0.7, 0.2420, Verdict::watch, true},  {-0.9, 0.1841, Verdict::watch, false},
                      {-1.0, 0.1587, Verdict::watch, false}, {-4.0, 0.0000, Verdict::clear, false}};
  for (double sigma_mm : {0.5, 1.0})
    for (const Row& row : rows) {
      CAPTURE(sigma_mm);
      CAPTURE(row.beyond_in_doubts);
      // instep, standard: pinch below -3 mm, watch below -1.5 mm
      const double room_mm = -3.0 - row.beyond_in_doubts * sigma_mm;
      const ZoneVerdict zone =
          ball_bench(kLastRadius - room_mm, kLastRadius, Zone::instep, sigma_mm).judged().zones.at(0);
      // The room is known to the sag; the density is at most 0.4 / doubt. The table gives four digits.
      CHECK(zone.chance_of_pinch == WithinMm{row.chance, 0.4 * test::ball_sag_mm(kLastRadius) / sigma_mm + 1e-4});
      CHECK(zone.verdict == row.verdict);
      CHECK(zone.undecided == row.undecided);
    }
  const Assessment undecided = ball_bench(kLastRadius + 3.0, kLastRadius, Zone::instep, 1.0).judged();
  CHECK(english(finding_about(undecided, "instep")->advice).find("cannot decide") != std::string::npos);
  CHECK(*finding_about(undecided, "instep")->limit_mm == -3.0);
}

TEST_CASE("area below the limit: half of a ball that is shifted out of a like ball") {
  // Room of a ball of radius r in one of radius R shifted by e is R - |r u - e|; below 0 where u.e < -... ; for r = R
  // and small e it is e.u to first order, so half of the ball is below 0 and arccos(1/3) of it below e/3.
  const Stand bench = ball_bench(kLastRadius, kLastRadius + 0.04, Zone::toe_tops, 0.0, Vec3(0.0, 0.0, 6.0));
  const ZoneVerdict zone = bench.judged().zones.at(0);
  const double ball_mm2 = 4.0 * std::numbers::pi * kLastRadius * kLastRadius;
  // Second order: e^2 / 2r = 0.3 mm shifts the border by 0.3 / 6 of half the ball; vertices are 3.3 mm apart.
  CHECK(zone.area_below_limit_mm2 == doctest::Approx(ball_mm2 / 2.0).epsilon(0.05 + 3.3 / kLastRadius));
  CHECK(zone.clearance.p05_mm == WithinMm{-0.9 * 6.0, 0.5});
}

TEST_CASE("toe room, headroom and allowance by hand, both wearers") {
  const Rules rules = default_rules();
  for (const Wearer wearer : {Wearer::standard, Wearer::at_risk}) {
    CAPTURE(static_cast<int>(wearer));
    AssessmentSettings settings;
    settings.wearer = wearer;
    const auto verdict_with = [&](std::string_view rule, const ToeRoom& toes) {
      Stand bench = roomy();
      bench.toe_room = toes;
      const Assessment found = bench.judged(settings);
      const Finding* finding = finding_about(found, rule);
      return finding ? finding->verdict : Verdict::clear;
    };
    const auto toe_room_of = [](double mm) {
      ToeRoom t;
      t.tip_mm = mm;
      return t;
    };
    const auto headroom_of = [](double mm) {
      ToeRoom t;
      t.headroom_mm[3] = mm;
      return t;
    };
    const auto allowance_of = [](double mm) {
      ToeRoom t;
      t.allowance_mm = mm;
      return t;
    };
    const auto around = [&](std::string_view name, const auto& toes_of) {
      CAPTURE(name);
      const Limits& limits = limits_for(rule_by(rules, *find_rule(name)), wearer);
      CHECK(verdict_with(name, toes_of(limits.pinch_below_mm - 0.01)) == Verdict::pinch);
      CHECK(verdict_with(name, toes_of(limits.pinch_below_mm + 0.01)) == Verdict::watch);
      CHECK(verdict_with(name, toes_of(limits.watch_below_mm - 0.01)) == Verdict::watch);
      CHECK(verdict_with(name, toes_of(limits.watch_below_mm + 0.01)) == Verdict::clear);
      if (limits.slack_above_mm) {
        CHECK(verdict_with(name, toes_of(*limits.slack_above_mm - 0.01)) == Verdict::clear);
        CHECK(verdict_with(name, toes_of(*limits.slack_above_mm + 0.01)) == Verdict::slack);
      }
    };
    around("toe_room", toe_room_of);
    around("headroom", headroom_of);
    around("allowance", allowance_of);
  }
  Stand bench = roomy();
  bench.toe_room.headroom_mm[3] = -1.0;
  bench.toe_room.headroom_sigma_mm[3] = 0.5;
  bench.toe_room.headroom_at_mm[3] = {1.0, 2.0, 3.0};
  const Assessment found = bench.judged();
  const Finding* finding = finding_about(found, "headroom");
  REQUIRE(finding);
  CHECK(english(finding->advice).find("fourth toe") != std::string::npos);
  CHECK(finding->zone == Zone::toe_tops);
  CHECK(*finding->sigma_mm == 0.5);
  CHECK(*finding->at_mm == Vec3(1.0, 2.0, 3.0));
}

TEST_CASE("a marked spot just inside and just outside its limits, and one that can't be measured") {
  const Rules rules = default_rules();
  for (const Wearer wearer : {Wearer::standard, Wearer::at_risk}) {
    CAPTURE(static_cast<int>(wearer));
    AssessmentSettings settings;
    settings.wearer = wearer;
    const Limits& limits = limits_for(rule_by(rules, *find_rule("marked_spot")), wearer);
    const auto check = [&](double room_mm, Verdict expected) {
      CAPTURE(room_mm);
      // The seat may stand out by 1 mm and more: only the spot is tight.
      Stand bench = ball_bench(kLastRadius - room_mm, kLastRadius, Zone::seat, 0.0);
      bench.foot.landmarks.never_press = {{Vec3(0.0, kLastRadius, 0.0), "a nail"}};
      const Assessment found = bench.judged(settings);
      const Finding* finding = finding_about(found, "marked_spot");
      REQUIRE(finding);  // a mark is answered also when it has its room
      CHECK(finding->verdict == expected);
      CHECK(*finding->measured_mm == WithinMm{room_mm, test::ball_sag_mm(kLastRadius)});
      CHECK(finding->zone == Zone::seat);
      CHECK(english(finding->advice).find("(“a nail”)") != std::string::npos);
      CHECK((*finding->at_mm - Vec3(0.0, kLastRadius - room_mm, 0.0)).norm() < 4.0);  // vertices are 3.3 mm apart
    };
    check(limits.pinch_below_mm - kStep, Verdict::pinch);
    check(limits.pinch_below_mm + kStep, Verdict::watch);
    check(limits.watch_below_mm - kStep, Verdict::watch);
    check(limits.watch_below_mm + kStep, Verdict::clear);
  }
  Stand unseen = ball_bench(kLastRadius - 2.5, kLastRadius, Zone::none, 0.0);
  unseen.foot.landmarks.never_press = {{Vec3(0.0, kLastRadius, 0.0), ""}};
  const Assessment found = unseen.judged();
  REQUIRE(finding_about(found, "marked_spot"));
  CHECK(finding_about(found, "marked_spot")->verdict == Verdict::watch);
  CHECK_FALSE(finding_about(found, "marked_spot")->measured_mm);
}

TEST_CASE("what presses a marked spot is a pinch, whatever the doubt and the limits") {
  for (const Wearer wearer : {Wearer::standard, Wearer::unknown, Wearer::at_risk}) {
    CAPTURE(static_cast<int>(wearer));
    // Pressed by 0.2 mm with a doubt of 3: a chance of 0.53, which decides nothing elsewhere.
    Stand bench = ball_bench(kLastRadius + 0.2, kLastRadius, Zone::seat, 3.0);
    bench.foot.landmarks.never_press = {{Vec3(0.0, kLastRadius, 0.0), "corn"}};
    Assessment found = bench.judged(test::told(wearer));
    REQUIRE(finding_about(found, "marked_spot"));
    CHECK(*finding_about(found, "marked_spot")->measured_mm < 0.0);
    CHECK(finding_about(found, "marked_spot")->verdict == Verdict::pinch);
    CHECK(found.verdict == Verdict::pinch);
    // A rules file may not say otherwise.
    Rules lax = default_rules();
    for (Rule& rule : lax.rules)
      if (rule.id == RuleId::marked_spot)
        for (Limits* limits : {&rule.standard, &rule.at_risk}) limits->pinch_below_mm = limits->watch_below_mm = -9.0;
    found = assess(bench.evidence(), lax, test::told(wearer));
    CHECK(finding_about(found, "marked_spot")->verdict == Verdict::pinch);
    // Only the mark itself, a hard and small thing, within skin that has room.
    Stand point = ball_bench(kLastRadius - 3.0, kLastRadius, Zone::seat, 0.0);
    point.foot.landmarks.never_press = {{Vec3(0.0, kLastRadius, 0.0), ""}};
    const std::uint32_t mark = posed_spots(point.foot, point.skin, point.clearance).at(0).vertex;
    point.clearance.clearance_mm[mark] = -0.1;
    found = point.judged(test::told(wearer));
    CHECK(finding_about(found, "marked_spot")->verdict == Verdict::pinch);
  }
}

TEST_CASE("at risk, what is advised for a marked spot and its zone leaves the clinician the last word") {
  Stand bench = ball_bench(kLastRadius + 6.0, kLastRadius, Zone::instep, 0.5);
  bench.foot.landmarks.never_press = {{Vec3(0.0, kLastRadius, 0.0), "corn"}};
  for (const Wearer wearer : {Wearer::standard, Wearer::unknown, Wearer::at_risk}) {
    const Assessment found = bench.judged(test::told(wearer));
    for (const Finding& finding : found.findings) {
      if (finding.zone != Zone::instep) continue;
      CAPTURE(rule_name(finding.rule));
      const bool asks = english(finding.advice).find("clinician") != std::string::npos;
      CHECK(asks == (wearer != Wearer::standard));
    }
  }
}

TEST_CASE("a joint that stands out just less and just more than a bony point may") {
  // A ball of radius R stands out of the chord between the slices 25 mm off (their near side 22 mm, no vertex further
  // than 1 mm from there) by R - sqrt(R^2 - 22^2) to R - sqrt(R^2 - 23^2): 5.3 to 5.9 mm or 6.6 to 7.3 mm; limit 6 mm.
  for (const auto& [radius_mm, stands_out] : {std::pair{48.0, false}, std::pair{40.0, true}}) {
    Stand bench = ball_bench(radius_mm, radius_mm + 2.5, Zone::instep, 0.0);
    bench.foot.landmarks.first_joint = {0.0, radius_mm, 0.0};
    bench.foot.landmarks.fifth_joint = {0.0, -radius_mm, 0.0};
    const Assessment found = bench.judged();
    const Finding* finding = finding_about(found, "bony_point");
    REQUIRE((finding != nullptr) == stands_out);
    if (!finding) continue;
    CHECK(finding->verdict == Verdict::watch);
    CHECK(*finding->measured_mm >= radius_mm - std::sqrt(radius_mm * radius_mm - 22.0 * 22.0) - 0.05);
    CHECK(*finding->measured_mm <= radius_mm - std::sqrt(radius_mm * radius_mm - 23.0 * 23.0) + 0.05);
  }
}

TEST_CASE("room across the toes: both sides together") {
  // Half of the skin beside the big toe, half beside the fifth; room is -1.5 and -0.45: each within its own limit of -2
  // and just beyond 0; together -1.95 or -2.05 about the limit of -2.
  for (double fifth : {-0.45, -0.55}) {
    Stand bench = roomy();
    for (std::size_t i = 0; i < bench.skin.zone.size(); ++i) {
      const bool inside = bench.foot.mesh.vertices[i].y() > 0.0;
      bench.skin.zone[i] = inside ? Zone::big_toe_side : Zone::fifth_toe_side;
      bench.clearance.clearance_mm[i] = inside ? -1.5 : fifth;
    }
    const Assessment found = bench.judged();
    const Finding* finding = finding_about(found, "toe_width_room");
    REQUIRE(finding);
    CHECK(*finding->measured_mm == WithinMm{-1.5 + fifth, 1e-12});
    CHECK(finding->verdict == (fifth < -0.5 ? Verdict::pinch : Verdict::watch));
  }
}

TEST_CASE("lengths and girths of last and foot, just inside and just outside") {
  const auto is_watched = [](std::string_view rule, const AssessmentSettings& settings, const auto& change) {
    Stand bench = roomy();
    change(bench);
    const Assessment found = bench.judged(settings);
    const Finding* finding = finding_about(found, rule);
    if (finding) CHECK(finding->verdict == Verdict::watch);
    return finding != nullptr;
  };
  const AssessmentSettings standard = test::told(Wearer::standard), at_risk = test::told(Wearer::at_risk);
  for (double sign : {-1.0, 1.0})
    for (double beyond : {-0.01, 0.01}) {
      CAPTURE(sign);
      CAPTURE(beyond);
      const bool expected = beyond > 0.0;
      const auto joint_girth = [&](double sock_girth_mm) {
        return [=](Stand& b) {
          b.foot_measures.joint_girth.mm = 250.0;
          // One width fitting, 1/4 inch (Rossi, The Complete Footwear Dictionary).
          b.last_measures.joint_girth.mm = 250.0 + sock_girth_mm + sign * (25.4 / 4.0 + beyond);
        };
      };
      CHECK(is_watched("joint_girth", at_risk, joint_girth(0.0)) == expected);
      // A convex outline grown by t is 2 pi t longer (Steiner).
      const auto socked_joint_girth = [&](Stand& b) {
        b.clearance.sock_mm = 2.0;
        joint_girth(2.0 * std::numbers::pi * 2.0)(b);
      };
      CHECK(is_watched("joint_girth", at_risk, socked_joint_girth) == expected);
      // Width fittings of 1/4 inch that the rules file allows.
      const std::tuple<const char*, double, Girth FootMeasures::*, Girth LastMeasures::*> loosely_compared[] = {
          {"waist_girth", 2.0, &FootMeasures::waist_girth, &LastMeasures::waist_girth},
          {"instep_girth", 2.0, &FootMeasures::instep_girth, &LastMeasures::instep_girth},
          {"heel_girth", 4.0, &FootMeasures::heel_girth, &LastMeasures::heel_girth}};
      for (const auto& row : loosely_compared)
        CHECK(is_watched(std::get<0>(row), at_risk, [&row, sign, beyond](Stand& b) {
                (b.foot_measures.*std::get<2>(row)).mm = 240.0;
                (b.last_measures.*std::get<3>(row)).mm = 240.0 + sign * (std::get<1>(row) * 25.4 / 4.0 + beyond);
              }) == expected);
      const auto joint_ahead = [&](double mm) {
        return [=](Stand& b) {
          b.foot.landmarks.heel = Vec3::Zero();
          b.foot.landmarks.first_joint = {190.0, 40.0, 20.0};
          b.foot.landmarks.first_joint_sigma_mm = 2.0;
          b.last_measures.heel_to_joint_mm = 190.0 + sign * mm;
        };
      };
      CHECK(is_watched("heel_to_joint", at_risk, joint_ahead(4.0 + beyond)) == expected);
      // Four chances in five: 0.84 standard deviations of the scan's 1.5 mm (Lee, Lin, Wang 2014) and the joint's 2.
      CHECK(is_watched("heel_to_joint", standard, joint_ahead(4.0 + 0.84 * 2.5 + beyond)) == expected);
      AssessmentSettings taped = standard;
      taped.tape_joint_mm = 250.0 + sign * (3.0 + beyond);
      CHECK(is_watched("taped_joint_girth", taped, [](Stand& b) { b.foot_measures.joint_girth.mm = 250.0; }) ==
            expected);
    }
  for (double beyond : {-0.01, 0.01}) {
    const auto heel = [&](Stand& b) { b.last_measures.heel_height_mm = 20.0 + beyond; };  // Bergin et al. 2013: 20 mm
    CHECK(is_watched("heel_height", at_risk, heel) == (beyond > 0.0));
    CHECK_FALSE(is_watched("heel_height", standard, heel));
  }
  CHECK_FALSE(is_watched("joint_girth", standard, [](Stand&) {}));  // nothing measured, nothing said
}

TEST_CASE("a girth that the room along the tape tells too is told of the zones, one that it denies is watched") {
  // A tape round a ball of 40 mm in one of 45: 5 mm of room all round, and 2 pi 5 mm more of girth (Steiner).
  Stand bench = ball_bench(40.0, 45.0, Zone::instep, 0.0);
  std::vector<Vec3> loop;
  for (int i = 0; i < 72; ++i)
    loop.push_back(40.0 * Vec3(0.0, std::cos(i * std::numbers::pi / 36.0), std::sin(i * std::numbers::pi / 36.0)));
  bench.foot_measures.joint_girth = {2.0 * std::numbers::pi * 40.0, loop};
  const double more_mm = 2.0 * std::numbers::pi * 5.0;
  const std::optional<double> by_room_mm = girth_by_room_mm(bench.foot_measures.joint_girth, bench.evidence());
  REQUIRE(by_room_mm.has_value());
  CHECK(*by_room_mm == WithinMm{more_mm, 2.0 * std::numbers::pi * test::ball_sag_mm(45.0)});
  for (const double off_mm : {0.0, 12.0, 13.0}) {
    CAPTURE(off_mm);
    bench.last.mesh = test::ball(45.0 + off_mm / (2.0 * std::numbers::pi));  // where a tape is laid, and no skin meets
    bench.last_measures.joint_girth.mm = bench.foot_measures.joint_girth.mm + more_mm + off_mm;
    CHECK((finding_about(bench.judged(), "joint_girth") != nullptr) == (off_mm > 12.7));
    AssessmentSettings at_risk;
    at_risk.wearer = Wearer::at_risk;
    CHECK(finding_about(bench.judged(at_risk), "joint_girth") != nullptr);  // 31 mm are no room to leave unsaid there
  }
}

TEST_CASE("a raised heel shortens the foot's heel-to-joint length along the last") {
  Stand bench = roomy();
  bench.foot.landmarks.heel = Vec3::Zero();
  bench.foot.landmarks.first_joint = {190.0, 40.0, 0.0};
  bench.registration.last_from_foot = Motion(Eigen::AngleAxisd(0.3, Vec3::UnitY()));  // 60 mm of heel or so
  bench.last_measures.heel_to_joint_mm = 190.0 * std::cos(0.3);
  CHECK_FALSE(finding_about(bench.judged(), "heel_to_joint"));
  bench.last_measures.heel_to_joint_mm = 190.0;  // 8.5 mm too long
  const Assessment found = bench.judged();
  REQUIRE(finding_about(found, "heel_to_joint"));
  CHECK(*finding_about(found, "heel_to_joint")->measured_mm == WithinMm{190.0 * (1.0 - std::cos(0.3)), 1e-9});
}

TEST_CASE("a straight outline does not tell where its joint is, whichever way it points") {
  constexpr double kJoint = 150.0, kFootJoint = 183.0;
  // Inside borders of a last that is widest at 150 mm: straight, and falling off by 0.02 d^2. A place d from the usual
  // one, at 0.67 of the last's 250 mm, counts as 0.5 (d / 10)^2 narrower; the sum of both falls from its top by the
  // repeat error of a dimension, 1.5 mm (Lee, Lin, Wang 2014), in sqrt(1.5 / sum of the two factors).
  constexpr double kUsual = 0.67 * 250.0, kFallsOff = 0.02, kPlace = 0.005, kRepeats = 1.5;
  const auto bench_with = [&](double falls_off, double turned_rad) {
    Stand bench = roomy();
    const Motion turn(Eigen::AngleAxisd(turned_rad, Vec3::UnitZ()));
    bench.registration.last_from_foot = turn;
    bench.foot.landmarks.heel = Vec3::Zero();
    bench.foot.landmarks.first_joint = {kFootJoint, 40.0, 10.0};
    bench.last.centre_line = {Vec3::Zero(), turn * Vec3(250.0, 0.0, 0.0)};
    bench.last_measures.heel_to_joint_mm = kJoint;
    for (double x = 0.0; x < 250.0; x += 0.25)
      bench.last.mesh.vertices.push_back(turn * Vec3(x, 40.0 - falls_off * std::pow(x - kJoint, 2), 10.0));
    return bench;
  };
  for (const double turned_rad : {0.0, 0.1}) {
    CAPTURE(turned_rad);
    CHECK_FALSE(finding_about(bench_with(0.0, turned_rad).judged(), "heel_to_joint"));
    CHECK(finding_about(bench_with(0.0, turned_rad).judged(told(Wearer::at_risk)), "heel_to_joint"));
    const Assessment peaked = bench_with(kFallsOff, turned_rad).judged();
    REQUIRE(finding_about(peaked, "heel_to_joint"));
    const double top = (kFallsOff * kJoint + kPlace * kUsual) / (kFallsOff + kPlace);
    CHECK(*finding_about(peaked, "heel_to_joint")->measured_mm ==
          WithinMm{top + std::sqrt(kRepeats / (kFallsOff + kPlace)) - kFootJoint, 0.25});
  }
}

TEST_CASE("a last that is wider beside the toes than at its joint has its joint where it is") {
  constexpr double kJoint = 180.0, kToes = 200.0;  // of 250 mm: no joint lies before 0.77
  Stand bench = roomy();
  bench.foot.landmarks.heel = Vec3::Zero();
  bench.last.centre_line = {Vec3::Zero(), Vec3(250.0, 0.0, 0.0)};
  bench.last_measures.heel_to_joint_mm = 165.0;  // where a prior and the wide toes draw it
  for (double x = 0.0; x < 250.0; x += 0.25)
    bench.last.mesh.vertices.emplace_back(x, x > kToes ? 43.0 : 40.0 - 0.02 * std::pow(x - kJoint, 2), 10.0);
  for (const double foot_joint : {160.0, kJoint}) {
    bench.foot.landmarks.first_joint = {foot_joint, 40.0, 10.0};
    CHECK((finding_about(bench.judged(), "heel_to_joint") != nullptr) == (foot_joint < kJoint));
  }
}

TEST_CASE("without advice the same is found") {
  const Stand bench = ball_bench(kLastRadius + 1.0, kLastRadius, Zone::fifth_toe_side, 0.0);
  AssessmentSettings settings = told(Wearer::standard);
  const Assessment advised = bench.judged(settings);
  settings.advice = false;
  const Assessment found = bench.judged(settings);
  CHECK(found.verdict == Verdict::pinch);
  CHECK(advised.verdict == found.verdict);
  REQUIRE(advised.findings.size() == found.findings.size());
  for (std::size_t i = 0; i < found.findings.size(); ++i) {
    CHECK(advised.findings[i].rule == found.findings[i].rule);
    CHECK(advised.findings[i].measured_mm == found.findings[i].measured_mm);
  }
  CHECK_FALSE(advised.tightening.freedom.empty());
  CHECK(found.tightening.freedom.empty());
}

TEST_CASE("a zone that is pressed at its border and slack in its middle is told as both") {
  // A ball of 40 mm in one of 50 mm, 13 mm off its middle: 3 mm through it at one end, 10 mm of room half way round,
  // and a twentieth of its area, a cap of cos = 0.9, at 10 - 0.9 x 13 = -1.7 mm or less, to second order.
  const Assessment found = ball_bench(40.0, 50.0, Zone::instep, 0.0, Vec3(0.0, 0.0, 13.0)).judged();
  std::vector<Verdict> said;
  for (const Finding& finding : found.findings)
    if (finding.rule == rule_of(Zone::instep)) said.push_back(finding.verdict);
  CHECK(said == std::vector{Verdict::watch, Verdict::slack});
  CHECK(found.verdict == Verdict::watch);
}
