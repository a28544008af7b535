#pragma once

#include "preparation/foot_toe_borders.h"

namespace lastroom {

/// What the skin shows of a border in each column of the strip, counted in the row kMiddleRow.
struct Furrows {
  struct Column {
    double log_odds = 0.0;                      ///< log likelihood of a border here by that of none
    bool deepest = false;                       ///< of its neighbourhood
    double top = 0.0, sole = 0.0, notch = 0.0;  ///< depths in foot lengths
    FurrowPath path{};
  };
  std::array<Column, ToeStrip::kColumns> columns;
  double log_odds_of_nothing = 0.0;                 ///< of a border where nothing is seen
  std::array<double, ToeStrip::kColumns> filled{};  ///< as ToeStrip
};

Furrows find_furrows(const ToeStrip& strip);

}  // namespace lastroom
