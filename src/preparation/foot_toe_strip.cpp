#include "preparation/foot_toe_strip.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "preparation/foot_toe_breadths.h"

namespace lastroom {
namespace {

/// Middles of the toes, in shares of their breadth.
std::array<double, 5> usual_middles() {
  std::array<double, 5> middles{};
  for (std::size_t toe = 0; toe < 5; ++toe) middles[toe] = share_before_toe(toe) + 0.5 * kToeBreadth[toe];
  return middles;
}

/// The line that half of all pairs of points climb less steeply than, half more (Theil 1950, Sen 1968).
template <class Edge>
Edge robust_line(const std::vector<Vec2>& points, const Edge& otherwise) {
  if (points.size() < 4) return otherwise;
  const auto middle_of = [](std::vector<double> values) {
    const auto half = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), half, values.end());
    return *half;
  };
  std::vector<double> slopes, starts;
  for (std::size_t i = 0; i < points.size(); ++i)
    for (std::size_t j = i + 1; j < points.size(); ++j)
      slopes.push_back((points[j].y() - points[i].y()) / (points[j].x() - points[i].x()));
  Edge edge;
  edge.slope = middle_of(slopes);
  for (const Vec2& p : points) starts.push_back(p.y() - edge.slope * p.x());
  edge.at_0 = middle_of(starts);
  return edge;
}

/// A toe that was taken off leaves a step in the edge: what lies behind it is the stump's side, what lies before it the
/// next toe's. The longer of the runs between steps, where it is the most of them.
std::vector<Vec2> longest_run(const std::vector<Vec2>& edge) {
  constexpr double kStump = 0.1;  // of the way from joint to joint, 8 mm: half a toe (our choice)
  std::size_t from = 0, best_from = 0, best_to = 0;
  for (std::size_t i = 1; i <= edge.size(); ++i) {
    if (i < edge.size() && std::abs(edge[i].y() - edge[i - 1].y()) < kStump) continue;
    if (i - from > best_to - best_from) best_from = from, best_to = i;
    from = i;
  }
  if (2 * (best_to - best_from) < edge.size()) return edge;
  return {edge.begin() + static_cast<std::ptrdiff_t>(best_from), edge.begin() + static_cast<std::ptrdiff_t>(best_to)};
}

}  // namespace

std::size_t ToeStrip::row_of(double s) {
  return static_cast<std::size_t>(std::clamp(std::round((s - kFirstRow) / kRowStep), 0.0, kRows - 1.0));
}

std::size_t ToeStrip::column_of(double u) {
  return static_cast<std::size_t>(std::clamp(std::round(u / kColumnStep), 0.0, kColumns - 1.0));
}

Vec2 ToeStrip::ray(double s, double v) const {
  static const std::array<double, 5> middles = usual_middles();
  std::size_t k = 0;
  while (k < 3 && v > middles[k + 1]) ++k;
  const double share = (v - middles[k]) / (middles[k + 1] - middles[k]);
  const Vec2 tip = expected_.tips[k] + share * (expected_.tips[k + 1] - expected_.tips[k]);
  const Vec2 root = expected_.first_joint + v * (expected_.fifth_joint - expected_.first_joint);
  return root + s * (tip - root);
}

void ToeStrip::find_edges(const PlanView& view) {
  constexpr double kFrom = 0.45, kTo = 0.8;         // toes stand beside each other here
  constexpr double kBeyond = 0.35, kStep = 0.0075;  // in shares of the way from joint to joint
  std::vector<Vec2> inside, outside;
  for (double s = kFrom; s < kTo; s += kRowStep) {
    double low = 2.0, high = -2.0;
    for (double v = -kBeyond; v < 1.0 + kBeyond; v += kStep)
      if (view.has_skin(ray(s, v))) low = std::min(low, v), high = std::max(high, v);
    if (high > low) inside.emplace_back(s, low), outside.emplace_back(s, high);
  }
  inside_ = robust_line(longest_run(inside), Edge{0.0, 0.0});
  outside_ = robust_line(longest_run(outside), Edge{1.0, 0.0});
  if (outside_.at(0.6) < inside_.at(0.6) + 0.2) inside_ = {0.0, 0.0}, outside_ = {1.0, 0.0};
}

Vec2 ToeStrip::plan(double s, double u) const {
  const double place = std::clamp(u / kColumnStep, 0.0, kColumns - 1.0);
  const auto column = std::min(static_cast<std::size_t>(place), kColumns - 2);
  const double share = place - static_cast<double>(column);
  const double along = s * ((1.0 - share) * ends_[column] + share * ends_[column + 1]);
  return ray(along, across(along, u));
}

/// The outline, bridged over a toe's breadth and evened.
void ToeStrip::find_ends(const PlanView& view) {
  constexpr double kLongest = 1.4, kStep = 0.01, kGap = 0.06;  // in shares of the usual way; a hole of a scan
  constexpr double kLeastEnd = 0.7, kMostEnd = 1.3;            // our choice: beyond it a toe is missing, or no toe
  constexpr std::size_t kBridge = 12, kEven = 6;               // columns to either side
  constexpr double kToesFrom = 0.5, kToesTo = 0.66;  // behind it is the web; before it every toe has its middle
  std::array<double, kColumns> reach{};
  for (std::size_t c = 0; c < kColumns; ++c) {
    reach[c] = 0.0;
    double steps = 0.0;
    for (double s = 0.0; s < kLongest; s += kStep) {
      const bool skin = view.has_skin(ray(s, across(s, u_of(c))));
      if (skin && s < std::max(reach[c], 0.3) + kGap) reach[c] = s;
      if (s >= kToesFrom && s < kToesTo) filled_[c] += skin ? 1.0 : 0.0, steps += 1.0;
    }
    filled_[c] /= steps;
  }
  const auto over = [](const std::array<double, kColumns>& values, std::size_t beside, const auto& join) {
    std::array<double, kColumns> result{};
    for (std::size_t c = 0; c < kColumns; ++c) {
      std::vector<double> near;
      for (std::size_t n = c > beside ? c - beside : 0; n <= std::min(c + beside, kColumns - 1); ++n)
        near.push_back(values[n]);
      result[c] = join(near);
    }
    return result;
  };
  const auto most = [](const std::vector<double>& near) { return *std::max_element(near.begin(), near.end()); };
  const auto least = [](const std::vector<double>& near) { return *std::min_element(near.begin(), near.end()); };
  const auto mean = [](const std::vector<double>& near) {
    return std::accumulate(near.begin(), near.end(), 0.0) / static_cast<double>(near.size());
  };
  ends_ = over(over(over(reach, kBridge, most), kBridge, least), kEven, mean);
  for (double& end : ends_) end = std::clamp(end, kLeastEnd, kMostEnd);
}

Vec2 ToeStrip::strip(const Vec2& p) const {
  Vec2 at(0.7, 0.5);  // Newton's steps; the map is nearly bilinear
  constexpr double kStep = 1e-4;
  for (int turn = 0; turn < 12; ++turn) {
    const Vec2 here = plan(at.x(), at.y());
    Eigen::Matrix2d by;
    by.col(0) = (plan(at.x() + kStep, at.y()) - here) / kStep;
    by.col(1) = (plan(at.x(), at.y() + kStep) - here) / kStep;
    if (std::abs(by.determinant()) < 1e-12) break;
    at += by.inverse() * (p - here);
    at = at.cwiseMax(Vec2(-1.0, -1.0)).cwiseMin(Vec2(3.0, 2.0));
  }
  return at;
}

double ToeStrip::stretch(double u) const { return (plan(1.0, u) - plan(0.0, u)).norm() / expected_.length; }

ToeStrip::ToeStrip(const PlanView& view, const ToesExpected& expected) : expected_(expected) {
  constexpr double kGap = 0.06;  // of s: 3 mm, a hole of a scan
  find_edges(view);
  find_ends(view);
  for (std::size_t column = 0; column < kColumns; ++column) {
    reach_[column] = 0.0;
    for (std::size_t row = 0; row < kRows; ++row) {
      const Vec2 p = plan(s_of(row), u_of(column));
      top_[row][column] = view.top_at(p) / expected_.length;
      sole_[row][column] = view.sole_at(p) / expected_.length;
    }
    for (double s = 0.0; s < s_of(kRows); s += kRowStep / 4.0)
      if (view.has_skin(plan(s, u_of(column))) && s < std::max(reach_[column], kFirstRow) + kGap) reach_[column] = s;
  }
}

}  // namespace lastroom
