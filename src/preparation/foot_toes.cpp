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
constexpr double kCentre = 0.45;    // the toes fan out from about here, on the axis
constexpr double kLowest = 0.6;     // of length: where to begin looking

double angle_deg(const Vec3& p, double length) {
  return std::atan2(p.y(), p.x() - kCentre * length) * 180.0 / std::numbers::pi;
}

double reach_of(const Vec3& p, double length) { return std::hypot(p.x() - kCentre * length, p.y()); }

/// The foot's front outline in plan, seen from the fan's centre.
using Outline = std::array<double, kBins>;  ///< reach in each bin; 0 where there is no skin

std::optional<std::size_t> bin_of(const Vec3& p, double length) {
  const double at = (angle_deg(p, length) - kFirst_deg) / kBin_deg;
  if (at < 0.0 || at >= static_cast<double>(kBins)) return std::nullopt;
  return static_cast<std::size_t>(at);
}

Outline front_outline(const Mesh& fore, double length) {
  Outline outline{};
  for (const Vec3& p : cloud_of(fore, 0.005 * length).points)
    if (const auto bin = bin_of(p, length); bin && p.x() > kLowest * length && p.z() < 0.3 * length)
      outline[*bin] = std::max(outline[*bin], reach_of(p, length));
  return outline;
}

/// Lowest reach strictly between two bins (a < b), and where.
std::pair<double, std::size_t> notch_between(const Outline& outline, std::size_t a, std::size_t b) {
  std::size_t lowest = (a + b) / 2;
  for (std::size_t i = a + 1; i < b; ++i)
    if (outline[i] < outline[lowest]) lowest = i;
  return {outline[lowest], lowest};
}

/// One bin for each toe, big toe first: far-reaching bins with deep notches between them, not far from where toes are
/// on a generic foot when that is turned by `turn_deg`. Dynamic programming over toes.
struct Choice {
  std::array<std::size_t, 5> bins{};
  double worth = -1e9;
};
Choice best_bins(const Outline& outline, const std::array<Vec3, 5>& expected_tips, double length, double turn_deg) {
  constexpr double kSpread_deg = 4.0, kPull = 0.01;  // 1 % of length given up for 4 degrees: our choice
  constexpr double kFurther = 0.01;
  constexpr double kNotchWorth = 3.0, kDeepest = 0.012;  // 3 mm of notch make two toes; deeper counts no more
  constexpr std::size_t kLeastGap = 8, kMostGap = 27;    // in bins: 6 to 20 degrees between neighbours
  std::array<std::array<double, kBins>, 5> worth{};
  std::array<std::array<std::size_t, kBins>, 5> from{};
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const double expected_deg = angle_deg(expected_tips[toe], length) + turn_deg;
    const double expected_reach = reach_of(expected_tips[toe], length);
    for (std::size_t b = 0; b < kBins; ++b) {
      const double off = (kFirst_deg + (static_cast<double>(b) + 0.5) * kBin_deg - expected_deg) / kSpread_deg;
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

}  // namespace

ToeTips find_toe_tips(const Mesh& mesh, double length, const std::array<Vec3, 5>& expected) {
  const Outline outline = front_outline(mesh, length);
  Choice choice;
  for (double turn_deg = -4.5; turn_deg <= 4.5; turn_deg += 1.5)
    if (const Choice turned = best_bins(outline, expected, length, turn_deg); turned.worth > choice.worth)
      choice = turned;

  // Each toe's sector runs from notch to notch; its tip is the foremost skin there. A toe without a notch of its own
  // would find the flank of its neighbour foremost: it takes the skin that reaches furthest instead.
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
  std::vector<std::pair<Vec3, std::size_t>> skin;
  for (const Vec3& p : cloud_of(mesh, 0.012 * length).points)
    if (const auto bin = bin_of(p, length); bin && p.x() > kLowest * length && p.z() < 0.3 * length)
      skin.emplace_back(p, *bin);
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const auto foremost = [&](const auto& measure) {
      double most = -1e9;
      Vec3 at = Vec3::Zero();
      for (const auto& [p, bin] : skin)
        if (bin <= border[toe] && bin >= border[toe + 1] && measure(p) > most) most = measure(p), at = p;
      return at;
    };
    toes.tips[toe] = foremost([](const Vec3& p) { return p.x(); });
    const double at = (angle_deg(toes.tips[toe], length) - kFirst_deg) / kBin_deg;
    const bool at_border =
        at > static_cast<double>(border[toe]) - 1.0 || at < static_cast<double>(border[toe + 1]) + 2.0;
    if (at_border) toes.tips[toe] = foremost([&](const Vec3& p) { return reach_of(p, length); });
  }
  return toes;
}

}  // namespace lastroom
