#include "zones/toes.h"

#include <algorithm>
#include <cmath>

namespace lastroom {
namespace {

// Breadth of the toes and of their metatarsal heads in parts of their sum, big toe first (our choice, after the
// outline of a standing foot: the big toe is about a third of the five).
constexpr std::array<double, 5> kBreadth = {0.33, 0.18, 0.165, 0.16, 0.165};
constexpr double kRootsBeforeJoints = 0.08;  // toes begin to part this far before the joint line, in foot lengths
constexpr double kSearchMm = 5.0;            // how far a groove may lie beside the line between two tips
constexpr double kBeyondTipMm = 2.0;         // a scan's noise and more
constexpr double kBinMm = 1.0;
constexpr double kGrooveDepthMm = 1.0;  // a shallower one is noise (0.8 mm at most, see the accuracy table)

double share_before(std::size_t toes) {
  double sum = 0.0;
  for (std::size_t i = 0; i < toes; ++i) sum += kBreadth[i];
  return sum;
}

}  // namespace

double foot_length_mm(const FootLandmarks& landmarks) {
  double longest = 0.0;
  for (const Vec3& tip : landmarks.toe_tips) longest = std::max(longest, tip.x() - landmarks.heel.x());
  return longest;
}

double ToesInPlan::Border::y_at(double x) const {
  const double along = std::max(0.0, (x - root.x()) / std::max(tip.x() - root.x(), 1.0));
  return root.y() + along * (tip.y() - root.y());
}

ToesInPlan::ToesInPlan(const FootLandmarks& landmarks)
    : first_(landmarks.first_joint.head<2>()),
      fifth_(landmarks.fifth_joint.head<2>()),
      length_mm_(foot_length_mm(landmarks)) {
  for (std::size_t i = 0; i < 5; ++i) tips_x_[i] = landmarks.toe_tips[i].x();
  for (std::size_t i = 0; i < 4; ++i) {
    const Vec2 left = landmarks.toe_tips[i].head<2>(), right = landmarks.toe_tips[i + 1].head<2>();
    const double share = kBreadth[i] / (kBreadth[i] + kBreadth[i + 1]);
    borders_[i].root = first_ + share_before(i + 1) * (fifth_ - first_);
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
  for (const Border& border : borders_)
    if (p.y() < border.y_at(p.x())) ++toe;
  // Skin in front of a toe's own tip is the side of a longer neighbour.
  const auto in_front = [&](std::size_t t) { return p.x() > tips_x_[t - 1] + kBeyondTipMm; };
  if (in_front(toe)) {
    if (toe > 1 && !in_front(toe - 1u)) return static_cast<std::uint8_t>(toe - 1);
    if (toe < 5 && !in_front(toe + 1u)) return static_cast<std::uint8_t>(toe + 1);
  }
  return toe;
}

void ToesInPlan::settle_in_valleys(const Mesh& mesh, const std::vector<Vec3>& normals) {
  constexpr std::size_t kBins = static_cast<std::size_t>(2.0 * kSearchMm / kBinMm);
  for (Border& border : borders_) {
    // The skin's top over a strip across the front half of both toes, by distance from the line.
    std::array<double, kBins> top_mm = {};
    const double from = border.root.x() + 0.6 * (border.tip.x() - border.root.x());
    for (std::size_t i = 0; i < mesh.vertices.size(); ++i) {
      const Vec3& p = mesh.vertices[i];
      if (p.x() < from || p.x() > border.tip.x() || normals[i].z() < 0.0) continue;
      const double bin = (p.y() - border.y_at(p.x()) + kSearchMm) / kBinMm;
      if (bin < 0.0 || bin >= static_cast<double>(kBins)) continue;
      double& top = top_mm[static_cast<std::size_t>(bin)];
      top = std::max(top, p.z());
    }
    const auto lowest = std::min_element(top_mm.begin(), top_mm.end());
    const double rim_mm =
        std::min(*std::max_element(top_mm.begin(), lowest + 1), *std::max_element(lowest, top_mm.end()));
    if (rim_mm - *lowest < kGrooveDepthMm) continue;
    const double shift_mm = (static_cast<double>(lowest - top_mm.begin()) + 0.5) * kBinMm - kSearchMm;
    border.tip.y() += shift_mm;
    border.root.y() += 0.5 * shift_mm;
  }
}

}  // namespace lastroom
