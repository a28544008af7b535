#include "demo/toe_style.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

struct StyleNumbers {
  double roundness;     ///< superellipse exponent of the plan outline
  double wall_mm;       ///< height of the widest line over the bottom
  double recede;        ///< superellipse exponent of the profile: small comes down early
  double extra_top_mm;  ///< added to the roof
};

StyleNumbers numbers(ToeStyle style) {  // our choice
  switch (style) {
    case ToeStyle::almond:
      return {1.75, 7.0, 1.7, 0.0};
    case ToeStyle::squared:
      return {4.0, 9.0, 3.4, 0.0};
    case ToeStyle::high_and_bulky:
      return {2.7, 12.0, 2.8, 6.0};
    case ToeStyle::round:
      break;
  }
  return {2.2, 8.0, 2.0, 0.0};
}

constexpr double kPast_mm = 1.5;   // the outline keeps at least this far from a toe beyond its room
constexpr double kTouch_mm = 0.3;  // beside a toe it may come this near to its room
constexpr double kSlopeOver_mm = 12.0;

double width_at(const LastSkin& skin, double x, double side) {
  double widest = 1.0;
  for (const Triangle& t : skin.mesh.triangles)
    for (std::size_t e = 0; e < 3; ++e) {
      const Vec3& a = skin.mesh.vertices[t[e]];
      const Vec3& b = skin.mesh.vertices[t[(e + 1) % 3]];
      if ((a.x() > x) == (b.x() > x)) continue;
      widest = std::max(widest, side * (a.y() + (x - a.x()) / (b.x() - a.x()) * (b.y() - a.y())));
    }
  return widest;
}

}  // namespace

ToeCap::ToeCap(const LastSkin& skin, const LastBottom&, ToeStyle style, double toe_end_x_mm) : end_x_mm_(toe_end_x_mm) {
  const StyleNumbers chosen = numbers(style);
  wall_mm_ = chosen.wall_mm;
  recede_ = chosen.recede;
  extra_top_mm_ = chosen.extra_top_mm;
  extra_from_x_mm_ = skin.joint_middle.x() + 0.08 * skin.length_mm;
  extra_to_x_mm_ = skin.joint_middle.x() + 0.26 * skin.length_mm;
  const auto start = [&](double start_x, double side) {
    Side s{start_x, width_at(skin, start_x, side), 0.0, chosen.roundness};
    const double length = end_x_mm_ - start_x;
    const double slope = (s.width_mm - width_at(skin, start_x - kSlopeOver_mm, side)) / kSlopeOver_mm;
    s.slope = std::clamp(slope, -0.6 * s.width_mm / length, 0.0);
    const auto holds = [&] {
      return std::all_of(skin.mesh.vertices.begin(), skin.mesh.vertices.end(), [&](const Vec3& p) {
        return p.x() < start_x + 4.0 || side * p.y() < 0.0 || contains(s, p.x() + kPast_mm, side * p.y() - kTouch_mm);
      });
    };
    while (!holds() && s.roundness < 8.0) s.roundness += 0.1;
    return s;
  };
  inside_ = start(skin.tip_x_mm - 0.08 * skin.length_mm, 1.0);
  outside_ = start(skin.tip_x_mm - 0.17 * skin.length_mm, -1.0);
}

bool ToeCap::contains(const Side& side, double x_mm, double across_mm) const {
  const double u = (x_mm - side.start_x_mm) / (end_x_mm_ - side.start_x_mm);
  if (u >= 1.0) return false;
  const double bulge = std::pow(1.0 - std::pow(std::max(u, 0.0), side.roundness), 1.0 / side.roundness);
  return across_mm < (side.width_mm + side.slope * (x_mm - side.start_x_mm)) * bulge;
}

double ToeCap::reach_mm(double x_mm, const Vec2& direction) const {
  const Side& side = direction.y() >= 0.0 ? inside_ : outside_;
  if (x_mm < side.start_x_mm && direction.x() < 1e-9) return 0.0;
  double low = 0.0, high = 150.0;
  for (int i = 0; i < 50; ++i) {
    const double q = 0.5 * (low + high);
    (contains(side, x_mm + q * direction.x(), q * std::abs(direction.y())) ? low : high) = q;
  }
  return low;
}

void ToeCap::add_points(std::vector<Vec2>& points, double x_mm, const Vec2& direction, double ground_mm, double top_mm,
                        bool behind) const {
  const double t = std::clamp((x_mm - extra_from_x_mm_) / (extra_to_x_mm_ - extra_from_x_mm_), 0.0, 1.0);
  const double top = direction.x() > 1e-9 ? top_mm : top_mm + extra_top_mm_ * t * t * (3.0 - 2.0 * t);
  const double reach = reach_mm(x_mm, direction);
  if (top > top_mm) points.emplace_back(0.0, top);
  if (reach <= 0.0) return;
  const double wall = ground_mm + std::min(wall_mm_, 0.5 * (top - ground_mm));
  for (int i = 0; i <= 24; ++i) {
    const double angle = 0.5 * std::numbers::pi * i / 24.0;
    const double q = reach * std::pow(std::cos(angle), 2.0 / recede_);
    points.emplace_back(behind ? -q : q, wall + (top - wall) * std::pow(std::sin(angle), 2.0 / recede_));
  }
}

}  // namespace lastroom
