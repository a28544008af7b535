#pragma once

#include <array>

#include "preparation/foot.h"

namespace lastroom {

/// The five toes told apart in plan, by the lines of their borders; where these were not measured, by lines that run
/// from between two metatarsal heads to between two tips.
class ToesInPlan {
 public:
  explicit ToesInPlan(const FootLandmarks& landmarks);
  /// 1 (big toe) .. 5; 0 behind the toes' roots.
  std::uint8_t toe_at(const Vec3& point_mm) const;
  /// Along x, positive towards the toes.
  double before_joint_line_mm(const Vec3& point_mm) const;

 private:
  Vec2 first_, fifth_;
  double length_mm_;
  std::array<double, 5> tips_x_ = {};
  std::array<ToeBorder, 4> borders_;
};

}  // namespace lastroom
