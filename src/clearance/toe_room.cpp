#include <algorithm>
#include <cmath>

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
      const Box plan = plan_of(last.triangles[i]);
      if (plan.high.x() < from_x_mm) continue;
      used.push_back(i);
      box.low = box.low.cwiseMin(plan.low);
      box.high = box.high.cwiseMax(plan.high);
    }
    if (used.empty()) return;
    low_ = box.low.head<2>();
    columns_ = cell(box.high.x() - low_.x()) + 1;
    rows_ = cell(box.high.y() - low_.y()) + 1;
    cells_.resize(columns_ * rows_);
    for (std::uint32_t i : used) {
      const Box plan = plan_of(last.triangles[i]);
      for (std::size_t c = cell(plan.low.x() - low_.x()); c <= cell(plan.high.x() - low_.x()); ++c)
        for (std::size_t r = cell(plan.low.y() - low_.y()); r <= cell(plan.high.y() - low_.y()); ++r)
          cells_[c * rows_ + r].push_back(i);
    }
  }

  std::optional<Span> at(double x_mm, double y_mm) const {
    const double dx = x_mm - low_.x(), dy = y_mm - low_.y();
    if (dx < 0.0 || dy < 0.0 || cell(dx) >= columns_ || cell(dy) >= rows_) return std::nullopt;
    std::optional<Span> span;
    for (std::uint32_t i : cells_[cell(dx) * rows_ + cell(dy)])
      if (const std::optional<double> z = height(mesh_.triangles[i], {x_mm, y_mm}))
        span = span ? Span{std::min(span->bottom_mm, *z), std::max(span->roof_mm, *z)} : Span{*z, *z};
    return span;
  }

 private:
  static constexpr double kCell = 3.0;  // mm; about the edge of a last's triangle

  static std::size_t cell(double offset_mm) { return static_cast<std::size_t>(offset_mm / kCell); }

  Box plan_of(const Triangle& t) const {
    Box box;
    for (std::uint32_t corner : t) {
      box.low = box.low.cwiseMin(mesh_.vertices[corner]);
      box.high = box.high.cwiseMax(mesh_.vertices[corner]);
    }
    return box;
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
  std::vector<std::vector<std::uint32_t>> cells_;
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

constexpr double kToeEnd = 10.0;  // mm behind the tip: about the nail; the toe's height counts there. Our choice.

/// Height of the toe's end, from pad to top.
double toe_end_height_mm(const ClearanceField& field, const Members& toe, const Vec3& tip) {
  double low = tip.z(), high = tip.z();
  for (std::uint32_t i : toe) {
    const Vec3& p = field.skin_mm[i];
    if (p.x() < tip.x() - kToeEnd) continue;
    low = std::min(low, p.z());
    high = std::max(high, p.z());
  }
  return high - low;
}

/// Walks forward from behind the tip, straight along x, to where the last is no longer as high as the toe.
std::optional<double> usable_end_x(const VerticalLines& lines, const Vec3& tip, double needed_mm, double last_end_x) {
  constexpr double kStep = 0.25;  // mm; the crossing is interpolated, so this only bounds how thin a dip may be missed
  std::optional<double> room_before;
  for (double x = tip.x() - kToeEnd; x <= last_end_x + kStep; x += kStep) {
    const std::optional<Span> span = lines.at(x, tip.y());
    if (!span && !room_before) return std::nullopt;  // the toe's end is beside the last: nothing to measure against
    const double room = span ? span->roof_mm - span->bottom_mm - needed_mm : -needed_mm;
    if (room < 0.0) {
      if (!room_before || !span) return room_before ? x - kStep : x;
      return x - kStep * room / (room - *room_before);
    }
    room_before = room;
  }
  return last_end_x;
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

}  // namespace

ToeRoom toe_room(const Foot&, const SkinMap& skin, const ClearanceField& field, const Last& last) {
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

  const VerticalLines lines(last.mesh, from_x - kToeEnd);
  const double last_end_x = bounds(last.mesh).high.x();
  const Vec3& tip = result.tip_at_mm;
  result.allowance_mm = last_end_x - tip.x();
  result.tip_doubt_mm = std::sqrt(field.toe_tip_covariance_mm2[*longest](0, 0));
  const double needed = toe_end_height_mm(field, toes[*longest], tip) + 2.0 * field.sock_mm;
  if (const std::optional<double> end_x = usable_end_x(lines, tip, needed, last_end_x)) {
    result.tip_mm = *end_x - tip.x() - field.sock_mm;
    result.usable_end_mm = {*end_x, tip.y(), tip.z()};
  }
  for (std::size_t k = 0; k < 5; ++k) {
    const std::optional<Least> least = headroom_over(field, toes[k], lines);
    if (!least) continue;
    result.headroom_mm[k] = least->mm;
    result.headroom_at_mm[k] = least->at;
    result.headroom_doubt_mm[k] = std::sqrt(field.toe_tip_covariance_mm2[k](2, 2));
  }
  return result;
}

}  // namespace lastroom
