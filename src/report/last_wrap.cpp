#include "report/last_wrap.h"

#include <algorithm>
#include <cmath>

#include "assessment/bench_terms.h"
#include "geometry/parallel.h"
#include "geometry/section.h"
#include "geometry/signed_distance.h"

namespace lastroom {
namespace {

constexpr double kStep_mm = 2.5;  // between places: our choice, about a triangle's edge of a last's file

using Line = std::vector<Vec3>;

double length_of(const Line& line) {
  double length = 0.0;
  for (std::size_t i = 1; i < line.size(); ++i) length += (line[i] - line[i - 1]).norm();
  return length;
}

/// `count` places at the same distance from one another.
Line evenly(const Line& line, std::size_t count) {
  const double step = length_of(line) / static_cast<double>(count - 1);
  Line result = {line.front()};
  double walked = 0.0;
  for (std::size_t i = 1; i < line.size(); ++i) {
    const double side = (line[i] - line[i - 1]).norm();
    for (double next = step * static_cast<double>(result.size()); result.size() + 1 < count && next <= walked + side;
         next = step * static_cast<double>(result.size()))
      result.push_back(line[i - 1] + (side > 0.0 ? (next - walked) / side : 0.0) * (line[i] - line[i - 1]));
    walked += side;
  }
  result.resize(count - 1, line.back());
  result.push_back(line.back());
  return result;
}

/// Mean of the neighbours on both sides, the ends as they are.
Line smoothed(const Line& line, std::size_t reach) {
  Line result = line;
  for (std::size_t i = 1; i + 1 < line.size(); ++i) {
    const std::size_t by = std::min({reach, i, line.size() - 1 - i});
    Vec3 sum = Vec3::Zero();
    for (std::size_t k = i - by; k <= i + by; ++k) sum += line[k];
    result[i] = sum / static_cast<double>(2 * by + 1);
  }
  return result;
}

/// From the heel point to the toe.
Line feather_edge(const Last& last, bool inside) {
  const Line edge = smooth_feather_edge(last);
  const auto toe = std::ranges::max_element(edge, {}, [](const Vec3& p) { return p.x(); });
  Line half;
  if (inside) {
    half.assign(edge.begin(), toe + 1);
  } else {
    half = {edge.front()};
    half.insert(half.end(), edge.rbegin(), std::make_reverse_iterator(toe));
  }
  return half;
}

/// Where both sides' pieces meet in front of the top edge: upright over a straight line in plan, to the toe end.
double seam_y(const Last& last, double x) {
  const double from = last.top.height_mm.empty()
                          ? last.heel_back.x()
                          : last.top.from_x_mm + LastTop::kStep_mm * static_cast<double>(last.top.height_mm.size());
  return last.toe_end.y() * std::clamp((x - from) / (last.toe_end.x() - from), 0.0, 1.0);
}

/// Where a piece ends above, at a station: the top edge on that side, or in front of it the seam.
std::optional<Vec3> upper_end(const Last& last, bool inside, double x) {
  const std::vector<SectionCurve> curves = section(last.mesh, {Vec3(x, 0.0, 0.0), Vec3::UnitX()});
  const double at = (x - last.top.from_x_mm) / LastTop::kStep_mm;
  const bool top = at >= 0.0 && at < static_cast<double>(last.top.height_mm.size());
  const double edge_mm = top ? last.top.height_mm[static_cast<std::size_t>(at)][inside ? 1 : 0] : 1e9;
  Vec3 low = Vec3::Constant(1e9), high = -low;
  for (const SectionCurve& curve : curves)
    for (const Vec3& p : curve.points_mm) low = low.cwiseMin(p), high = high.cwiseMax(p);
  const Vec3 middle = 0.5 * (low + high);
  const double outwards = inside ? 1.0 : -1.0;
  constexpr double kAtEdge_mm = 1.0;
  std::optional<Vec3> best;
  double best_score = 1e18;
  for (const SectionCurve& curve : curves)
    for (const Vec3& p : curve.points_mm) {
      const double out = outwards * (p.y() - middle.y()), off = std::abs(p.z() - edge_mm);
      if (top ? out < 0.0 : p.z() < middle.z()) continue;
      const double score = !top ? std::abs(p.y() - seam_y(last, x)) : off < kAtEdge_mm ? -out : off;
      if (score < best_score) best_score = score, best = p;
    }
  return best;
}

/// Where the top edge begins behind: behind it the stations cut the back of the last below its edge.
double top_from_x(const Last& last) {
  constexpr double kBack_mm = 1.0, kNearlyTop = 0.97;
  const auto& heights = last.top.height_mm;
  const double back = last.heel_back.x() + kBack_mm;
  if (heights.empty()) return back;
  const auto height = [](const std::array<double, 2>& at) { return std::max(at[0], at[1]); };
  double most = 0.0;
  for (const auto& at : heights) most = std::max(most, height(at));
  const auto first = std::ranges::find_if(heights, [&](const auto& at) { return height(at) >= kNearlyTop * most; });
  return std::max(back, last.top.from_x_mm + LastTop::kStep_mm * static_cast<double>(first - heights.begin()));
}

/// Top edge and seam, from the back to the toe end.
Line upper_edge(const Last& last, const SignedDistance& surface, bool inside) {
  constexpr double kFront_mm = 0.5, kEvery_mm = 3.0;
  const double from = top_from_x(last), to = last.toe_end.x() - kFront_mm;
  Line line;
  for (double x = from; x < to; x += kEvery_mm)
    if (const std::optional<Vec3> end = upper_end(last, inside, x)) line.push_back(*end);
  if (const std::optional<Vec3> end = upper_end(last, inside, to)) line.push_back(*end);
  if (line.size() < 3) return {};
  constexpr std::size_t kReach = 3;
  line = smoothed(evenly(line, static_cast<std::size_t>(length_of(line) / kStep_mm) + 2), kReach);
  for (Vec3& p : line) p = surface.at(p).point_mm;
  return line;
}

/// The shorter way along a cut from one place to another; empty where no curve passes both.
Line way_between(const std::vector<SectionCurve>& curves, const Vec3& from, const Vec3& to) {
  constexpr double kOff_mm = 4.0;  // a coarse triangle's edge
  Line best;
  for (const SectionCurve& curve : curves) {
    const auto& at = curve.points_mm;
    const auto nearest = [&](const Vec3& p) {
      return std::ranges::min_element(at, {}, [&](const Vec3& q) { return (q - p).squaredNorm(); }) - at.begin();
    };
    const auto a = nearest(from), b = nearest(to), count = static_cast<std::ptrdiff_t>(at.size());
    if ((at[a] - from).norm() > kOff_mm || (at[b] - to).norm() > kOff_mm) continue;
    for (const std::ptrdiff_t step : {1, -1}) {
      if (!curve.closed && (b - a) * step < 0) continue;
      Line way = {from};
      for (auto i = a; i != b; i = (i + step + count) % count)
        if (i != a) way.push_back(at[i]);
      way.push_back(to);
      if (best.empty() || length_of(way) < length_of(best)) best = std::move(way);
    }
  }
  return best;
}

/// Across the piece at a column, in the plane through both its ends that runs square to its edges.
Line column_at(const Mesh& mesh, const Line& lower, const Line& upper, std::size_t column) {
  const std::size_t before = column > 0 ? column - 1 : column, after = std::min(column + 1, lower.size() - 1);
  const Vec3 up = upper[column] - lower[column];
  Vec3 along = (lower[after] - lower[before]).normalized() + (upper[after] - upper[before]).normalized();
  along -= along.dot(up) / std::max(up.squaredNorm(), 1e-9) * up;
  constexpr double kLeast_mm = 2.0;
  if (up.norm() < kLeast_mm || along.norm() < 1e-3) return {};
  return way_between(section(mesh, {lower[column], along.normalized()}), lower[column], upper[column]);
}

}  // namespace

LastWrap wrap_of(const Last& last, LastPart part) {
  if (last.feather_edge.size() < 8) return {};
  const SignedDistance surface = SignedDistance::looking_at(last.mesh);
  Line lower = feather_edge(last, part != LastPart::outside);
  Line upper =
      part == LastPart::bottom ? feather_edge(last, false) : upper_edge(last, surface, part == LastPart::inside);
  if (lower.size() < 3 || upper.size() < 3) return {};
  const double edge_mm = length_of(lower);
  const std::size_t count = static_cast<std::size_t>(edge_mm / kStep_mm) + 2;
  lower = evenly(lower, count);
  upper = evenly(upper, count);
  std::vector<Line> columns(count);
  for_blocks(count, 1, [&](std::size_t c, std::size_t) { columns[c] = column_at(last.mesh, lower, upper, c); });
  double longest = 0.0;
  for (const Line& column : columns) longest = std::max(longest, length_of(column));
  LastWrap wrap;
  wrap.grid.rows = static_cast<std::size_t>(longest / kStep_mm) + 2;
  for (std::size_t c = 0; c < count; ++c) {
    if (columns[c].size() < 2) continue;
    const Line places = evenly(columns[c], wrap.grid.rows);
    wrap.grid.at.insert(wrap.grid.at.end(), places.begin(), places.end());
    wrap.along_mm.push_back(edge_mm * static_cast<double>(c) / static_cast<double>(count - 1));
    wrap.length_mm.push_back(length_of(columns[c]));
    ++wrap.grid.columns;
  }
  return wrap.grid.columns < 3 ? LastWrap{} : wrap;
}

}  // namespace lastroom
