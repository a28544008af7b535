// What is said of foot, last and scan as facts, and how verdicts and findings add up.
#include <doctest/doctest.h>

#include <cmath>

#include "assessment/judge.h"
#include "assessment_bodies.h"
#include "coarse_fit.h"

using namespace lastroom;
using test::ball_bench;
using test::finding_about;
using test::kLastRadius;
using test::roomy;
using test::Stand;
using test::the_fit;

namespace {

/// The rules that spoke. A ball has one zone: that the others were not measured is another test's business.
std::vector<std::string> all_but_gaps(const Assessment& found) {
  std::vector<std::string> rules;
  for (const Finding& finding : found.findings)
    if (finding.rule != RuleId::zone_not_measured) rules.emplace_back(rule_name(finding.rule));
  return rules;
}

}  // namespace

TEST_CASE("no verdict on a pose in doubt") {
  for (const char* reason : {"The heel is missing.", ""}) {
    Stand bench = ball_bench(kLastRadius + 9.0, kLastRadius, Zone::instep, 0.0);
    bench.toe_room.tip_mm = -5.0;
    if (std::string_view(reason) != "") bench.registration.doubt_reason = own_text(reason);
    bench.registration.converged = std::string_view(reason) != "";
    const Assessment found = bench.judged();
    CHECK(found.verdict == Verdict::none);
    CHECK(found.zones.empty());
    REQUIRE_FALSE(found.findings.empty());
    CHECK(found.findings[0].rule == RuleId::pose_in_doubt);
    CHECK(found.findings[0].verdict == Verdict::none);
    CHECK(english(found.findings[0].advice).find(reason) == 0);
    CHECK_FALSE(finding_about(found, "toe_room"));
    CHECK(found.tightening.joint_girth_mm == 0.0);
    CHECK(found.tightening.freedom.size() == bench.last.mesh.vertices.size());
    CHECK(found.corrections.changes.empty());
  }
}

TEST_CASE("foot and last of opposite sides: no verdict; a straight last turned over is told") {
  Stand bench = roomy();
  bench.foot.side = Side::left;
  Assessment found = bench.judged();
  CHECK(found.verdict == Verdict::none);
  CHECK(found.zones.empty());
  CHECK(found.findings.at(0).rule == RuleId::opposite_sides);

  bench.foot.side = Side::right;
  CHECK_FALSE(finding_about(bench.judged(), "straight_last"));
  bench.last.turned_over = true;
  found = bench.judged();
  CHECK(found.verdict == Verdict::watch);
  CHECK(found.zones.size() == 1);
  CHECK(finding_about(found, "straight_last"));
  CHECK_FALSE(finding_about(found, "opposite_sides"));
}

TEST_CASE("facts about scan and foot") {
  const auto found_with = [](const auto& change) {
    Stand bench = roomy();
    change(bench);
    return bench.judged();
  };
  CHECK(all_but_gaps(found_with([](Stand&) {})).empty());
  for (const auto& [chance, expected] : {std::pair{0.19, false}, std::pair{0.21, true}}) {
    const Assessment found = found_with([&](Stand& b) { b.foot.chance_of_wrong_side = chance; });
    CHECK((finding_about(found, "side_in_doubt") != nullptr) == expected);
    const Assessment told = found_with([&](Stand& b) {
      b.foot.chance_of_wrong_side = chance;
      b.foot.side_from = Told::by_option;
    });
    CHECK_FALSE(finding_about(told, "side_in_doubt"));
  }
  CHECK(finding_about(found_with([](Stand& b) { b.foot.sole_missing = true; }), "sole_missing"));
  const Assessment odd = found_with([](Stand& b) {
    b.foot_measures.outside_population = {own_text("Very wide."), own_text("Very short.")};
  });
  CHECK(all_but_gaps(odd) == std::vector<std::string>{"outside_population", "outside_population"});
  CHECK(english(odd.findings[0].advice).starts_with("Very wide."));
  CHECK(odd.verdict == Verdict::watch);
  const Rules rules = default_rules();
  for (const char* name : {"foot_likeness", "last_likeness"})
    for (double beyond : {-0.01, 0.01}) {
      const Assessment found = found_with([&](Stand& b) {
        (name[0] == 'f' ? b.foot.likeness_mm : b.last.likeness_mm) =
            *rule_by(rules, *find_rule(name)).standard.watch_above_mm + beyond;
      });
      CHECK((finding_about(found, name) != nullptr) == (beyond > 0.0));
    }
}

TEST_CASE("a foot at risk, or not known, is never plainly clear, and nothing is tightened") {
  for (const Wearer wearer : {Wearer::at_risk, Wearer::unknown}) {
    AssessmentSettings settings;
    settings.wearer = wearer;
    const Assessment found = roomy().judged(settings);
    CHECK(found.zones.at(0).verdict == Verdict::clear);
    CHECK(found.verdict == Verdict::watch);
    const Finding* caution = finding_about(found, wearer == Wearer::at_risk ? "at_risk_wearer" : "unknown_wearer");
    REQUIRE(caution);
    CHECK(english(caution->advice).find("his report alone must not clear a shoe") != std::string::npos);
    CHECK(found.tightening.joint_girth_mm == 0.0);
    CHECK(found.tightening.effects.empty());
    CHECK(english(found.tightening.why).starts_with("None is offered"));
    for (const Freedom freedom : found.tightening.freedom) REQUIRE(freedom != Freedom::may_tighten);
  }
}

TEST_CASE("the worst finding comes first, and slack alone is something to watch") {
  Stand bench = roomy();
  for (std::size_t i = 0; i < bench.skin.zone.size(); ++i) {
    const double up = bench.foot.mesh.vertices[i].z();
    bench.skin.zone[i] = up > 20.0 ? Zone::toe_tops : up > 0.0 ? Zone::seat : up > -20.0 ? Zone::arch : Zone::waist;
    bench.clearance.clearance_mm[i] = up > 20.0 ? -1.0 : up > 0.0 ? -7.0 : up > -20.0 ? 9.0 : -1.5;
  }
  bench.toe_room.tip_mm = 8.0;
  const Assessment found = bench.judged();
  CHECK(all_but_gaps(found) == std::vector<std::string>{"seat", "toe_tops", "toe_room", "waist", "arch"});
  CHECK(found.verdict == Verdict::pinch);

  const Assessment slack = ball_bench(kLastRadius - 4.5, kLastRadius, Zone::arch, 0.0).judged();
  CHECK(slack.zones.at(0).verdict == Verdict::slack);
  CHECK(slack.verdict == Verdict::watch);
}

namespace {

/// The made foot in its last, with a hole in the scan: the skin of these vertices is not judged.
template <class Missing>
Stand with_hole(const Missing& missing) {
  Stand s = test::stand(test::the_foot(), test::coarse_foot().length_mm, test::coarse_last());
  for (std::size_t i = 0; i < s.skin.zone.size(); ++i)
    if (missing(s.skin.zone[i], s.foot.mesh.vertices[i])) s.clearance.on_rim[i] = 1;
  return s;
}

std::vector<Zone> gaps_told(const Assessment& found) {
  std::vector<Zone> zones;
  for (const Finding& finding : found.findings)
    if (finding.rule == RuleId::zone_not_measured) zones.push_back(*finding.zone);
  return zones;
}

}  // namespace

TEST_CASE("a zone that was hardly measured is told, and never counts as clear") {
  CHECK(gaps_told(assess(the_fit().evidence(), default_rules(), test::told(Wearer::standard))).empty());

  const Assessment none = with_hole([](Zone zone, const Vec3&) { return zone == Zone::fifth_toe_side; }).judged();
  CHECK(gaps_told(none) == std::vector<Zone>{Zone::fifth_toe_side});
  CHECK(none.verdict >= Verdict::watch);

  double low = 1e9, high = -1e9;  // along the zone: a rag of a tenth is left
  for (std::size_t i = 0; i < the_fit().skin.zone.size(); ++i)
    if (the_fit().skin.zone[i] == Zone::inside_joint) {
      low = std::min(low, the_fit().foot.mesh.vertices[i].x());
      high = std::max(high, the_fit().foot.mesh.vertices[i].x());
    }
  const auto missing = [&](Zone zone, const Vec3& p) {
    return zone == Zone::inside_joint && p.x() > low + 0.1 * (high - low);
  };
  const Assessment rag = with_hole(missing).judged();
  CHECK(gaps_told(rag) == std::vector<Zone>{Zone::inside_joint});
  CHECK(english(rag.tightening.why).find("Only the outside is pulled in: the inside joint was not measured.") !=
        std::string::npos);

  // Of two sides one is not enough, though it is about half of the zone.
  const Assessment inside_only =
      with_hole([](Zone zone, const Vec3& p) { return zone == Zone::heel_sides && p.y() < 0.0; }).judged();
  CHECK(gaps_told(inside_only) == std::vector<Zone>{Zone::heel_sides});
}

TEST_CASE("a zone may be small on a foot that was scanned whole there, not beside an opening of the scan") {
  const auto gaps = [](bool open) {
    Stand s = test::stand(test::the_foot(), test::coarse_foot().length_mm, test::coarse_last());
    const double tip_mm = s.foot.landmarks.toe_tips[0].x();
    std::vector<std::uint8_t> taken(s.skin.zone.size(), 0);  // what is left of the tip has a third of the least or so
    for (std::size_t i = 0; i < taken.size(); ++i)
      taken[i] = s.skin.zone[i] == Zone::big_toe_tip && s.foot.mesh.vertices[i].x() < tip_mm - 2.0;
    for (std::size_t i = 0; i < taken.size(); ++i)
      if (taken[i] != 0) s.skin.zone[i] = Zone::none;
    const auto is_taken = [&](std::uint32_t corner) { return taken[corner] != 0; };
    if (open) std::erase_if(s.foot.mesh.triangles, [&](const Triangle& t) { return std::ranges::any_of(t, is_taken); });
    return gaps_told(s.judged());
  };
  CHECK(gaps(false).empty());
  CHECK(gaps(true) == std::vector<Zone>{Zone::big_toe_tip});
}

TEST_CASE("what stands over the top of a low last is not lacking of waist and instep, but of a heel's back it is") {
  const auto gaps = [](Zone low_in, double under_mm2) {
    Stand s = test::stand(test::the_foot(), test::coarse_foot().length_mm, test::coarse_last());
    std::array<double, 2> left_mm2 = {0.0, 0.0};  // of the outside, of the inside
    for (std::size_t i = 0; i < s.skin.zone.size(); ++i) {
      double& left = left_mm2[s.clearance.skin_normal[i].y() > 0.0 ? 1 : 0];
      if (s.skin.zone[i] != low_in || s.clearance.on_rim[i] != 0) continue;
      if (left >= under_mm2) s.clearance.on_rim[i] = ClearanceField::kPastTop;
      left += s.clearance.area_mm2[i];
    }
    return gaps_told(s.judged());
  };
  for (const Zone zone : {Zone::waist, Zone::instep}) {
    CHECK(gaps(zone, 150.0).empty());
    CHECK(gaps(zone, 50.0) == std::vector<Zone>{zone});  // no room for a thumb's tip
  }
  CHECK(gaps(Zone::heel_back, 150.0) == std::vector<Zone>{Zone::heel_back});
}

TEST_CASE("a foot without its weight is known less well by the tape too") {
  Stand bench = roomy();
  bench.foot_measures.joint_girth.mm = 240.0;
  AssessmentSettings settings = test::told(Wearer::standard);
  settings.tape_joint_mm = 250.0;
  const auto sigma_mm = [&](ScanLoad load) {
    settings.scan_load = load;
    return finding_about(bench.judged(settings), "taped_joint_girth")->sigma_mm;
  };
  CHECK(*sigma_mm(ScanLoad::full) == 1.5);
  CHECK(*sigma_mm(ScanLoad::none) == doctest::Approx(std::hypot(1.5, 6.65)));  // both sides of what breadth lacks
}

TEST_CASE("what is no number is never clear") {
  const Limits limits{-3.0, -1.5, std::nullopt, std::nullopt};
  REQUIRE(judged(5.0, 5.0, 1.0, limits).verdict == Verdict::clear);
  CHECK(judged(std::nan(""), 5.0, 1.0, limits).undecided);
  CHECK(judged(5.0, 5.0, std::nan(""), limits).undecided);
}
