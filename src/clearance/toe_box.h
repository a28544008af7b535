#pragma once

#include <optional>

#include "clearance/clearance.h"

namespace lastroom {

/// The last round the toes, in the fore part's own directions (`ClearanceField::last_from_fore`): along the foot, to
/// its inside, up. Made once of a last; the same foot swollen asks again.
class ToeBox {
 public:
  struct Span {
    double bottom_mm, roof_mm;  ///< lowest and highest crossing of a vertical line with the last
  };

  ToeBox(const Last& last, const ClearanceField& field, const SkinMap& skin);

  /// Of the vertical line there; none where it passes beside the last.
  std::optional<Span> at(double x_mm, double y_mm) const;
  /// In the last's profile: at every station the highest that it is anywhere across. None behind the toes and before
  /// the last's end.
  std::optional<double> inner_mm(double x_mm) const;
  /// The last's foremost point.
  double end_x_mm() const { return end_x_mm_; }

 private:
  static std::size_t cell(double offset_mm);
  template <class Visit>
  void for_cells(const Triangle& t, const Visit& visit) const;
  std::optional<double> height(const Triangle& t, const Vec2& p) const;
  void sort_into_cells();
  void read_profile();

  Mesh mesh_;  ///< the last, turned
  double from_x_mm_ = 0.0, end_x_mm_ = 0.0;
  Vec2 low_ = Vec2::Zero();
  std::size_t columns_ = 0, rows_ = 0;
  std::vector<std::size_t> first_;     ///< per cell of the plan, its first entry of `listed_`; one more at the end
  std::vector<std::uint32_t> listed_;  ///< triangles
  std::vector<double> inner_mm_;       ///< the profile, from `from_x_mm_` on
};

ToeRoom toe_room(const Foot& foot, const SkinMap& skin, const ClearanceField& field, const ToeBox& box);

}  // namespace lastroom
