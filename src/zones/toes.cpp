#include "zones/toes.h"

#include <algorithm>
#include <cmath>

#include "preparation/foot_toe_breadths.h"

namespace lastroom {
namespace {

constexpr double kRootsBeforeJoints = 0.08;  // toes begin to part this far before the joint line, in foot lengths
constexpr double kBeyondTipMm = 2.0;         // a scan's noise and more

double y_at(const ToeBorder& border, double x) {
  const double along = std::max(0.0, (x - border.root.x()) / std::max(border.tip.x() - border.root.x(), 1.0));
  return border.root.y() + along * (border.tip.y() - border.root.y());
}

}  // namespace

ToesInPlan::ToesInPlan(const FootLandmarks& landmarks)
    : first_(landmarks.first_joint.head<2>()),
      fifth_(landmarks.fifth_joint.head<2>()),
      length_mm_(foot_length_mm(landmarks)) {
  for (std::size_t i = 0; i < 5; ++i) {
    const ToeGroup group = group_of_toe(landmarks, i);
    // Toes that run together have no tips of their own that skin could lie in front of.
    tips_x_[i] = group.first == group.last ? landmarks.toe_tips[i].x() : std::numeric_limits<double>::infinity();
  }
  borders_ = landmarks.toe_borders;
  for (std::size_t i = 0; i < 4; ++i) {
    if (borders_[i].root != borders_[i].tip) continue;
    const Vec2 left = landmarks.toe_tips[i].head<2>(), right = landmarks.toe_tips[i + 1].head<2>();
    const double share = kToeBreadth[i] / (kToeBreadth[i] + kToeBreadth[i + 1]);
    borders_[i].root = first_ + share_before_toe(i + 1) * (fifth_ - first_);
    borders_[i].tip = left + share * (right - left);
  }
}

double ToesInPlan::before_joint_line_mm(const Vec3& p) const {
  const double across = first_.y() - fifth_.y();
  const double share = across > 1.0 ? std::clamp((first_.y() - p.y()) / across, 0.0, 1.0) : 0.5;
  return p.x() - (first_.x() + share * (fifth_.x() - first_.x()));
}

std::uint8_t ToesInPlan::toe_at(const Vec3& p) const {
  if (before_joint_line_mm(p) < kRootsBeforeJoints * length_mm_) return 0;
  std::uint8_t toe = 1;
  for (const ToeBorder& border : borders_)
    if (p.y() < y_at(border, p.x())) ++toe;
  // Skin in front of a toe's own tip is the side of a longer neighbour.
  const auto in_front = [&](std::size_t t) { return p.x() > tips_x_[t - 1] + kBeyondTipMm; };
  if (in_front(toe)) {
    if (toe > 1 && !in_front(toe - 1u)) return static_cast<std::uint8_t>(toe - 1);
    if (toe < 5 && !in_front(toe + 1u)) return static_cast<std::uint8_t>(toe + 1);
  }
  return toe;
}

}  // namespace lastroom
