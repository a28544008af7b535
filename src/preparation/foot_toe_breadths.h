#pragma once

#include <array>
#include <cstddef>

namespace lastroom {

/// Breadth of each toe in parts of the five's, big toe first. Our choice, after the outline of a standing foot: the big
/// toe is about a third of the five.
constexpr std::array<double, 5> kToeBreadth = {0.33, 0.18, 0.165, 0.16, 0.165};

constexpr double share_before_toe(std::size_t toe) {
  double sum = 0.0;
  for (std::size_t i = 0; i < toe; ++i) sum += kToeBreadth[i];
  return sum;
}

}  // namespace lastroom
