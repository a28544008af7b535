#include "preparation/foot_toes.h"

#include <algorithm>
#include <cmath>

#include "preparation/foot_cloud.h"
#include "preparation/foot_toe_borders.h"

namespace lastroom {
namespace {

constexpr std::size_t kColumns = ToeStrip::kColumns;

/// The columns of a toe, between the ends of its two borders.
struct Sector {
  std::size_t from = 0, to = kColumns - 1;
};

std::size_t end_of(const ToeNumbers::Border& border) { return border.path.back(); }

/// x of the outline in each column.
std::array<double, kColumns> outline_of(const ToeStrip& strip) {
  std::array<double, kColumns> x{};
  for (std::size_t c = 0; c < kColumns; ++c) x[c] = strip.plan(strip.reach(c), ToeStrip::u_of(c)).x();
  return x;
}

/// The column in which a toe reaches furthest: of its own front, since a longer neighbour's flank rises at its ends, on
/// which noise makes little peaks. A toe that runs into its neighbour has none and is taken in its middle.
std::size_t peak_of(const std::array<double, kColumns>& outline, const Sector& sector) {
  constexpr std::size_t kBeside = 4;  // columns: a quarter of a toe (our choice)
  const auto is_top = [&](std::size_t c) {
    for (std::size_t n = c > kBeside ? c - kBeside : 0; n <= std::min(c + kBeside, kColumns - 1); ++n)
      if (outline[n] > outline[c]) return false;
    return true;
  };
  const std::size_t middle = (sector.from + sector.to) / 2;
  std::size_t peak = middle;
  bool found = false;
  for (std::size_t c = sector.from + 1; c < sector.to; ++c)
    if (is_top(c) && (!found || outline[c] > outline[peak])) peak = c, found = true;
  return peak;
}

/// A point of the skin with its place in the strip.
struct FrontPoint {
  Vec3 at;
  std::size_t column;
};

std::vector<FrontPoint> front_points(const Mesh& fore, const ToeStrip& strip, double length, double cell) {
  std::vector<FrontPoint> points;
  for (const Vec3& p : cloud_of(fore, cell).points) {
    if (p.z() > 0.3 * length) continue;
    const Vec2 at = strip.strip(p.head<2>());
    if (at.x() < 0.3 || at.y() < -0.02 || at.y() > 1.02) continue;
    points.push_back({p, ToeStrip::column_of(at.y())});
  }
  return points;
}

/// The sector without the quarter beside a longer neighbour: where a scanner bridges the cleft, the neighbour's flank
/// reaches further there than the toe does. Our choice.
Sector off_flanks(const std::array<double, kColumns>& outline, const std::array<Sector, 5>& sectors,
                  const std::array<std::size_t, 5>& peaks, std::size_t toe) {
  const auto is_longer = [&](std::size_t next) { return outline[peaks[next]] > outline[peaks[toe]]; };
  Sector own = sectors[toe];
  const std::size_t quarter = (own.to - own.from) / 4;
  if (toe > 0 && is_longer(toe - 1)) own.from = std::min(own.from + quarter, peaks[toe]);
  if (toe < 4 && is_longer(toe + 1)) own.to = std::max(own.to - quarter, peaks[toe]);
  return own;
}

/// The last column of the toe's own front to one side: where the outline falls back, or, where it rises over the peak
/// to a longer neighbour's flank, in the valley before that.
std::size_t front_ends(const std::array<double, kColumns>& outline, std::size_t peak, std::size_t end, double back) {
  std::size_t at = peak, valley = peak;
  while (at != end) {
    const std::size_t next = end < at ? at - 1 : at + 1;
    if (outline[next] > outline[peak]) return valley;
    if (outline[next] < outline[peak] - back) break;
    at = next;
    if (outline[at] < outline[valley]) valley = at;
  }
  return at;
}

/// The foremost skin of the toe's front.
std::optional<Vec3> foremost(const std::vector<FrontPoint>& skin, const std::array<double, kColumns>& outline,
                             const Sector& sector, std::size_t peak, double length) {
  constexpr double kBack = 0.01, kAhead = 0.004;  // of length: 2.5 mm of rounding, 1 mm of noise (our choice)
  const std::size_t from = front_ends(outline, peak, sector.from, kBack * length);
  const std::size_t to = front_ends(outline, peak, sector.to, kBack * length);
  constexpr double kTip = 0.004;  // of length: 1 mm behind the foremost, so that no single point decides
  const auto wanted = [&](const FrontPoint& p) {
    return p.column >= from && p.column <= to && p.at.x() <= outline[peak] + kAhead * length;
  };
  double most = 0.0;
  for (const FrontPoint& p : skin)
    if (wanted(p)) most = std::max(most, p.at.x());
  Vec3 sum = Vec3::Zero();
  double count = 0.0;
  for (const FrontPoint& p : skin)
    if (wanted(p) && p.at.x() >= most - kTip * length) sum += p.at, count += 1.0;
  if (count == 0.0) return std::nullopt;
  return Vec3(most, sum.y() / count, sum.z() / count);
}

/// Whether a toe ends in its first part, where healthy ones never do: a stump. A fifth toe may be half as long as
/// usual.
bool is_stump(const ToeStrip& strip, std::size_t toe, std::size_t peak) {
  return strip.usual_reach(peak) < (toe < 4 ? 0.70 : 0.55);  // the web lies at half (our choice)
}

/// Whether a toe ends well before where its neighbours let it be expected: its end is gone, or a claw draws it back.
/// `reach` is in shares of a generic toe's. Our choice: made feet of all toe orders, splayed ones and bunions stay
/// within 0.09. A second toe that is longer than the big one says nothing (A4), so that one is held against the generic
/// toe.
bool is_shortened(const std::array<double, 5>& reach, const std::array<bool, 5>& there, std::size_t toe) {
  constexpr double kShort = 0.12;
  double sum = 0.0, count = 0.0;
  for (const std::size_t next : {toe - 1, toe + 1})
    if (toe > 0 && next < 5 && there[next]) sum += reach[next], count += 1.0;
  return there[toe] && reach[toe] < (count > 0.0 ? sum / count : 1.0) - kShort;
}

ToeBorder border_in_plan(const ToeStrip& strip, const ToeNumbers::Border& found, double end_s) {
  constexpr double kRoot = 0.45;
  const auto at = [&](double s) { return strip.plan(s, ToeStrip::u_of(found.path[ToeStrip::row_of(s)])); };
  return {at(kRoot), at(std::max(end_s, kRoot + 0.1)), found.probability, found.seen};
}

}  // namespace

Toes find_toes(const Mesh& fore, const ToesExpected& expected, const std::array<std::optional<Vec3>, 5>& given) {
  constexpr double kSpacing = 0.003;  // of length, 0.75 mm: a third of the finest furrow that tells
  const double length = expected.length;
  const PlanView view(fore, 0.6 * length, kSpacing * length);
  const ToeStrip strip(view, expected);
  std::array<std::optional<double>, 5> given_columns;
  for (std::size_t toe = 0; toe < 5; ++toe)
    if (given[toe]) given_columns[toe] = std::clamp(strip.strip(given[toe]->head<2>()).y(), 0.0, 1.0);
  const ToeNumbers numbers = number_toes(strip, given_columns);

  Toes toes;
  toes.there = numbers.there;
  const std::array<double, kColumns> outline = outline_of(strip);
  // Tips are taken from coarser points than the outline, so that noise is averaged.
  const std::vector<FrontPoint> skin = front_points(fore, strip, length, 0.012 * length);
  std::array<std::size_t, 5> peaks{};
  std::array<Sector, 5> sectors, own;
  for (std::size_t toe = 0; toe < 5; ++toe) {
    sectors[toe] = {toe > 0 ? end_of(numbers.borders[toe - 1]) : 0,
                    toe < 4 ? end_of(numbers.borders[toe]) : kColumns - 1};
    peaks[toe] = peak_of(outline, sectors[toe]);
  }
  std::array<double, 5> reach{};
  for (std::size_t toe = 0; toe < 5; ++toe) {
    own[toe] = off_flanks(outline, sectors, peaks, toe);
    const Vec2 front = strip.plan(strip.reach(peaks[toe]), ToeStrip::u_of(peaks[toe]));
    const double height = view.top_at(front);
    toes.tips[toe] = foremost(skin, outline, own[toe], peaks[toe], length)
                         .value_or(Vec3(front.x(), front.y(), height == height ? 0.5 * height : 0.025 * length));
    reach[toe] = strip.usual_reach(peaks[toe]);
    toes.there[toe] = toes.there[toe] && !is_stump(strip, toe, peaks[toe]);
  }
  const auto alone = [&](std::size_t toe) {
    return (toe == 0 || numbers.borders[toe - 1].seen) && (toe == 4 || numbers.borders[toe].seen);
  };
  for (std::size_t toe = 0; toe < 5; ++toe)
    toes.shortened[toe] = alone(toe) && !given[toe] && is_shortened(reach, toes.there, toe);
  // Where toes run together their foremost skin is a tip, whichever toe it belongs to.
  for (const FrontPoint& p : skin) {
    std::size_t toe = 0;
    while (toe < 4 && p.column > sectors[toe].to) ++toe;
    const bool on_flank = p.column < own[toe].from || p.column > own[toe].to;
    if (!alone(toe) && !on_flank && p.at.x() > toes.tips[toe].x()) toes.tips[toe] = p.at;
  }
  for (std::size_t toe = 0; toe < 5; ++toe)
    if (given[toe]) toes.tips[toe] = *given[toe], toes.there[toe] = true;
  for (std::size_t k = 0; k < 4; ++k) {
    const double end_s = std::min(strip.reach(peaks[k]), strip.reach(peaks[k + 1]));
    toes.borders[k] = border_in_plan(strip, numbers.borders[k], end_s);
  }
  return toes;
}

}  // namespace lastroom
