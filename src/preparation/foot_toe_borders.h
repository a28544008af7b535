#pragma once

#include <optional>

#include "preparation/foot_toe_strip.h"

namespace lastroom {

/// A furrow or a cleft along the toes, followed from row to row.
using FurrowPath = std::array<std::size_t, ToeStrip::kRows>;  ///< column in every row

/// Which toes there are and where one ends and the next begins.
struct ToeNumbers {
  struct Border {
    FurrowPath path{};
    double probability = 0.0;  ///< that the border of these two toes is where `path` runs
    bool seen = false;
  };
  std::array<Border, 4> borders;
  std::array<bool, 5> there = {true, true, true, true, true};
  double chance_of_number = 1.0;  ///< that as many toes are there as `there` says
};

/// Weighs every way in which five toes, or fewer, may lie side by side: how broad toes are, what parts them on top,
/// under them and in the outline, and in which columns the maker's own points lie (`given`, big toe first).
ToeNumbers number_toes(const ToeStrip& strip, const std::array<std::optional<double>, 5>& given);

}  // namespace lastroom
