#pragma once

#include <optional>

#include "preparation/foot.h"
#include "preparation/foot_toe_strip.h"

namespace lastroom {

struct Toes {
  std::array<Vec3, 5> tips;  ///< big toe first
  std::array<ToeBorder, 4> borders;
  std::array<bool, 5> there{};
  std::array<bool, 5> shortened{};  ///< ends before where its neighbours let it be expected
};

/// Tips and borders of the five toes. `fore` is the front of the foot, in the foot frame, right form; `given` are the
/// maker's own tips.
Toes find_toes(const Mesh& fore, const ToesExpected& expected, const std::array<std::optional<Vec3>, 5>& given);

}  // namespace lastroom
