#pragma once

#include <string_view>

namespace lastroom {

/// What the maker's words for a spot tell of the wearer, in whichever catalogue's language they are: "wound", "ulcer",
/// "amputation", "charcot", "no_feeling" or "illness", the ends of the keys "mark." (its name) and "mark_words." (the
/// words that mean it). Empty when they tell of none. "No ulcer" tells of one: a wearer too many at risk is the lesser
/// mistake.
std::string_view risk_in_mark(std::string_view mark);

}  // namespace lastroom
