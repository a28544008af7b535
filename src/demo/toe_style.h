#pragma once

#include "demo/last_skin.h"

namespace lastroom {

/// The style's own shape in front of the toes: plan outline, wall and recede together. It starts where the outline
/// leaves the toes, with their slope, and never cuts into them.
class ToeCap {
 public:
  ToeCap(const LastSkin& skin, const LastBottom& bottom, ToeStyle style, double toe_end_x_mm);
  /// How far the outline reaches from (x, 0) along `direction` in plan; 0 where the style has no say.
  double reach_mm(double x_mm, const Vec2& direction) const;
  /// Adds the cap's profile in that half plane, from the wall's foot to the ridge at `top_mm` above (x, 0); `behind`
  /// gives it negative distances, for the other half of a full section.
  void add_points(std::vector<Vec2>& points, double x_mm, const Vec2& direction, double ground_mm, double top_mm,
                  bool behind = false) const;

 private:
  struct Side {
    double start_x_mm, width_mm, slope, roundness;
  };
  bool contains(const Side& side, double x_mm, double across_mm) const;

  double end_x_mm_, wall_mm_, recede_, extra_top_mm_, extra_from_x_mm_, extra_to_x_mm_;
  Side inside_, outside_;
};

}  // namespace lastroom
