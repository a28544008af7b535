#include <algorithm>
#include <cmath>
#include <numeric>

#include "clearance/clearance.h"

namespace lastroom {
namespace {

struct Span {
  double bottom_mm, roof_mm;  ///< lowest and highest crossing of a vertical line with the last
};

/// Vertical lines through the last's fore part: its triangles sorted into square cells of the plan.
class VerticalLines {
 public:
  VerticalLines(const Mesh& last, double from_x_mm) : mesh_(last) {
    Box box;
    std::vector<std::uint32_t> used;
    for (std::uint32_t i = 0; i < last.triangles.size(); ++i) {
      const Triangle& t = last.triangles[i];
      if (std::ranges::all_of(t, [&](std::uint32_t corner) { return last.vertices[corner].x() < from_x_mm; })) continue;
      used.push_back(i);
      for (std::uint32_t corner : t) {
        box.low = box.low.cwiseMin(last.vertices[corner]);
        box.high = box.high.cwiseMax(last.vertices[corner]);
      }
    }
    if (used.empty()) return;
    low_ = box.low.head<2>();
    columns_ = cell(box.high.x() - low_.x()) + 1;
    rows_ = cell(box.high.y() - low_.y()) + 1;
    // Counted first, then filled from the back: one array for all cells.
    first_.assign(columns_ * rows_ + 1, 0);
    for (std::uint32_t i : used) for_cells(last.triangles[i], [&](std::size_t c) { ++first_[c]; });
    std::partial_sum(first_.begin(), first_.end(), first_.begin());
    listed_.resize(first_.back());
    for (std::uint32_t i : used) for_cells(last.triangles[i], [&](std::size_t c) { listed_[--first_[c]] = i; });
  }

  std::optional<Span> at(double x_mm, double y_mm) const {
    const double dx = x_mm - low_.x(), dy = y_mm - low_.y();
    if (dx < 0.0 || dy < 0.0 || cell(dx) >= columns_ || cell(dy) >= rows_) return std::nullopt;
    std::optional<Span> span;
    const std::size_t c = cell(dx) * rows_ + cell(dy);
    for (std::size_t k = first_[c]; k < first_[c + 1]; ++k)
      if (const std::optional<double> z = height(mesh_.triangles[listed_[k]], {x_mm, y_mm}))
        span = span ? Span{std::min(span->bottom_mm, *z), std::max(span->roof_mm, *z)} : Span{*z, *z};
    return span;
  }

 private:
  static constexpr double kCell = 2.0;  // mm; about the edge of a last's triangle

  static std::size_t cell(double offset_mm) { return static_cast<std::size_t>(offset_mm / kCell); }

  template <class Visit>
  void for_cells(const Triangle& t, const Visit& visit) const {
    const Vec2 a = mesh_.vertices[t[0]].head<2>(), b = mesh_.vertices[t[1]].head<2>(),
               c = mesh_.vertices[t[2]].head<2>();
    const Vec2 low = a.cwiseMin(b).cwiseMin(c) - low_, high = a.cwiseMax(b).cwiseMax(c) - low_;
    for (std::size_t column = cell(low.x()); column <= cell(high.x()); ++column)
      for (std::size_t row = cell(low.y()); row <= cell(high.y()); ++row) visit(column * rows_ + row);
  }

  /// Height where the vertical line through `p` crosses the triangle; none when it passes beside it or runs in it.
  std::optional<double> height(const Triangle& t, const Vec2& p) const {
    const Vec3 &a = mesh_.vertices[t[0]], &b = mesh_.vertices[t[1]], &c = mesh_.vertices[t[2]];
    const auto cross = [](const Vec2& u, const Vec2& v) { return u.x() * v.y() - u.y() * v.x(); };
    const Vec2 ab = (b - a).head<2>(), ac = (c - a).head<2>(), ap = p - a.head<2>();
    const double twice_area = cross(ab, ac);
    if (twice_area == 0.0) return std::nullopt;
    const double v = cross(ap, ac) / twice_area, w = cross(ab, ap) / twice_area;
    constexpr double kEdge = 1e-9;  // a line through an edge must not slip between its two triangles
    if (v < -kEdge || w < -kEdge || v + w > 1.0 + kEdge) return std::nullopt;
    return a.z() + v * (b.z() - a.z()) + w * (c.z() - a.z());
  }

  const Mesh& mesh_;
  Vec2 low_ = Vec2::Zero();
  std::size_t columns_ = 0, rows_ = 0;
  std::vector<std::size_t> first_;     ///< per cell, its first entry of `listed_`; one more at the end
  std::vector<std::uint32_t> listed_;  ///< triangles
};

using Members = std::vector<std::uint32_t>;

std::array<Members, 5> skin_by_toe(const SkinMap& skin) {
  std::array<Members, 5> result;
  for (std::uint32_t i = 0; i < skin.toe.size(); ++i)
    if (skin.toe[i] >= 1 && skin.toe[i] <= 5) result[skin.toe[i] - 1u].push_back(i);
  return result;
}

std::uint32_t foremost(const ClearanceField& field, const Members& toe) {
  return *std::max_element(toe.begin(), toe.end(), [&](std::uint32_t a, std::uint32_t b) {
    return field.skin_mm[a].x() < field.skin_mm[b].x();
  });
}

/// How far the toe's end, lifted by so much, can go forward, straight along x and as the bottom rises, before its top
/// reaches the roof: the toe's own profile against the last's. Negative when it is through the roof, or before the end,
/// as it stands.
std::optional<double> way_forward_mm(const ClearanceField& field, const Members& toe, const Vec3& tip, double lift_mm,
                                     const VerticalLines& lines) {
  constexpr double kHalfStrip = 3.0;             // mm; the toe's middle: beside it, walls are the sides' business
  constexpr double kBack = 30.0, kMost = 100.0;  // mm; where the search begins and ends
  constexpr double kStep = 1.0;                  // mm; a crossing is then halved down to 0.01 mm
  std::optional<double> least;
  for (std::uint32_t i : toe) {
    const Vec3& p = field.skin_mm[i];
    if (p.x() < tip.x() - kToeEnd_mm || std::abs(p.y() - tip.y()) > kHalfStrip || field.skin_normal[i].z() < 0.0)
      continue;
    const std::optional<Span> here = lines.at(p.x(), p.y());
    const auto fits = [&](double way_mm) {
      const std::optional<Span> there = lines.at(p.x() + way_mm, p.y());
      const double rise = there && here ? there->bottom_mm - here->bottom_mm : 0.0;
      return there && p.z() + lift_mm + rise + field.sock_mm <= there->roof_mm;
    };
    double way = -kBack;
    const std::optional<Span> begin = lines.at(p.x() + way, p.y());
    constexpr double kHole = 1.0;                                       // mm; less between bottom and roof is none
    if (!begin || begin->roof_mm - begin->bottom_mm < kHole) continue;  // no last there to begin with
    if (!fits(way)) return way;                                         // still through the roof
    const double enough = least.value_or(kMost);
    while (way < enough && fits(way + kStep)) way += kStep;
    double stop = way + kStep;
    while (stop - way > 0.01) (fits((way + stop) / 2.0) ? way : stop) = (way + stop) / 2.0;
    least = std::min(enough, way);
  }
  return least;
}

/// One standard deviation of the way forward. A toe that stands higher meets a roof that falls by so much earlier; a
/// blunt toe's tip may lie to either side, where the last ends elsewhere.
double doubt_of_way_mm(const ClearanceField& field, const Members& toe, const Vec3& tip, double way_mm,
                       const Eigen::Matrix3d& covariance, const VerticalLines& lines) {
  constexpr double kAside = 2.0;  // mm; our choice: blunt toes' tips are found some millimetres to either side
  double aside_mm = 0.0;
  for (const double y : {-kAside, kAside}) {
    const Vec3 other = tip + Vec3(0.0, y, 0.0);
    aside_mm = std::max(aside_mm, std::abs(way_forward_mm(field, toe, other, 0.0, lines).value_or(way_mm) - way_mm));
  }
  const double lift_mm = std::sqrt(covariance(2, 2));
  double by_height = 0.0;
  if (lift_mm > 0.0) by_height = (way_mm - way_forward_mm(field, toe, tip, lift_mm, lines).value_or(way_mm)) / lift_mm;
  const Vec3 by_place(1.0, 0.0, by_height);
  return std::hypot(aside_mm, std::sqrt(by_place.dot(covariance * by_place)));
}

struct Least {
  double mm;
  Vec3 at;
};

/// Vertical room over the skin that looks up, its 5th percentile by area; where the skin is beside the last in plan,
/// the (negative) distance to it stands in for a roof that is not there.
std::optional<Least> headroom_over(const ClearanceField& field, const Members& toe, const VerticalLines& lines) {
  constexpr double kLooksUp = 0.8;  // within 37 degrees of straight up: the toe's back, not its flanks. Our choice.
  struct Sample {
    double room_mm;
    std::uint32_t vertex;
  };
  std::vector<Sample> samples;
  double area = 0.0;
  for (std::uint32_t i : toe) {
    if (field.skin_normal[i].z() < kLooksUp || field.on_rim[i]) continue;
    const Vec3& p = field.skin_mm[i];
    const std::optional<Span> span = lines.at(p.x(), p.y());
    samples.push_back({span ? span->roof_mm - p.z() - field.sock_mm : field.clearance_mm[i], i});
    area += field.area_mm2[i];
  }
  if (samples.empty()) return std::nullopt;
  std::sort(samples.begin(), samples.end(), [](const Sample& a, const Sample& b) {
    return std::pair{a.room_mm, a.vertex} < std::pair{b.room_mm, b.vertex};
  });
  double covered = 0.0;
  for (const Sample& s : samples)
    if ((covered += field.area_mm2[s.vertex]) >= 0.05 * area) return Least{s.room_mm, field.skin_mm[s.vertex]};
  return Least{samples.back().room_mm, field.skin_mm[samples.back().vertex]};
}

/// One standard deviation of the vertical room at a place: under a roof that slopes, also by where the toe stands.
double doubt_of_headroom_mm(const Vec3& at, const Eigen::Matrix3d& covariance, const VerticalLines& lines) {
  constexpr double kAside = 2.0;  // mm; about the edge of a last's triangle
  const auto slope = [&](double dx, double dy) {
    const std::optional<Span> there = lines.at(at.x() + dx, at.y() + dy), back = lines.at(at.x() - dx, at.y() - dy);
    return there && back ? (there->roof_mm - back->roof_mm) / (2.0 * kAside) : 0.0;
  };
  const Vec3 by_place(slope(kAside, 0.0), slope(0.0, kAside), -1.0);
  return std::sqrt(by_place.dot(covariance * by_place));
}

}  // namespace

ToeRoom toe_room(const Foot& foot, const SkinMap& skin, const ClearanceField& field, const Last& last) {
  ToeRoom result;
  const std::array<Members, 5> toes = skin_by_toe(skin);
  std::optional<std::size_t> longest;
  double from_x = std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < 5; ++k) {
    if (toes[k].empty()) continue;
    for (std::uint32_t i : toes[k]) from_x = std::min(from_x, field.skin_mm[i].x());
    const Vec3& tip = field.skin_mm[foremost(field, toes[k])];
    if (!longest || tip.x() > result.tip_at_mm.x()) {
      longest = k;
      result.tip_at_mm = tip;
    }
  }
  if (!longest) return result;

  const VerticalLines lines(last.mesh, from_x - 40.0);  // as far back as a search may begin
  const Vec3& tip = result.tip_at_mm;
  result.allowance_mm = bounds(last.mesh).high.x() - tip.x();
  const Eigen::Matrix3d& tip_covariance = field.toe_tip_covariance_mm2[*longest];
  result.allowance_doubt_mm = std::sqrt(tip_covariance(0, 0));
  for (std::size_t k = 0; k < 5; ++k) {
    if (toes[k].empty()) continue;
    if (const std::optional<double> way =
            way_forward_mm(field, toes[k], field.skin_mm[foremost(field, toes[k])], 0.0, lines))
      result.ahead_mm[k] = *way - field.sock_mm;
  }
  if (result.ahead_mm[*longest]) {
    const double way = *result.ahead_mm[*longest] + field.sock_mm;
    result.tip_mm = result.ahead_mm[*longest];
    result.tip_doubt_mm = doubt_of_way_mm(field, toes[*longest], tip, way, tip_covariance, lines);
    // A toe that may as well be the longest would have its own way: that too is to lie within twice the doubt.
    for (std::size_t k = 0; k < 5; ++k) {
      if (k == *longest || !result.ahead_mm[k]) continue;
      if (field.skin_mm[foremost(field, toes[k])].x() < tip.x() - 2.0 * result.allowance_doubt_mm) continue;
      result.tip_doubt_mm = std::max(result.tip_doubt_mm, std::abs(*result.ahead_mm[k] - *result.tip_mm) / 2.0);
    }
    result.usable_end_mm = tip + Vec3(way, 0.0, 0.0);
  }
  for (const ToeGroup& group : toe_groups(foot.landmarks)) {
    Members members;
    for (std::size_t k = group.first; k <= group.last; ++k)
      members.insert(members.end(), toes[k].begin(), toes[k].end());
    const std::optional<Least> least = headroom_over(field, members, lines);
    if (!least) continue;
    for (std::size_t k = group.first; k <= group.last; ++k) {
      result.headroom_mm[k] = least->mm;
      result.headroom_at_mm[k] = least->at;
      result.headroom_doubt_mm[k] = doubt_of_headroom_mm(least->at, field.toe_tip_covariance_mm2[k], lines);
    }
  }
  return result;
}

}  // namespace lastroom
