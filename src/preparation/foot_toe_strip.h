#pragma once

#include <array>
#include <vector>

#include "preparation/foot_plan_view.h"

namespace lastroom {

/// Where a generic foot has its toes, laid over this one: in plan, in its unit and frame.
struct ToesExpected {
  Vec2 first_joint, fifth_joint;
  std::array<Vec2, 5> tips;
  double length = 0.0;  ///< of the foot
};

/// The toes laid out straight, side by side: rows run across them from the joints (s = 0) to their ends (s = 1, the
/// outline with its notches bridged) and further, columns along them from the inside edge of the foot (u = 0) to its
/// outside edge (u = 1). Both edges are straight lines through the skin's own, so that toes which drift to a side stay
/// in their columns.
class ToeStrip {
 public:
  static constexpr std::size_t kRows = 36, kColumns = 101;
  static constexpr double kFirstRow = 0.30, kRowStep = 0.025, kColumnStep = 0.01;

  ToeStrip(const PlanView& view, const ToesExpected& expected);

  static double s_of(std::size_t row) { return kFirstRow + kRowStep * static_cast<double>(row); }
  static double u_of(std::size_t column) { return kColumnStep * static_cast<double>(column); }
  static std::size_t row_of(double s);
  static std::size_t column_of(double u);

  bool has_skin(std::size_t row, std::size_t column) const { return top_[row][column] == top_[row][column]; }
  double top(std::size_t row, std::size_t column) const { return top_[row][column]; }    ///< in foot lengths; NaN: none
  double sole(std::size_t row, std::size_t column) const { return sole_[row][column]; }  ///< likewise
  /// Last s of the column, going forward from the first row over gaps of no more than `kGap`, that has skin.
  double reach(std::size_t column) const { return reach_[column]; }
  /// Share of the toes' beginning that has skin: 1 where there is a toe, if a short one, 0 where one is missing.
  double filled(std::size_t column) const { return filled_[column]; }
  /// The same in shares of the way from the joints to where a generic foot's toe ends.
  double usual_reach(std::size_t column) const { return reach_[column] * ends_[column]; }
  /// How far s = 1 is from s = 0 in the column, in foot lengths.
  double stretch(double u) const;
  Vec2 plan(double s, double u) const;                      ///< in the foot's unit and frame
  Vec2 strip(const Vec2& plan) const;                       ///< (s, u); the inverse of `plan`, to a thousandth
  double inside_edge() const { return inside_.at(0.6); }    ///< in shares of the way from joint to joint
  double outside_edge() const { return outside_.at(0.6); }  ///< likewise; 1 where a generic foot ends

 private:
  struct Edge {
    double at_0 = 0.0, slope = 0.0;
    double at(double s) const { return at_0 + slope * s; }
  };
  Vec2 ray(double s, double v) const;
  double across(double s, double u) const { return inside_.at(s) + u * (outside_.at(s) - inside_.at(s)); }
  void find_edges(const PlanView& view);
  void find_ends(const PlanView& view);

  ToesExpected expected_;
  Edge inside_, outside_;
  std::array<std::array<double, kColumns>, kRows> top_{}, sole_{};
  std::array<double, kColumns> reach_{}, filled_{}, ends_{};  ///< `ends_`: of the toes, in shares of the usual way
};

}  // namespace lastroom
