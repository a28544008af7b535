#include "report/markers.h"

namespace lastroom {
namespace {

constexpr double kApart_mm = 15.0;  // a disc is up to 14 mm wide (report.css)

/// Moves every disc away from those that it covers, a little at a time.
std::vector<Vec2> spread(const std::vector<Mark>& marks) {
  std::vector<Vec2> at;
  for (const Mark& mark : marks) at.push_back(mark.at);
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
    if (!moved) break;
  }
  return at;
}

}  // namespace

void add_marks(Drawing& drawing, const std::vector<Mark>& marks) {
  const std::vector<Vec2> at = spread(marks);
  for (std::size_t i = 0; i < marks.size(); ++i) {
    if ((at[i] - marks[i].at).norm() > 2.0) add_line(drawing, "mark-line", marks[i].at, at[i]);
  }
  for (std::size_t i = 0; i < marks.size(); ++i) {
    add_marker(drawing, at[i], marks[i].number, marks[i].under ? "marker under" : "marker");
  }
}

}  // namespace lastroom
