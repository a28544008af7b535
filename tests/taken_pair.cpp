#include "taken_pair.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "clearance/clearance.h"
#include "made.h"

namespace lastroom::test {
namespace {

/// As if the scanner's data sheet told it, over the vertices that clearance is evened over (a Gaussian of root mean
/// square r weighs like 2 pi r^2 of skin).
double told_scan_error_mm(const Foot& foot, double noise_mm) {
  const std::vector<double> areas_mm2 = vertex_areas_mm2(foot.mesh);
  const double skin_mm2 = std::accumulate(areas_mm2.begin(), areas_mm2.end(), 0.0);
  const double evened_over = std::max(1.0, 2.0 * std::numbers::pi * kClearanceSmoothed_mm * kClearanceSmoothed_mm *
                                               static_cast<double>(areas_mm2.size()) / skin_mm2);
  return noise_mm / std::sqrt(3.0 * evened_over);
}

std::string kind_of_scan(const Dirt& dirt) {
  if (dirt.bare_points) return dirt.floor ? "bare points with a floor" : "bare points";
  return dirt.floor ? "with a floor" : dirt.holes ? "with holes" : "whole";
}

}  // namespace

namespace {

TakenPair taken(const StandingCase& standing, unsigned seed, const Foot* foot) {
  Dice dice(seed + 500000u);
  const Dirt dirt = random_dirt(dice);
  const DirtyPair files = dirty(standing.pair, dirt, dice);
  TakenPair result;
  result.kind_of_scan = kind_of_scan(dirt);
  FootPreparation given;
  if (foot_length_mm(standing.foot.landmarks) < 150.0)
    given.units = dirt.scan_units;  // a child's foot in inches is a grown-up's in cm
  result.foot = foot ? *foot : prepare_foot(files.scan, given);
  LastPreparation preparation;
  preparation.wearer_side = result.foot.side;
  result.last = taken_for(result.foot.side, prepare_last(files.last, preparation));
  result.scan_error_mm = told_scan_error_mm(result.foot, dirt.noise_mm);
  const Motion foot_from_made = result.foot.foot_from_scan * files.scan_from_foot;
  const Motion made_from_last = files.file_from_last.inverse() * result.last.last_from_file.inverse();
  const Side worn = dirt.side, foot_side = result.foot.side, last_side = result.last.side;
  result.foot_from_made = [=](const Vec3& p) { return as_worn(foot_side, foot_from_made * as_worn(worn, p)); };
  result.made_from_last = [=](const Vec3& p) { return as_worn(worn, made_from_last * as_worn(last_side, p)); };
  return result;
}

}  // namespace

TakenPair taken_pair(const StandingCase& standing, unsigned seed) { return taken(standing, seed, nullptr); }
TakenPair taken_pair(const StandingCase& standing, unsigned seed, const TakenPair& same_foot) {
  return taken(standing, seed, &same_foot.foot);
}

TakenPair perfect_pair(const StandingCase& standing) {
  const auto same = [](const Vec3& p) { return p; };
  return {standing.foot, prepared(standing.pair.last), "perfect", 0.0, same, same};
}

}  // namespace lastroom::test
