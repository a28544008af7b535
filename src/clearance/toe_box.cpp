#include "clearance/toe_box.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace lastroom {
namespace {

constexpr double kCell_mm = 2.0;                    // about the edge of a last's triangle
constexpr double kStep_mm = 0.5, kAcross_mm = 2.0;  // of the profile

/// Where a search may begin at the farthest: so far behind the toes' skin, on a whole step.
double begin_x_mm(const ClearanceField& field, const SkinMap& skin) {
  constexpr double kBehind_mm = 40.0;
  const Vec3 forward = field.last_from_fore.col(0);
  double least_mm = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < skin.toe.size(); ++i)
    if (skin.toe[i] != 0) least_mm = std::min(least_mm, forward.dot(field.skin_mm[i]));
  return kStep_mm * std::floor((least_mm - kBehind_mm) / kStep_mm);
}

}  // namespace

ToeBox::ToeBox(const Last& last, const ClearanceField& field, const SkinMap& skin)
    : from_x_mm_(begin_x_mm(field, skin)) {
  const Eigen::Matrix3d fore_from_last = field.last_from_fore.transpose();
  mesh_.triangles = last.mesh.triangles;
  mesh_.vertices.reserve(last.mesh.vertices.size());
  for (const Vec3& v : last.mesh.vertices) mesh_.vertices.push_back(fore_from_last * v);
  end_x_mm_ = bounds(mesh_).high.x();
  sort_into_cells();
  read_profile();
}

std::size_t ToeBox::cell(double offset_mm) { return static_cast<std::size_t>(offset_mm / kCell_mm); }

template <class Visit>
void ToeBox::for_cells(const Triangle& t, const Visit& visit) const {
  const Vec2 a = mesh_.vertices[t[0]].head<2>(), b = mesh_.vertices[t[1]].head<2>(), c = mesh_.vertices[t[2]].head<2>();
  const Vec2 low = a.cwiseMin(b).cwiseMin(c) - low_, high = a.cwiseMax(b).cwiseMax(c) - low_;
  for (std::size_t column = cell(low.x()); column <= cell(high.x()); ++column)
    for (std::size_t row = cell(low.y()); row <= cell(high.y()); ++row) visit(column * rows_ + row);
}

/// The triangles that reach before where a search may begin, into square cells of the plan.
void ToeBox::sort_into_cells() {
  Box box;
  std::vector<std::uint32_t> used;
  for (std::uint32_t i = 0; i < mesh_.triangles.size(); ++i) {
    const Triangle& t = mesh_.triangles[i];
    if (std::ranges::all_of(t, [&](std::uint32_t corner) { return mesh_.vertices[corner].x() < from_x_mm_; })) continue;
    used.push_back(i);
    for (const std::uint32_t corner : t) {
      box.low = box.low.cwiseMin(mesh_.vertices[corner]);
      box.high = box.high.cwiseMax(mesh_.vertices[corner]);
    }
  }
  if (used.empty()) return;
  low_ = box.low.head<2>();
  columns_ = cell(box.high.x() - low_.x()) + 1;
  rows_ = cell(box.high.y() - low_.y()) + 1;
  // Counted first, then filled from the back: one array for all cells.
  first_.assign(columns_ * rows_ + 1, 0);
  for (const std::uint32_t i : used) for_cells(mesh_.triangles[i], [&](std::size_t c) { ++first_[c]; });
  std::partial_sum(first_.begin(), first_.end(), first_.begin());
  listed_.resize(first_.back());
  for (const std::uint32_t i : used) for_cells(mesh_.triangles[i], [&](std::size_t c) { listed_[--first_[c]] = i; });
}

void ToeBox::read_profile() {
  for (double x = from_x_mm_; x < end_x_mm_; x += kStep_mm) {
    double most = 0.0;
    for (std::size_t row = 0; row < rows_; ++row)
      if (const std::optional<Span> span = at(x, low_.y() + kAcross_mm * static_cast<double>(row)))
        most = std::max(most, span->roof_mm - span->bottom_mm);
    inner_mm_.push_back(most);
  }
  inner_mm_.push_back(0.0);
}

std::optional<ToeBox::Span> ToeBox::at(double x_mm, double y_mm) const {
  const double dx = x_mm - low_.x(), dy = y_mm - low_.y();
  if (dx < 0.0 || dy < 0.0 || cell(dx) >= columns_ || cell(dy) >= rows_) return std::nullopt;
  std::optional<Span> span;
  const std::size_t c = cell(dx) * rows_ + cell(dy);
  for (std::size_t k = first_[c]; k < first_[c + 1]; ++k)
    if (const std::optional<double> z = height(mesh_.triangles[listed_[k]], {x_mm, y_mm}))
      span = span ? Span{std::min(span->bottom_mm, *z), std::max(span->roof_mm, *z)} : Span{*z, *z};
  return span;
}

/// Height where the vertical line through `p` crosses the triangle; none when it passes beside it or runs in it.
std::optional<double> ToeBox::height(const Triangle& t, const Vec2& p) const {
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

std::optional<double> ToeBox::inner_mm(double x_mm) const {
  const double place = (x_mm - from_x_mm_) / kStep_mm;
  if (place < 0.0 || place >= static_cast<double>(inner_mm_.size() - 1)) return std::nullopt;
  const auto k = static_cast<std::size_t>(place);
  const double share = place - static_cast<double>(k);
  return (1.0 - share) * inner_mm_[k] + share * inner_mm_[k + 1];
}

}  // namespace lastroom
