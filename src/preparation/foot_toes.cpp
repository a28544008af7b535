#include "preparation/foot_toes.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "preparation/foot_cloud.h"

namespace lastroom {
namespace {

constexpr double kBin_deg = 0.75;  // 2 mm at a toe's tip; a toe is about 9 degrees wide seen from the fan's centre
constexpr double kFirst_deg = -45.0;
constexpr std::size_t kBins = 120;  // to +45 degrees, the inside
constexpr double kLowest = 0.6;     // of length: where to begin looking

/// Where the toes are looked at from, in plan: they fan out from about here.
struct Fan {
  Vec2 centre = Vec2::Zero();

  double angle_deg(const Vec3& p) const {
    return std::atan2(p.y() - centre.y(), p.x() - centre.x()) * 180.0 / std::numbers::pi;
  }
  double reach(const Vec3& p) const { return (p.head<2>() - centre).norm(); }
  std::optional<std::size_t> bin_of(const Vec3& p) const {
    const double at = (angle_deg(p) - kFirst_deg) / kBin_deg;
    if (at < 0.0 || at >= static_cast<double>(kBins)) return std::nullopt;
    return static_cast<std::size_t>(at);
  }
};
Fan usual_fan(double length) { return {Vec2(0.45 * length, 0.0)}; }

/// The foot's front outline in plan, seen from the fan's centre.
using Outline = std::array<double, kBins>;  ///< reach in each bin; 0 where there is no skin

std::vector<Vec3> front_skin(const Mesh& fore, double length, double cell) {
  std::vector<Vec3> points;
  for (const Vec3& p : cloud_of(fore, cell).points)
    if (p.x() > kLowest * length && p.z() < 0.3 * length) points.push_back(p);
  return points;
}

Outline outline_from(const Fan& fan, const std::vector<Vec3>& skin) {
  Outline outline{};
  for (const Vec3& p : skin)
    if (const auto bin = fan.bin_of(p)) outline[*bin] = std::max(outline[*bin], fan.reach(p));
  return outline;
}

double middle_deg(std::size_t bin) { return kFirst_deg + (static_cast<double>(bin) + 0.5) * kBin_deg; }

/// Lowest reach strictly between two bins (a < b), and where.
std::pair<double, std::size_t> notch_between(const Outline& outline, std::size_t a, std::size_t b) {
  std::size_t lowest = (a + b) / 2;
  for (std::size_t i = a + 1; i < b; ++i)
    if (outline[i] < outline[lowest]) lowest = i;
  return {outline[lowest], lowest};
}

/// The five toes of a foot whose toes all stand apart, big toe first.
struct Lobes {
  std::array<std::size_t, 5> bins{};
  double shallowest_notch = 0.0;  ///< same unit as the outline
};

/// Nothing when the outline has more or fewer lobes than five.
std::optional<Lobes> five_lobes(const Outline& outline, double length) {
  constexpr double kNotch = 0.006;  // of length: 1.5 mm, five times what a scanner's noise leaves on the outline
  std::vector<std::size_t> lobes;
  std::vector<double> notches;
  std::size_t highest = kBins - 1, lowest = kBins - 1;
  bool rising = true;
  for (std::size_t bin = kBins; bin-- > 0;) {
    if (outline[bin] > outline[highest]) highest = bin;
    if (outline[bin] < outline[lowest]) lowest = bin;
    if (rising && outline[bin] < outline[highest] - kNotch * length) {
      lobes.push_back(highest);
      lowest = bin;
      rising = false;
    } else if (!rising && outline[bin] > outline[lowest] + kNotch * length) {
      notches.push_back(outline[lowest]);
      highest = bin;
      rising = true;
    }
  }
  if (rising) lobes.push_back(highest);
  if (lobes.size() != 5) return std::nullopt;
  Lobes found;
  std::copy(lobes.begin(), lobes.end(), found.bins.begin());
  found.shallowest_notch = length;
  for (std::size_t i = 0; i < 4; ++i)
    found.shallowest_notch =
        std::min(found.shallowest_notch, std::min(outline[lobes[i]], outline[lobes[i + 1]]) - notches[i]);
  return found;
}

/// Toes that lean to one side hide the gaps between them from the usual place: they are looked at from others too.
std::optional<std::pair<Fan, Lobes>> toes_apart(const std::vector<Vec3>& skin, double length) {
  constexpr double kClearly = 1.5;         // deeper than from the places before, the usual one first (our choice)
  constexpr double kBigToeReaches = 0.85;  // of length; the side of a bunion ends before
  std::optional<std::pair<Fan, Lobes>> best;
  for (const double x : {0.45, 0.3, 0.55})
    for (const double y : {0.0, 0.06, -0.06, 0.12, -0.12}) {
      const Fan fan{length * Vec2(x, y)};
      const Outline outline = outline_from(fan, skin);
      const auto lobes = five_lobes(outline, length);
      if (!lobes) continue;
      const std::size_t big_toe = lobes->bins[0];
      const double ahead = fan.centre.x() + outline[big_toe] * std::cos(middle_deg(big_toe) * std::numbers::pi / 180.0);
      if (ahead < kBigToeReaches * length) continue;
      if (!best || lobes->shallowest_notch > kClearly * best->second.shallowest_notch) best = {fan, *lobes};
    }
  return best;
}

/// One bin for each toe, big toe first: far-reaching bins with deep notches between them, not far from where toes are
/// on a generic foot when that is turned by `turn_deg`. Dynamic programming over toes.
struct Choice {
  std::array<std::size_t, 5> bins{};
  double worth = -1e9;
};
Choice best_bins(const Fan& fan, const Outline& outline, const std::array<Vec3, 5>& expected_tips, double length,
                 double turn_deg) {
  constexpr double kSpread_deg = 4.0, kPull = 0.01;  // 1 % of length given up for 4 degrees: our choice
  constexpr double kFurther = 0.01;
  constexpr double kNotchWorth = 3.0, kDeepest = 0.012;  // 3 mm of notch make two toes; deeper counts no more
  constexpr std::size_t kLeastGap = 8, kMostGap = 27;    // in bins: 6 to 20 degrees between neighbours
  std::array<std::array<double, kBins>, 5> worth{};
  std::array<std::array<std::size_t, kBins>, 5> from{};
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const double expected_deg = fan.angle_deg(expected_tips[toe]) + turn_deg;
    const double expected_reach = fan.reach(expected_tips[toe]);
    for (std::size_t b = 0; b < kBins; ++b) {
      const double off = (middle_deg(b) - expected_deg) / kSpread_deg;
      // Reaching further than usual counts little, or all toes would be looked for on the longest ones.
      const double own = std::min((outline[b] - expected_reach) / length, kFurther) - kPull * off * off;
      worth[toe][b] = toe == 0 ? own : -1e9;
      if (toe == 0) continue;
      for (std::size_t previous = b + kLeastGap; previous < std::min(kBins, b + kMostGap); ++previous) {  // inside
        const double lower = std::min(outline[b], outline[previous]);
        const double notch = std::min(kDeepest, (lower - notch_between(outline, b, previous).first) / length);
        const double total = worth[toe - 1][previous] + own + kNotchWorth * notch;
        if (total > worth[toe][b]) worth[toe][b] = total, from[toe][b] = previous;
      }
    }
  }
  Choice choice;
  const auto last = std::max_element(worth[4].begin(), worth[4].end());
  choice.worth = *last - 0.006 * std::abs(turn_deg);
  choice.bins[4] = static_cast<std::size_t>(last - worth[4].begin());
  for (std::size_t toe = 4; toe > 0; --toe) choice.bins[toe - 1] = from[toe][choice.bins[toe]];
  return choice;
}

/// The foremost skin of the toe that is seen at `at` and lies between two bins: of its front alone, since a neighbour
/// that reaches further has its flank in the sector too. Nothing where no point lies there.
std::optional<Vec3> foremost_in_front(const Fan& fan, const Outline& outline, const std::vector<Vec3>& skin,
                                      std::size_t first, std::size_t last, std::size_t at, double length) {
  constexpr double kBack = 0.01, kAhead = 0.004;  // of length: 2.5 mm of rounding, 1 mm of noise (our choice)
  const double least = outline[at] - kBack * length, most = outline[at] + kAhead * length;
  const auto in_front = [&](std::size_t bin) { return outline[bin] >= least && outline[bin] <= most; };
  std::size_t from = at, to = at;
  while (from > first && in_front(from - 1)) --from;
  while (to < last && in_front(to + 1)) ++to;
  const Vec3* tip = nullptr;
  for (const Vec3& p : skin)
    if (const auto bin = fan.bin_of(p); bin && *bin >= from && *bin <= to && fan.reach(p) <= most)
      if (!tip || p.x() > tip->x()) tip = &p;
  return tip ? std::optional(*tip) : std::nullopt;
}

}  // namespace

ToeTips find_toe_tips(const Mesh& mesh, double length, const std::array<Vec3, 5>& expected) {
  const std::vector<Vec3> fine = front_skin(mesh, length, 0.005 * length);
  const auto apart = toes_apart(fine, length);
  const Fan fan = apart ? apart->first : usual_fan(length);
  const Outline outline = outline_from(fan, fine);
  Choice choice;
  if (apart) choice.bins = apart->second.bins;
  for (double turn_deg = -4.5; !apart && turn_deg <= 4.5; turn_deg += 1.5)
    if (const Choice turned = best_bins(fan, outline, expected, length, turn_deg); turned.worth > choice.worth)
      choice = turned;

  // Each toe's sector runs from notch to notch.
  std::array<std::size_t, 6> border{};
  border[0] = std::min(kBins - 1, choice.bins[0] + 10);
  ToeTips toes;
  for (std::size_t toe = 1; toe < 5; ++toe) {
    const std::size_t a = choice.bins[toe], b = choice.bins[toe - 1];
    const auto [reach, bin] = notch_between(outline, a, b);
    border[toe] = bin;
    toes.deepest_notch = std::max(toes.deepest_notch, std::min(outline[a], outline[b]) - reach);
  }
  border[5] = choice.bins[4] > 10 ? choice.bins[4] - 10 : 0;

  // Tips are taken from coarser points than notches, so that noise is averaged.
  const std::vector<Vec3> coarse = front_skin(mesh, length, 0.012 * length);
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const auto foremost = [&](const std::vector<Vec3>& skin) {
      return foremost_in_front(fan, outline, skin, border[toe + 1], border[toe], choice.bins[toe], length);
    };
    std::optional<Vec3> tip = foremost(coarse);
    if (!tip) tip = foremost(fine);  // a lobe of one bin may lie between coarse points
    toes.tips[toe] = tip.value_or(expected[toe]);
  }
  return toes;
}

}  // namespace lastroom
