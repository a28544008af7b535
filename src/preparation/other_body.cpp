#include "preparation/other_body.h"

#include <algorithm>
#include <array>

#include "error.h"
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

/// Half of a cut across a last, from its bottom upward: how far out it is (y) at each height (x), in steps of kRise_mm,
/// evened over kEvened steps.
constexpr double kRise_mm = 0.5;
constexpr std::size_t kEvened = 5;
std::vector<Vec2> flank(const Mesh& mesh, double x_mm, double up_to_mm, double way) {
  struct Piece {
    Vec2 a, b;  ///< out, up
  };
  std::vector<Piece> pieces;
  double low = 1e9;
  for (const SectionCurve& curve : section(mesh, {Vec3(x_mm, 0.0, 0.0), Vec3::UnitX()}))
    for (std::size_t i = curve.closed ? 0 : 1; i < curve.points_mm.size(); ++i) {
      const Vec3 &a = curve.points_mm[(i + curve.points_mm.size() - 1) % curve.points_mm.size()],
                 &b = curve.points_mm[i];
      pieces.push_back({{way * a.y(), a.z()}, {way * b.y(), b.z()}});
      low = std::min({low, a.z(), b.z()});
    }
  std::vector<Vec2> line;
  for (double up = low + kRise_mm; up < low + up_to_mm; up += kRise_mm) {
    std::optional<double> out;
    for (const auto& [a, b] : pieces)
      if ((a.y() > up) != (b.y() > up)) {
        const double here = a.x() + (up - a.y()) / (b.y() - a.y()) * (b.x() - a.x());
        out = std::max(out.value_or(here), here);
      }
    if (out) line.emplace_back(up, *out);
  }
  std::vector<Vec2> even;
  for (std::size_t i = 0; i + kEvened <= line.size(); ++i) {
    Vec2 sum = Vec2::Zero();
    for (std::size_t k = 0; k < kEvened; ++k) sum += line[i + k];
    even.push_back(sum / static_cast<double>(kEvened));
  }
  return even;
}

/// How deep the deepest hollow is that a straight edge laid along the flank would bridge.
double hollow_mm(const std::vector<Vec2>& flank) {
  const auto turns_in = [](const Vec2& a, const Vec2& b, const Vec2& c) {
    return (b - a).x() * (c - a).y() - (b - a).y() * (c - a).x() >= 0.0;
  };
  std::vector<Vec2> edge;  // the flank's convex hull, on its outer side
  for (const Vec2& p : flank) {
    while (edge.size() >= 2 && turns_in(edge[edge.size() - 2], edge.back(), p)) edge.pop_back();
    edge.push_back(p);
  }
  double deepest = 0.0;
  for (std::size_t i = 0, h = 0; i < flank.size() && h + 1 < edge.size(); ++i) {
    while (h + 2 < edge.size() && edge[h + 1].x() < flank[i].x()) ++h;
    const Vec2 along = (edge[h + 1] - edge[h]).normalized(), to = flank[i] - edge[h];
    deepest = std::max(deepest, along.y() * to.x() - along.x() * to.y());
  }
  return deepest;
}

/// The hollow over the sole's edge in the middle of all flanks of heel and fore part; the waist of a last is hollow
/// too.
double sole_edge_mm(const Last& last) {
  constexpr std::array kStations = {0.06, 0.10, 0.15, 0.20, 0.25, 0.55, 0.60, 0.65, 0.70, 0.75, 0.80, 0.85};
  constexpr double kUpTo = 0.12;  // of the length: a sole's edge and as much of the upper, below a last's ridge
  const double length_mm = last.toe_end.x() - last.heel_back.x();
  std::vector<double> hollows;
  for (const double station : kStations)
    for (const double way : {1.0, -1.0})
      hollows.push_back(hollow_mm(flank(last.mesh, last.heel_back.x() + station * length_mm, kUpTo * length_mm, way)));
  std::nth_element(hollows.begin(), hollows.begin() + kStations.size(), hollows.end());
  return hollows[kStations.size()];
}

/// Of three sentences the one for how far it strays.
Message graded(const std::array<const char*, 3>& close_fair_rough, double strays_mm, double close_mm, double fair_mm,
               double most_mm) {
  const char* const key = close_fair_rough[strays_mm <= close_mm ? 0 : strays_mm <= fair_mm ? 1 : 2];
  return {key, {{"mm", Quantity{strays_mm, 1}}, {"most_mm", Quantity{most_mm, 1}}}};
}

/// Our choice. Lasts on heels up to 60 mm stray up to 16 mm; what was read lying wrongly, 26 and more.
constexpr double kMostLast_mm = 20.0;

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
  if (last.likeness_mm > kMostLast_mm)
    return Message{"doubt.unlike_last",
                   {{"mm", Quantity{last.likeness_mm, 0}}, {"most_mm", Quantity{kMostLast_mm, 0}}}};
  const std::optional<Top> top = top_of(last.mesh, length_mm);
  if (!top) return std::nullopt;
  const bool leg = top->width > kBroad || (top->width > kBroadish && top->width > kHardlyLess * top->width_below);
  if (!leg) return std::nullopt;
  return Message{
      "doubt.may_be_foot",
      {{"height_mm", Quantity{top->height * length_mm, 0}}, {"width_mm", Quantity{top->width * length_mm, 0}}}};
}

void refuse_shoe(const Last& last) {
  // Our choice: made lasts and a scanned one have 0.02 mm and less, shoes with an edge of 1.5 mm over the upper 0.9 and
  // more. Welts stand out 3 to 5 mm (common practice, no source).
  constexpr double kSoleEdge_mm = 0.6;
  if (const double edge_mm = sole_edge_mm(last); edge_mm > kSoleEdge_mm)
    throw InputError(about_file("last.is_shoe", last.facts.file, {{"edge_mm", Quantity{edge_mm, 1}}}));
}

Message likeness_of(const Foot& foot) {
  // Our choices. Made feet stray up to 2.5 mm, five scans and body models 2.6 to 3.0; what strays most_mm is refused.
  constexpr double kClose_mm = 2.0, kFair_mm = 4.0, kMost_mm = 5.5;
  return graded({"likeness.foot.close", "likeness.foot.fair", "likeness.foot.rough"}, foot.likeness_mm, kClose_mm,
                kFair_mm, kMost_mm);
}

Message likeness_of(const Last& last) {
  constexpr double kClose_mm = 5.0, kFair_mm = 12.0;  // our choices; a scanned sandal last strays 8
  return graded({"likeness.last.close", "likeness.last.fair", "likeness.last.rough"}, last.likeness_mm, kClose_mm,
                kFair_mm, kMostLast_mm);
}

const Message* first_doubt(const InputFacts& facts) {
  const bool doubted = !facts.repairs.empty() && facts.repairs.front().key == "repair.look_first";
  return doubted ? &facts.repairs.front() : nullptr;
}

}  // namespace lastroom
