#pragma once

#include <utility>
#include <vector>

namespace lastroom {

/// Mean by area of what is least up to `share` (0 to 1) of the whole area. `values` are pairs of a value and the area
/// it stands for, at least one, with some area; they come back sorted.
double mean_of_least(std::vector<std::pair<double, double>>& values, double share);

}  // namespace lastroom
