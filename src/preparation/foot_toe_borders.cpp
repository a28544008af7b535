#include "preparation/foot_toe_borders.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "preparation/foot_furrows.h"
#include "preparation/foot_toe_breadths.h"

namespace lastroom {
namespace {

constexpr std::size_t kColumns = ToeStrip::kColumns;
constexpr double kNever = -1e3;
/// One standard deviation of a toe's share of the breadth (our choice).
constexpr std::array<double, 5> kBreadthSpread = {0.045, 0.032, 0.032, 0.032, 0.038};
constexpr double kThinnest = 0.06;

double log_normal(double off, double spread) {
  return -0.5 * off * off / (spread * spread) - std::log(spread * 2.5066);
}

/// log(exp(a) + exp(b))
double log_sum(double a, double b) {
  const double high = std::max(a, b);
  return high <= kNever ? kNever : high + std::log(std::exp(a - high) + std::exp(b - high));
}

using Beliefs = std::array<double, kColumns>;  ///< log, per column
using Present = std::array<bool, 5>;

/// One way of having toes: which of the five are there.
class Hypothesis {
 public:
  Hypothesis(const ToeStrip& strip, const Furrows& furrows, const std::array<std::optional<double>, 5>& given,
             const Present& present)
      : furrows_(furrows), given_(given), present_(present) {
    constexpr double kMissing = 0.01;  // of toes, in a clinic's feet (our choice)
    double sum = 0.0;
    for (std::size_t toe = 0; toe < 5; ++toe)
      if (present[toe]) sum += kToeBreadth[toe], last_ = toe;
    first_ = static_cast<std::size_t>(std::find(present.begin(), present.end(), true) - present.begin());
    for (std::size_t toe = 0; toe < 5; ++toe) {
      breadth_[toe] = kToeBreadth[toe] / sum;
      log_prior_ += std::log(present[toe] ? 1.0 - kMissing : kMissing);
      if (!present[toe] && given[toe]) log_prior_ = kNever;
    }
    log_prior_ += log_edge(strip.inside_edge() - share_before_toe(first_), strip.inside_edge()) +
                  log_edge(strip.outside_edge() - share_before_toe(last_ + 1), strip.outside_edge() - 1.0);
    filled_before_[0] = 0.0;
    for (std::size_t c = 0; c < kColumns; ++c) filled_before_[c + 1] = filled_before_[c] + furrows.filled[c];
    run();
  }
  double log_evidence() const { return total_; }
  /// Log of the share of this hypothesis in which border k lies in the column.
  double log_border(std::size_t k, std::size_t column) const {
    return forward_[k + 1][column] + backward_[k + 1][column];
  }
  const Present& present() const { return present_; }
  /// Whether no toe lies between two borders.
  bool are_one_border(std::size_t j, std::size_t k) const {
    for (std::size_t toe = std::min(j, k) + 1; toe <= std::max(j, k); ++toe)
      if (present_[toe]) return false;
    return true;
  }

 private:
  /// The forefoot's edge lies where the outermost toe that is there ends, or, where the foot has closed up or the
  /// generic foot was fitted to what is left, where a whole one has it.
  static double log_edge(double off_toe, double off_whole) {
    constexpr double kSpread = 0.06;
    if (off_toe == off_whole) return log_normal(off_toe, kSpread);
    return log_sum(std::log(0.7) + log_normal(off_toe, kSpread), std::log(0.3) + log_normal(off_whole, kSpread));
  }
  double filled(std::size_t from, std::size_t to) const {
    return (filled_before_[to + 1] - filled_before_[from]) / static_cast<double>(to + 1 - from);
  }
  double log_border_here(std::size_t column) const {
    const Furrows::Column& at = furrows_.columns[column];
    return at.deepest ? std::max(at.log_odds, furrows_.log_odds_of_nothing) : furrows_.log_odds_of_nothing;
  }
  /// A toe between two columns, or the gap that a missing one has left, with the border that ends it.
  double log_toe(std::size_t toe, std::size_t from, std::size_t to) const {
    const double width = ToeStrip::kColumnStep * static_cast<double>(to - from);
    if (!present_[toe]) {
      if (toe < first_ || toe > last_) return to == from ? 0.0 : kNever;
      if (to == from) return std::log(0.5);
      constexpr double kWidest = 0.25, kGapFilled = 0.35;
      if (width > kWidest || to - from < 4 || filled(from + 1, to - 1) > kGapFilled) return kNever;
      return std::log(0.5 * ToeStrip::kColumnStep / kWidest) + 1.0 - log_border_here(from);
    }
    if (width < kThinnest) return kNever;
    const std::size_t quarter = (to - from) / 4;
    constexpr double kUnfilled = 12.0, kEnough = 0.6;
    double log_p = log_normal(width - breadth_[toe], kBreadthSpread[toe]) + std::log(ToeStrip::kColumnStep) -
                   kUnfilled * std::max(0.0, kEnough - filled(from + quarter, to - quarter));
    if (given_[toe]) {
      constexpr double kSlack = 0.015;
      if (*given_[toe] < ToeStrip::u_of(from) - kSlack || *given_[toe] > ToeStrip::u_of(to) + kSlack) return kNever;
    }
    return toe < last_ ? log_p + log_border_here(to) : log_p;
  }
  void run() {
    for (Beliefs& b : forward_) b.fill(kNever);
    for (Beliefs& b : backward_) b.fill(kNever);
    forward_[0][0] = log_prior_;
    backward_[5][kColumns - 1] = 0.0;
    for (std::size_t toe = 0; toe < 5; ++toe)
      for (std::size_t from = 0; from < kColumns; ++from) {
        if (forward_[toe][from] <= kNever) continue;
        for (std::size_t to = from; to < kColumns; ++to)
          if (const double step = log_toe(toe, from, to); step > kNever)
            forward_[toe + 1][to] = log_sum(forward_[toe + 1][to], forward_[toe][from] + step);
      }
    for (std::size_t toe = 5; toe-- > 0;)
      for (std::size_t from = 0; from < kColumns; ++from) {
        if (forward_[toe][from] <= kNever) continue;
        for (std::size_t to = from; to < kColumns; ++to)
          if (backward_[toe + 1][to] > kNever)
            if (const double step = log_toe(toe, from, to); step > kNever)
              backward_[toe][from] = log_sum(backward_[toe][from], backward_[toe + 1][to] + step);
      }
    total_ = forward_[5][kColumns - 1];
  }

  const Furrows& furrows_;
  const std::array<std::optional<double>, 5>& given_;
  Present present_;
  std::size_t first_ = 0, last_ = 4;
  std::array<double, 5> breadth_{};
  std::array<double, kColumns + 1> filled_before_{};
  double log_prior_ = 0.0, total_ = kNever;
  std::array<Beliefs, 6> forward_{}, backward_{};
};

/// At most two toes missing: beyond that the labels of the others hang on nothing.
std::vector<Hypothesis> hypotheses(const ToeStrip& strip, const Furrows& furrows,
                                   const std::array<std::optional<double>, 5>& given) {
  std::vector<Hypothesis> list;
  for (unsigned missing = 0; missing < 31; ++missing) {
    if (std::popcount(missing) > 2) continue;
    Present present{};
    for (std::size_t toe = 0; toe < 5; ++toe) present[toe] = (missing >> toe & 1u) == 0;
    list.emplace_back(strip, furrows, given, present);
  }
  return list;
}

constexpr std::size_t kSame = 2;  // columns: the same furrow

/// Sum over the furrow about a column.
template <class Chance>
double sum_about(std::size_t column, const Chance& chance) {
  double sum = 0.0;
  for (std::size_t n = column > kSame ? column - kSame : 0; n <= std::min(column + kSame, kColumns - 1); ++n)
    sum += chance(n);
  return sum;
}

ToeNumbers::Border border_of(std::size_t k, const std::vector<Hypothesis>& all, double total, const Furrows& furrows) {
  constexpr double kSure = 0.9, kOther = 0.01;  // our choice: that it is this border, and that it is another one
  constexpr double kVisible = 1.0;              // log odds
  std::array<double, kColumns> chance{};
  double mean = 0.0;
  for (std::size_t c = 0; c < kColumns; ++c) {
    for (const Hypothesis& h : all) chance[c] += std::exp(h.log_border(k, c) - total);
    mean += chance[c] * static_cast<double>(c);
  }
  std::size_t middle = 0;
  double here = 0.0;
  for (std::size_t c = 0; c < kColumns; ++c)
    if (const double near = sum_about(c, [&](std::size_t n) { return chance[n]; }); near > here)
      here = near, middle = c;
  std::size_t at = middle;
  for (std::size_t n = middle > kSame ? middle - kSame : 0; n <= std::min(middle + kSame, kColumns - 1); ++n)
    if (chance[n] > chance[at]) at = n;
  double other = 0.0;
  for (const Hypothesis& h : all)
    for (std::size_t j = 0; j < 4; ++j)
      if (!h.are_one_border(j, k))
        other += sum_about(at, [&](std::size_t n) { return std::exp(h.log_border(j, n) - total); });
  const Furrows::Column& there = furrows.columns[at];
  ToeNumbers::Border border{there.path, std::min(here, 1.0), false};
  border.seen = here > kSure && other < kOther && there.deepest && there.log_odds > kVisible;
  if (!border.seen) border.path.fill(static_cast<std::size_t>(std::lround(mean)));
  return border;
}

}  // namespace

ToeNumbers number_toes(const ToeStrip& strip, const std::array<std::optional<double>, 5>& given) {
  const Furrows furrows = find_furrows(strip);
  const std::vector<Hypothesis> all = hypotheses(strip, furrows, given);
  double total = kNever;
  for (const Hypothesis& h : all) total = log_sum(total, h.log_evidence());

  ToeNumbers numbers;
  const Hypothesis* best = &all.front();
  for (const Hypothesis& h : all)
    if (h.log_evidence() > best->log_evidence()) best = &h;
  numbers.there = best->present();
  const auto count = [](const Hypothesis& h) { return std::count(h.present().begin(), h.present().end(), true); };
  numbers.chance_of_number = 0.0;
  for (const Hypothesis& h : all)
    if (count(h) == count(*best)) numbers.chance_of_number += std::exp(h.log_evidence() - total);

  for (std::size_t k = 0; k < 4; ++k) {
    numbers.borders[k] = border_of(k, all, total, furrows);
    // Between two toes that the maker has pointed at there is a border, wherever exactly.
    if (given[k] && given[k + 1]) numbers.borders[k].seen = true, numbers.borders[k].probability = 1.0;
  }
  // Two borders that run together are one, and which of the two isn't known: a path may cross over to a neighbour's.
  for (std::size_t k = 0; k + 1 < 4; ++k) {
    ToeNumbers::Border &inner = numbers.borders[k], &outer = numbers.borders[k + 1];
    const double breadth =
        ToeStrip::kColumnStep * (static_cast<double>(outer.path.back()) - static_cast<double>(inner.path.back()));
    if (inner.seen && outer.seen && numbers.there[k + 1] && !given[k + 1] && breadth < 0.5 * kToeBreadth[k + 1])
      inner.seen = outer.seen = false;
  }
  return numbers;
}

}  // namespace lastroom
