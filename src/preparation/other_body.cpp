#include "preparation/other_body.h"

#include <algorithm>

#include "geometry/section.h"

namespace lastroom {
namespace {

// All heights and widths in parts of the body's length. Over the instep a foot goes on as a leg, as broad as its ankle
// bones; a last ends in a cone that grows narrower upward, so that it can be drawn from the shoe. Our choices, set on
// feet and lasts of our own making, with a few foreign ones in view: feet 0.25 to 0.28 broad there, lasts 0.22 to 0.24
// and a quarter less than further down.
constexpr double kLowest = 0.20, kHighest = 0.30, kStep = 0.02;
constexpr double kRear = 0.6;      ///< the body behind its instep
constexpr double kNarrow = 0.225;  ///< an ankle is broader
constexpr double kBroad = 0.25;    ///< a cone is narrower
constexpr double kHardlyLess = 0.94, kBroadish = 0.235;

struct Top {
  double height = 0.0;                    ///< of the highest cut that is met
  double width = 0.0, width_below = 0.0;  ///< there, and at the lowest cut
};

/// Cuts across the body's rear, level, from low to high.
std::optional<Top> top_of(const Mesh& mesh, double length_mm) {
  std::optional<Top> top;
  for (double height = kLowest; height < kHighest + 0.5 * kStep; height += kStep) {
    double inside = -1e9, outside = 1e9;
    for (const SectionCurve& curve : section(mesh, {Vec3(0.0, 0.0, height * length_mm), Vec3::UnitZ()}))
      for (const Vec3& p : curve.points_mm)
        if (p.x() < kRear * length_mm) inside = std::max(inside, p.y()), outside = std::min(outside, p.y());
    if (inside <= outside) break;
    const double width = (inside - outside) / length_mm;
    top = Top{height, width, top ? top->width_below : width};
  }
  return top;
}

}  // namespace

std::optional<Message> doubt_of_a_foot(const Foot& foot) {
  double length_mm = 0.0;
  for (const Vec3& tip : foot.landmarks.toe_tips) length_mm = std::max(length_mm, tip.x());
  const std::optional<Top> top = top_of(foot.mesh, length_mm);
  if (!top || top->width >= kNarrow) return std::nullopt;
  return Message{"doubt.may_be_last",
                 {{"height_mm", Quantity{top->height * length_mm, 0}},
                  {"width_mm", Quantity{top->width * length_mm, 0}},
                  {"ankle_mm", Quantity{kNarrow * length_mm, 0}}}};
}

std::optional<Message> doubt_of_a_last(const Last& last) {
  const double length_mm = last.toe_end.x() - last.heel_back.x();
  const std::optional<Top> top = top_of(last.mesh, length_mm);
  if (!top) return std::nullopt;
  const bool leg = top->width > kBroad || (top->width > kBroadish && top->width > kHardlyLess * top->width_below);
  if (!leg) return std::nullopt;
  return Message{
      "doubt.may_be_foot",
      {{"height_mm", Quantity{top->height * length_mm, 0}}, {"width_mm", Quantity{top->width * length_mm, 0}}}};
}

}  // namespace lastroom
