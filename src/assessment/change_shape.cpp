#include "assessment/change_shape.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "assessment/bench_terms.h"
#include "assessment/marked_spots.h"
#include "geometry/barycentric.h"
#include "geometry/parallel.h"
#include "geometry/signed_distance.h"
#include "zones/skin_normals.h"

namespace lastroom {
namespace {

// All our choice: shapes that leather, cork and a rasp can make.
constexpr double kReach_mm = 10.0;     // of a flank, beside 1.6 times its height: never steeper than 45 degrees
constexpr double kLevel_share = 0.1;   // of the reach that is at full height
constexpr double kSoft_mm = 3.0;       // over which a shape is evened
constexpr double kEdgeFades_mm = 5.0;  // before the feather edge
constexpr double kSpotFades_mm = 8.0;  // round a marked spot
constexpr double kSpread_mm = 6.0;     // of the Gaussian by which taking down is averaged
constexpr double kLooksAlike = 0.3;    // cosine: flanks don't go round to the other side of a thin toe
constexpr std::size_t kBlock = 512;

double smooth(double t) {
  t = std::clamp(t, 0.0, 1.0);
  return t * t * (3.0 - 2.0 * t);
}

double reach_mm(double height_mm) { return kReach_mm + 1.6 * height_mm; }

/// 1 up to the level, then (1 - u^2)^2 down to 0.
double flank(double t) {
  if (t <= kLevel_share) return 1.0;
  if (t >= 1.0) return 0.0;
  const double u = (t - kLevel_share) / (1.0 - kLevel_share);
  return (1.0 - u * u) * (1.0 - u * u);
}

double distance_mm(const std::vector<Vec3>& places, const Vec3& p) {
  double least = 1e12;
  for (const Vec3& place : places) least = std::min(least, (place - p).squaredNorm());
  return std::sqrt(least);
}

std::vector<double> let_through(const Last& last, const std::vector<Vec3>& places, double from_mm, double over_mm) {
  std::vector<double> share(last.mesh.vertices.size(), 1.0);
  if (places.empty()) return share;
  for_blocks(share.size(), kBlock, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i)
      share[i] = smooth((distance_mm(places, last.mesh.vertices[i]) - from_mm) / over_mm);
  });
  return share;
}

std::vector<std::uint8_t> vertices_of(const Mesh& mesh, const std::vector<std::uint8_t>& triangles) {
  std::vector<std::uint8_t> result(mesh.vertices.size(), 0);
  for (std::size_t t = 0; t < triangles.size(); ++t)
    if (triangles[t] != 0)
      for (const std::uint32_t v : mesh.triangles[t]) result[v] = 1;
  return result;
}

std::uint32_t root_of(std::vector<std::uint32_t>& parent, std::uint32_t v) {
  while (parent[v] != v) v = parent[v] = parent[parent[v]];
  return v;
}

}  // namespace

ChangeShape::ChangeShape(const Last& last, std::vector<Vec3> untouched, const std::vector<Vec3>& spared)
    : last_(last),
      normals_(skin_normals(last.mesh)),
      area_mm2_(vertex_areas_mm2(last.mesh)),
      bottom_(vertices_of(last.mesh, last.bottom)),
      at_edge_(let_through(last, last.feather_edge, 0.0, kEdgeFades_mm)),
      up_(let_through(last, untouched, kSpotRadiusMm, kSpotFades_mm)) {
  untouched.insert(untouched.end(), spared.begin(), spared.end());
  down_ = let_through(last, untouched, kSpotRadiusMm, kSpotFades_mm);
}

/// `shape(sum so far, wanted, distance)` over all that is wanted within reach of each vertex, on the same side.
template <class Shape>
std::vector<double> ChangeShape::by_what_is_around(std::vector<Wanted> wanted, double reach_mm,
                                                   const Shape& shape) const {
  const std::vector<Vec3>& at = last_.mesh.vertices;
  std::ranges::sort(wanted, [&](const Wanted& a, const Wanted& b) {
    return std::pair{at[a.vertex].x(), a.vertex} < std::pair{at[b.vertex].x(), b.vertex};
  });
  std::vector<double> height(at.size(), 0.0);
  for_blocks(at.size(), kBlock, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      auto w = std::ranges::lower_bound(wanted, at[i].x() - reach_mm, {},
                                        [&](const Wanted& each) { return at[each.vertex].x(); });
      Vec2 sums = Vec2::Zero();
      for (; w != wanted.end() && at[w->vertex].x() < at[i].x() + reach_mm; ++w) {
        const double squared = (at[w->vertex] - at[i]).squaredNorm();
        if (squared < reach_mm * reach_mm && normals_[w->vertex].dot(normals_[i]) > kLooksAlike)
          sums = shape(sums, *w, std::sqrt(squared), area_mm2_[w->vertex]);
      }
      height[i] = sums.y() > 0.0 ? sums.x() / sums.y() : 0.0;
    }
  });
  return height;
}

std::vector<double> ChangeShape::built_up(const std::vector<Wanted>& wanted, bool over_the_edge) const {
  double most = 0.0;
  for (const Wanted& w : wanted) most = std::max(most, w.mm);
  std::vector<double> height =
      by_what_is_around(wanted, reach_mm(most), [](const Vec2& highest, const Wanted& w, double mm, double) {
        return Vec2(std::max(highest.x(), w.mm * flank(mm / reach_mm(w.mm))), 1.0);
      });
  height = evened(last_.mesh, std::move(height), kSoft_mm);
  for (std::size_t i = 0; i < height.size(); ++i) height[i] *= up_[i] * (over_the_edge ? 1.0 : at_edge_[i]);
  return height;
}

std::vector<double> ChangeShape::taken_down(const std::vector<Wanted>& wanted) const {
  static constexpr double kFades_mm2 = 1.0;
  std::vector<double> height =
      by_what_is_around(wanted, 3.0 * kSpread_mm, [](const Vec2& sums, const Wanted& w, double mm, double area_mm2) {
        const double near = area_mm2 * std::exp(-0.5 * mm * mm / (kSpread_mm * kSpread_mm));
        return Vec2(sums + near * Vec2(w.mm, 1.0) + (sums.y() > 0.0 ? Vec2::Zero() : Vec2(0.0, kFades_mm2)));
      });
  for (std::size_t i = 0; i < height.size(); ++i) height[i] *= -down_[i] * at_edge_[i];
  return height;
}

std::vector<std::vector<std::uint32_t>> ChangeShape::parts(const std::vector<double>& height_mm) const {
  const std::vector<Vec3>& at = last_.mesh.vertices;
  // 0 not moved, else the sign and what it stands on
  const auto kind = [&](std::uint32_t v) {
    if (std::abs(height_mm[v]) < kEdge_mm) return 0;
    return (height_mm[v] > 0.0 ? 1 : -1) * (bottom_[v] != 0 ? 2 : 1);
  };
  std::vector<std::uint32_t> parent(at.size());
  std::iota(parent.begin(), parent.end(), 0u);
  for (const Triangle& t : last_.mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k)
      if (const std::uint32_t a = t[k], b = t[(k + 1) % 3]; kind(a) != 0 && kind(a) == kind(b))
        parent[root_of(parent, a)] = root_of(parent, b);
  std::vector<std::vector<std::uint32_t>> whole(at.size());
  for (std::uint32_t v = 0; v < at.size(); ++v)
    if (kind(v) != 0) whole[root_of(parent, v)].push_back(v);
  std::vector<std::vector<std::uint32_t>> parts;
  for (std::vector<std::uint32_t>& part : whole) {
    if (part.empty()) continue;
    parts.push_back(std::move(part));
  }
  std::ranges::stable_sort(parts, std::greater<>(), [&](const auto& part) { return volume_mm3(height_mm, part); });
  return parts;
}

std::array<std::vector<std::uint32_t>, 2> ChangeShape::halves(const std::vector<std::uint32_t>& part) const {
  std::array<std::vector<std::uint32_t>, 2> result;
  for (const std::uint32_t v : part) {
    const Vec3& p = last_.mesh.vertices[v];
    result[p.y() > centre_y_mm(last_, p) ? 0 : 1].push_back(v);
  }
  return result;
}

double ChangeShape::volume_mm3(const std::vector<double>& height_mm, const std::vector<std::uint32_t>& part) const {
  double sum = 0.0;
  for (const std::uint32_t v : part) sum += area_mm2_[v] * std::abs(height_mm[v]);
  return sum;
}

Last ChangeShape::changed(const std::vector<double>& height_mm, double longer_mm) const {
  const double from_mm = last_.first_joint.x(), over_mm = last_.toe_end.x() - from_mm;
  std::vector<Vec3> move(height_mm.size());
  for (std::size_t i = 0; i < move.size(); ++i) {
    move[i] = height_mm[i] * normals_[i];
    const double ahead = over_mm > 0.0 ? std::max(0.0, (last_.mesh.vertices[i].x() - from_mm) / over_mm) : 0.0;
    move[i].x() += longer_mm * ahead * ahead;
  }
  Last result = last_;
  const SignedDistance surface = SignedDistance::looking_at(last_.mesh);
  const auto carry = [&](Vec3& p) {
    const SurfacePoint there = surface.at(p);
    p += at_point(last_.mesh, move, there.triangle, there.point_mm);
  };
  for (std::vector<Vec3>* line : {&result.feather_edge, &result.centre_line})
    for (Vec3& p : *line) carry(p);
  for (Vec3* p : {&result.heel_back, &result.toe_end, &result.first_joint, &result.fifth_joint, &result.tread})
    carry(*p);
  for (std::size_t i = 0; i < move.size(); ++i) result.mesh.vertices[i] += move[i];
  return result;
}

}  // namespace lastroom
