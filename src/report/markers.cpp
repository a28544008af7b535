#include "report/markers.h"

namespace lastroom {
namespace {

constexpr double kApart_mm = 16.5, kRadius_mm = 8.0;  // a disc is up to 16 mm wide (report.css)

/// Moves every disc away from those that it covers, a little at a time, none of them out of the frame.
std::vector<Vec2> spread(const std::vector<Mark>& marks, const Vec2& low, const Vec2& high) {
  std::vector<Vec2> at;
  for (const Mark& mark : marks) at.push_back(mark.at + mark.moved);
  for (int round = 0; round < 60; ++round) {
    bool moved = false;
    for (std::size_t a = 0; a < at.size(); ++a) {
      for (std::size_t b = a + 1; b < at.size(); ++b) {
        const Vec2 between = at[b] - at[a];
        const double distance = between.norm();
        if (distance >= kApart_mm - 0.01) continue;
        const Vec2 away = distance > 0.1 ? Vec2(between / distance) : Vec2(Vec2::UnitY());
        at[a] -= 0.5 * (kApart_mm - distance) * away;
        at[b] += 0.5 * (kApart_mm - distance) * away;
        moved = true;
      }
    }
    for (Vec2& p : at) p = p.cwiseMin(high).cwiseMax(low);
    if (!moved) break;
  }
  return at;
}

}  // namespace

void add_marks(Drawing& drawing, const std::vector<Mark>& marks, double below_mm) {
  const Vec2 rim(kRadius_mm, kRadius_mm);
  const std::vector<Vec2> at = spread(marks, drawing.low + rim + Vec2(0.0, below_mm), drawing.high - rim);
  for (std::size_t i = 0; i < marks.size(); ++i) {
    if ((at[i] - marks[i].at).norm() > 2.0) add_line(drawing, "mark-line", marks[i].at, at[i]);
  }
  for (std::size_t i = 0; i < marks.size(); ++i) {
    add_marker(drawing, at[i], marks[i].number, marks[i].under ? "marker under" : "marker");
  }
}

}  // namespace lastroom
