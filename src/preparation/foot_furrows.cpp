#include "preparation/foot_furrows.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace lastroom {
namespace {

constexpr std::size_t kRows = ToeStrip::kRows, kColumns = ToeStrip::kColumns;
constexpr double kWindow = 0.10;    // of the toes' breadth: a furrow's rims lie no further, half a toe and more
constexpr double kDeepest = 0.016;  // of length, 4 mm: deeper furrows tell no more
constexpr double kFrom = 0.5, kMiddle = 0.72, kTo = 0.92;  // where toes have parted and before the shortest one ends

using Image = std::array<std::array<double, kColumns>, kRows>;

/// Depth of each place under the lower one of the highest to its left and to its right.
std::array<double, kColumns> depths(const std::array<double, kColumns>& height) {
  constexpr auto kReach = static_cast<std::size_t>(kWindow / ToeStrip::kColumnStep);
  std::array<double, kColumns> depth{};
  for (std::size_t c = 0; c < kColumns; ++c) {
    double left = height[c], right = height[c];
    for (std::size_t k = 1; k <= kReach; ++k) {
      if (c >= k) left = std::max(left, height[c - k]);
      if (c + k < kColumns) right = std::max(right, height[c + k]);
    }
    depth[c] = std::min(left, right) - height[c];
  }
  return depth;
}

/// Heights evened along the toes, furrows' depths across them. Where there is no skin the height is `nothing`.
template <class Height>
Image furrow_depths(const ToeStrip& strip, const Height& height_at, double nothing) {
  constexpr std::ptrdiff_t kEven = 2;  // rows to either side, 6 mm in all: a scan's noise
  Image result{};
  for (std::size_t row = 0; row < kRows; ++row) {
    std::array<double, kColumns> height{};
    for (std::size_t c = 0; c < kColumns; ++c) {
      double sum = 0.0;
      int count = 0;
      for (std::ptrdiff_t k = -kEven; k <= kEven; ++k) {
        const std::ptrdiff_t r = static_cast<std::ptrdiff_t>(row) + k;
        if (r < 0 || r >= static_cast<std::ptrdiff_t>(kRows) || !strip.has_skin(static_cast<std::size_t>(r), c))
          continue;
        sum += height_at(static_cast<std::size_t>(r), c), ++count;
      }
      height[c] = strip.has_skin(row, c) && count > 0 ? sum / count : nothing;
    }
    result[row] = depths(height);
    for (double& d : result[row]) d = std::min(d, kDeepest);
  }
  return result;
}

/// The paths of most depth through each column of the middle row, from the roots to the ends; a step to the side in
/// every row at most.
std::array<FurrowPath, kColumns> deepest_paths(const Image& depth) {
  const std::size_t from = ToeStrip::row_of(kFrom), middle = ToeStrip::row_of(kMiddle), to = ToeStrip::row_of(kTo);
  constexpr double kStraight = 0.0004;  // of length, 0.1 mm: a step to the side must be worth so much
  Image best = depth;
  std::array<std::array<std::size_t, kColumns>, kRows> next{};
  const auto extend = [&](std::size_t row, std::size_t beside) {
    for (std::size_t c = 0; c < kColumns; ++c) {
      double most = -1.0;
      for (std::size_t n = c > 0 ? c - 1 : 0; n <= std::min(c + 1, kColumns - 1); ++n)
        if (const double sum = best[beside][n] - (n == c ? 0.0 : kStraight); sum > most) most = sum, next[row][c] = n;
      best[row][c] = depth[row][c] + most;
    }
  };
  for (std::size_t row = from + 1; row < middle; ++row) extend(row, row - 1);
  for (std::size_t row = to; row-- > middle + 1;) extend(row, row + 1);
  std::array<FurrowPath, kColumns> paths{};
  for (std::size_t c = 0; c < kColumns; ++c) {
    FurrowPath& path = paths[c];
    const auto follow = [&](std::size_t begin, std::size_t end, std::ptrdiff_t step) {
      // The best of the three places beside the middle, then where that one came from.
      std::size_t at = c;
      for (std::size_t n = c > 0 ? c - 1 : 0; n <= std::min(c + 1, kColumns - 1); ++n)
        if (best[begin][n] - (n == c ? 0.0 : kStraight) > best[begin][at] - (at == c ? 0.0 : kStraight)) at = n;
      for (std::size_t row = begin;; row = static_cast<std::size_t>(static_cast<std::ptrdiff_t>(row) + step)) {
        path[row] = at;
        if (row == end) break;
        at = next[row][at];
      }
    };
    path[middle] = c;
    follow(middle - 1, from, -1);
    follow(middle + 1, to, 1);
    for (std::size_t row = 0; row < from; ++row) path[row] = path[from];
    for (std::size_t row = to + 1; row < kRows; ++row) path[row] = path[to];
  }
  return paths;
}

/// Likelihood of a depth at a border by that elsewhere. Our choice: elsewhere depths fall off within a quarter of a
/// millimetre, one in fifty is a nail's edge or a fold; of the borders three in ten do not show from this side, the
/// others are some millimetres deep.
double odds_of(double depth) {
  constexpr double kElsewhere = 0.001, kFold = 0.006, kFolds = 0.02;  // of length: 0.25 and 1.5 mm
  constexpr double kBorder = 0.010, kHidden = 0.3;                    // 2.5 mm
  const auto falling = [&](double scale) { return std::exp(-depth / scale) / scale; };
  const double elsewhere = (1.0 - kFolds) * falling(kElsewhere) + kFolds * falling(kFold);
  return kHidden + (1.0 - kHidden) * falling(kBorder) / elsewhere;
}

/// Likewise for all three sides together; three borders in ten run together on all of them (our choice).
double log_odds_of(double top, double sole, double notch) {
  constexpr double kFused = 0.3;
  return std::log(kFused + (1.0 - kFused) * odds_of(top) * odds_of(sole) * odds_of(notch));
}

/// A path that begins in one furrow and ends in its neighbour is as deep as they are, but crosses a toe. It is told by
/// running otherwise than the paths of the foot do, and into one of them.
void drop_crossings(std::array<Furrows::Column, kColumns>& columns, double log_odds_of_nothing) {
  constexpr std::ptrdiff_t kHalfToe = 8;  // columns
  const auto root = [&](std::size_t c) { return static_cast<std::ptrdiff_t>(columns[c].path.front()); };
  const auto end = [&](std::size_t c) { return static_cast<std::ptrdiff_t>(columns[c].path.back()); };
  std::vector<std::size_t> furrows;
  std::vector<std::ptrdiff_t> drifts;
  for (std::size_t c = 0; c < kColumns; ++c)
    if (columns[c].deepest && columns[c].log_odds > log_odds_of_nothing)
      furrows.push_back(c), drifts.push_back(end(c) - root(c));
  if (furrows.empty()) return;
  std::nth_element(drifts.begin(), drifts.begin() + drifts.size() / 2, drifts.end());
  const std::ptrdiff_t usual = drifts[drifts.size() / 2];
  const auto stray = [&](std::size_t c) { return std::abs(end(c) - root(c) - usual); };
  for (const std::size_t c : furrows) {
    const bool crosses = std::any_of(furrows.begin(), furrows.end(), [&](std::size_t d) {
      const bool apart = std::abs(root(c) - root(d)) > kHalfToe, meet = std::abs(end(c) - end(d)) < kHalfToe;
      return apart && meet && stray(c) > stray(d);
    });
    if (crosses && stray(c) > kHalfToe) columns[c].deepest = false;
  }
}

}  // namespace

Furrows find_furrows(const ToeStrip& strip) {
  const Image top = furrow_depths(
      strip, [&](std::size_t r, std::size_t c) { return strip.top(r, c); }, 0.0);
  constexpr double kNoSole = -0.06;  // of length: as high as the toes' middle; the sole looks down
  const Image sole = furrow_depths(
      strip, [&](std::size_t r, std::size_t c) { return -strip.sole(r, c); }, kNoSole);
  Image both{};
  for (std::size_t r = 0; r < kRows; ++r)
    for (std::size_t c = 0; c < kColumns; ++c) both[r][c] = top[r][c] + 0.5 * sole[r][c];
  const auto paths = deepest_paths(both);
  std::array<double, kColumns> reach{};
  for (std::size_t c = 0; c < kColumns; ++c) reach[c] = strip.reach(c) * strip.stretch(ToeStrip::u_of(c));
  const std::array<double, kColumns> notch = depths(reach);

  Furrows found;
  found.log_odds_of_nothing = log_odds_of(0.0, 0.0, 0.0);
  const std::size_t from = ToeStrip::row_of(kFrom), to = ToeStrip::row_of(kTo);
  for (std::size_t c = 0; c < kColumns; ++c) {
    Furrows::Column& column = found.columns[c];
    column.path = paths[c];
    found.filled[c] = strip.filled(c);
    for (std::size_t row = from; row <= to; ++row) {
      column.top += top[row][column.path[row]] / static_cast<double>(to - from + 1);
      column.sole += sole[row][column.path[row]] / static_cast<double>(to - from + 1);
    }
    for (std::size_t n = column.path[to] > 1 ? column.path[to] - 2 : 0;
         n <= std::min(column.path[to] + 2, kColumns - 1); ++n)
      column.notch = std::max(column.notch, std::min(notch[n], kDeepest));
    column.log_odds = log_odds_of(column.top, column.sole, column.notch);
  }
  constexpr std::size_t kBeside = 3;
  const auto depth = [&](std::size_t c) {
    const Furrows::Column& column = found.columns[c];
    return column.top + column.sole + column.notch;
  };
  for (std::size_t c = 0; c < kColumns; ++c) {
    bool deepest = depth(c) > 0.0;
    for (std::size_t n = c > kBeside ? c - kBeside : 0; n <= std::min(c + kBeside, kColumns - 1); ++n)
      deepest = deepest && (depth(n) < depth(c) || (depth(n) == depth(c) && n >= c));
    found.columns[c].deepest = deepest;
  }
  drop_crossings(found.columns, found.log_odds_of_nothing);
  return found;
}

}  // namespace lastroom
