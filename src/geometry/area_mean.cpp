#include "geometry/area_mean.h"

#include <algorithm>

namespace lastroom {

double mean_of_least(std::vector<std::pair<double, double>>& values, double share) {
  std::sort(values.begin(), values.end());
  double left = 0.0, sum = 0.0;
  for (const auto& [value, area] : values) left += share * area;
  const double whole = left;
  for (const auto& [value, area] : values) {
    const double taken = std::min(area, left);
    sum += taken * value;
    left -= taken;
  }
  return sum / whole;
}

}  // namespace lastroom
