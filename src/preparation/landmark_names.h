#pragma once

#include <algorithm>
#include <array>
#include <string_view>

namespace lastroom {

/// What landmarks files, result.json and pictures call the points of a foot, in the order of `FootLandmarks::by_hand`.
constexpr std::array<std::string_view, 8> kLandmarkNames = {"heel",           "first_joint",    "fifth_joint",
                                                            "big_toe_tip",    "second_toe_tip", "third_toe_tip",
                                                            "fourth_toe_tip", "fifth_toe_tip"};

/// The points of anything that has `heel`, `first_joint`, `fifth_joint` and `toe_tips`, in the order of their names.
template <class Marks>
auto landmarks_by_name(Marks& marks) {
  auto& tips = marks.toe_tips;
  return std::array{&marks.heel, &marks.first_joint, &marks.fifth_joint, &tips[0],
                    &tips[1],    &tips[2],           &tips[3],           &tips[4]};
}

/// The point of that name; null: none is called so.
template <class Marks>
auto landmark_called(Marks& marks, std::string_view name) {
  const auto points = landmarks_by_name(marks);
  const auto* const at = std::find(kLandmarkNames.begin(), kLandmarkNames.end(), name);
  return at == kLandmarkNames.end() ? nullptr : points[static_cast<std::size_t>(at - kLandmarkNames.begin())];
}

}  // namespace lastroom
