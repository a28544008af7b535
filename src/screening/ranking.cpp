#include "screening/ranking.h"

#include <algorithm>
#include <tuple>

#include "geometry/parallel.h"

namespace lastroom {
namespace {

using Key = std::tuple<Verdict, double>;  // less is better

constexpr std::size_t kAtOnce = 8;  // lasts: enough for a workstation's cores, some 30 MB each

Key key_of(const ShelfRow& row) { return {row.verdict, -row.margin.mm}; }

Key best_of(const ShelfRow& unchecked) {
  return {unchecked.sieve.can_be_clear() ? Verdict::clear : Verdict::watch, -unchecked.sieve.most_margin_mm};
}

}  // namespace

std::string_view fate_name(Fate fate) {
  switch (fate) {
    case Fate::judged:
      return "judged";
    case Fate::left_out:
      return "left_out";
    case Fate::other_side:
      return "other_side";
    case Fate::same_file:
      return "same_file";
    case Fate::unusable:
      return "unusable";
    case Fate::not_asked:
      return "not_asked";
  }
  return "";
}

void rank(std::vector<ShelfRow>& rows) {
  const auto key = [](const ShelfRow& row) {
    const Key among = row.fate == Fate::judged ? key_of(row) : row.fate == Fate::left_out ? best_of(row) : Key{};
    return std::tuple_cat(std::tuple(row.fate), among, std::tuple(std::string_view(row.file)));
  };
  std::ranges::sort(rows, [&](const ShelfRow& a, const ShelfRow& b) { return key(a) < key(b); });
}

void check_best_first(std::vector<ShelfRow>& rows, std::size_t keep, const CheckRow& check,
                      const AfterRound& after_round) {
  std::vector<ShelfRow*> waiting;
  for (ShelfRow& row : rows)
    if (row.fate == Fate::left_out) waiting.push_back(&row);
  std::ranges::stable_sort(waiting, {}, [](const ShelfRow* row) { return best_of(*row); });
  std::vector<Key> judged;
  std::size_t next = 0;
  // The last that is the best of those waiting could still be among the `keep` best: it, and those after it, go on.
  const auto possible = [&] {
    if (keep == 0 || judged.size() < keep) return waiting.size() - next;
    std::ranges::nth_element(judged, judged.begin() + static_cast<std::ptrdiff_t>(keep - 1));
    const auto beaten = [&](const ShelfRow* row) { return judged[keep - 1] < best_of(*row); };
    return static_cast<std::size_t>(
               std::ranges::find_if(waiting.begin() + static_cast<std::ptrdiff_t>(next), waiting.end(), beaten) -
               waiting.begin()) -
           next;
  };
  for (std::size_t left = possible(); left > 0; left = possible()) {
    const std::size_t round = std::min(left, kAtOnce);
    for_blocks(round, 1, [&](std::size_t i, std::size_t) { check(*waiting[next + i]); });
    for (std::size_t i = 0; i < round; ++i)
      if (waiting[next + i]->fate == Fate::judged) judged.push_back(key_of(*waiting[next + i]));
    next += round;
    after_round(next, possible());
  }
}

}  // namespace lastroom
