// Prints the table of planted defects of reports/accuracy.md: how many are found, how many clean zones are alarmed.
//   defects SEEDS [true-pose]
// Every seed is another foot in another last that fits; each defect is planted into it in turn. With `true-pose` the
// foot stands where it was built to stand, so that the judgement is looked at alone; without, it is registered.
#define DOCTEST_CONFIG_IMPLEMENT  // makehuman_feet.cpp tells of missing data through doctest
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <cstdlib>
#include <map>
#include <string_view>

#include "planted.h"
#include "truth_cases.h"

namespace lastroom::test {
namespace {

Assessment judged(Stand stand, bool true_pose) {
  if (!true_pose) {
    stand.foot_measures = measure_foot(stand.foot);
    stand.last_measures = measure_last(stand.last);
    stand.registration = register_foot_in_last(stand.foot, stand.foot_measures, stand.skin, stand.last,
                                               stand.last_measures, stand.surface, {});
    stand.clearance = with_toe_ends(
        clearance_between(stand.foot, stand.registration, stand.foot_measures.length_mm, stand.surface, {}), stand.foot,
        stand.skin, stand.registration, stand.foot_measures.length_mm, stand.last);
    stand.toe_room = toe_room(stand.foot, stand.skin, stand.clearance, stand.last);
  }
  return assess(stand.evidence(), default_rules(), {});
}

/// The drawn last with enough room that every zone's 5th percentile, some 2 mm under its middle at the toes, keeps
/// beyond its limit to watch.
LastShape that_fits(LastShape shape) {
  shape.room.toe_top = std::max(shape.room.toe_top, 5.5);
  shape.room.fifth_toe_top = std::max(shape.room.fifth_toe_top, 5.5);
  shape.room.big_toe_side = std::max(shape.room.big_toe_side, 3.5);
  shape.room.fifth_toe_side = std::max(shape.room.fifth_toe_side, 3.5);
  shape.allowance_mm = std::max(shape.allowance_mm, 18.0);
  return shape;
}

struct Count {
  int tried = 0, found = 0, no_verdict = 0;
  int pinches = 0, cured = 0;  ///< pairs that pinch in a zone; the corrected last no longer does
  int zones_worse = 0;         ///< zones that press after the correction and lost more than 0.2 mm
};

void count_correction(const Assessment& found, Count& count) {
  bool pinched = false, pinches_after = false;
  for (const ZoneVerdict& zone : found.zones) pinched |= zone.verdict == Verdict::pinch;
  if (!pinched) return;
  ++count.pinches;
  for (std::size_t z = 0; z < found.corrections.zones_after.size(); ++z) {
    const ZoneVerdict& after = found.corrections.zones_after[z];
    pinches_after |= after.verdict == Verdict::pinch;
    if (after.verdict >= Verdict::watch && after.clearance.p05_mm < found.zones[z].clearance.p05_mm - 0.2)
      ++count.zones_worse;
  }
  if (!pinches_after && !found.corrections.changes.empty()) ++count.cured;
}

int run(unsigned seeds, bool true_pose) {
  std::map<std::string, Count> counts;
  std::map<Zone, std::map<Verdict, int>> alarms;
  int clean_zones = 0, clean_alarmed = 0, clean_pinches = 0, clean_without_verdict = 0;
  for (unsigned seed = 1; seed <= seeds; ++seed) {
    const TruthCase pair = truth_case(seed, FootSource::made);
    const double length_mm = pair.foot_shape.length_mm;
    const LastShape fits = that_fits(pair.last_shape);
    const Assessment clean = judged(stand(pair.foot, length_mm, fits), true_pose);
    if (clean.verdict == Verdict::none) ++clean_without_verdict;
    for (const ZoneVerdict& zone : clean.zones) {
      ++clean_zones;
      if (zone.verdict != Verdict::clear) ++alarms[zone.clearance.zone][zone.verdict];
      clean_alarmed += zone.verdict != Verdict::clear;
      clean_pinches += zone.verdict == Verdict::pinch;
    }
    for (const Defect& defect : planted_defects()) {
      LastShape shape = fits;
      defect.plant(shape);
      const Assessment found = judged(stand(pair.foot, length_mm, shape, defect.roof_presses_mm), true_pose);
      Count& count = counts[defect.name];
      ++count.tried;
      count.no_verdict += found.verdict == Verdict::none;
      count.found += said_by(found, defect.rules) >= defect.at_least;
      count_correction(found, count);
    }
  }
  fmt::print("{} pairs, {}\n\n", seeds, true_pose ? "pose as built" : "pose found");
  fmt::print(
      "| planted | must be said | pairs | found | no verdict | pinch cured by the corrections | zones made worse |\n");
  fmt::print("| --- | --- | ---: | ---: | ---: | ---: | ---: |\n");
  for (const Defect& defect : planted_defects()) {
    const Count& c = counts[defect.name];
    fmt::print("| {} | {} or worse | {} | {:.0f} % | {} | {} of {} | {} |\n", defect.name,
               verdict_name(defect.at_least), c.tried, 100.0 * c.found / c.tried, c.no_verdict, c.cured, c.pinches,
               c.zones_worse);
  }
  fmt::print(
      "\nClean pairs: {} zones, {} alarmed ({:.1f} %), {} of them pinch ({:.1f} %); {} pairs without a verdict.\n",
      clean_zones, clean_alarmed, 100.0 * clean_alarmed / clean_zones, clean_pinches,
      100.0 * clean_pinches / clean_zones, clean_without_verdict);
  for (const auto& [zone, by_verdict] : alarms)
    for (const auto& [verdict, number] : by_verdict)
      fmt::print("- {}: {} {}\n", zone_name(zone), number, verdict_name(verdict));
  return 0;
}

}  // namespace
}  // namespace lastroom::test

int main(int argc, char** argv) {
  const unsigned seeds = argc > 1 ? static_cast<unsigned>(std::strtoul(argv[1], nullptr, 10)) : 3;
  return lastroom::test::run(std::max(1u, seeds), argc > 2 && std::string_view(argv[2]) == "true-pose");
}
