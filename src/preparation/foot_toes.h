#pragma once

#include <array>

#include "geometry/mesh.h"

namespace lastroom {

struct ToeTips {
  std::array<Vec3, 5> tips;    ///< big toe first
  double deepest_notch = 0.0;  ///< of the outline, between two neighbours
};

/// Tips of the five toes, big toe first: the foremost skin of each. `mesh` stands in the foot frame, right form;
/// `length` is its foot length. Toes that lie close are told apart by the notches of the foot's outline, toes that
/// are fused by where they are `expected`.
ToeTips find_toe_tips(const Mesh& mesh, double length, const std::array<Vec3, 5>& expected);

}  // namespace lastroom
