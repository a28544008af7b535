#include "assessment/freedom_map.h"

#include <algorithm>
#include <cmath>

#include "assessment/bench_terms.h"
#include "geometry/parallel.h"
#include "geometry/section.h"

namespace lastroom {
namespace {

struct NearSkin {
  Zone zone = Zone::none;
  double clearance_mm = 0.0;
};

/// Which skin lies behind a place of the last: the tightest one whose nearest point on the last is in the same cell.
class SkinBehind {
 public:
  SkinBehind(const ClearanceField& field, const SkinMap& skin, const Box& last) : low_(last.low.array() - kCell) {
    for (int k = 0; k < 3; ++k)
      size_[static_cast<std::size_t>(k)] = static_cast<long>(std::ceil(last.size()[k] / kCell)) + 3;
    cells_.resize(static_cast<std::size_t>(size_[0] * size_[1] * size_[2]));
    for (std::size_t i = 0; i < skin.zone.size(); ++i) {
      if (skin.zone[i] == Zone::none || field.on_rim[i]) continue;
      NearSkin& cell = cells_[index(cell_of(field.last_point_mm[i]))];
      if (cell.zone == Zone::none || field.clearance_mm[i] < cell.clearance_mm)
        cell = {skin.zone[i], field.clearance_mm[i]};
    }
  }

  /// The own cell's, else the tightest of the cells around it.
  NearSkin at(const Vec3& last_point_mm) const {
    const std::array<long, 3> middle = cell_of(last_point_mm);
    NearSkin found = cells_[index(middle)];
    if (found.zone != Zone::none) return found;
    for (long dx = -1; dx <= 1; ++dx)
      for (long dy = -1; dy <= 1; ++dy)
        for (long dz = -1; dz <= 1; ++dz) {
          const NearSkin& near = cells_[index({middle[0] + dx, middle[1] + dy, middle[2] + dz})];
          if (near.zone != Zone::none && (found.zone == Zone::none || near.clearance_mm < found.clearance_mm))
            found = near;
        }
    return found;
  }

 private:
  static constexpr double kCell = 4.0;  // mm; twice the edge of a usual scan's triangle

  std::array<long, 3> cell_of(const Vec3& p) const {
    std::array<long, 3> cell{};
    for (std::size_t k = 0; k < 3; ++k) {
      const auto axis = static_cast<Eigen::Index>(k);
      cell[k] = std::clamp(static_cast<long>((p[axis] - low_[axis]) / kCell), 1L, size_[k] - 2);
    }
    return cell;
  }
  std::size_t index(const std::array<long, 3>& c) const {
    return static_cast<std::size_t>((c[0] * size_[1] + c[1]) * size_[2] + c[2]);
  }

  Vec3 low_;
  std::array<long, 3> size_{};
  std::vector<NearSkin> cells_;
};

/// The toes in plan: what lies before this hull by more than a tip's limit is free to style.
class ToeHull {
 public:
  ToeHull(const ClearanceField& field, const SkinMap& skin) {
    std::vector<Vec2> points;
    for (std::size_t i = 0; i < skin.toe.size(); ++i)
      if (skin.toe[i] != 0) points.push_back(field.skin_mm[i].head<2>());
    const std::vector<Vec2> hull = convex_hull(std::move(points));
    for (std::size_t i = 0; i < hull.size(); ++i) {
      const Vec2 edge = (hull[(i + 1) % hull.size()] - hull[i]).normalized();
      const Vec2 outward(edge.y(), -edge.x());  // the hull runs counter-clockwise
      constexpr double kForward = 0.5;          // an edge that looks forward within 60 degrees; our choice
      if (outward.x() > kForward) forward_edges_.push_back({hull[i], outward});
    }
  }

  bool is_before(const Vec3& p, double by_mm) const {
    return std::ranges::any_of(forward_edges_,
                               [&](const Edge& edge) { return edge.outward.dot(p.head<2>() - edge.start) > by_mm; });
  }

 private:
  struct Edge {
    Vec2 start, outward;
  };
  std::vector<Edge> forward_edges_;
};

bool is_never_pressed(Zone zone, const BonyPoints& bony, bool inside) {
  switch (traits_of(zone).never_pressed) {
    case NeverPressed::no:
      return false;
    case NeverPressed::yes:
      return true;
    case NeverPressed::on_the_inside:
      return inside;
    case NeverPressed::where_bony:
      return zone == Zone::inside_joint ? bony.inside : bony.outside;
  }
  return true;
}

}  // namespace

std::vector<Vec3> spared_places(const Evidence& evidence, const Observations& seen, const BonyPoints& bony) {
  std::vector<Vec3> places;
  if (bony.inside) places.push_back(evidence.last_surface.at(seen.first_joint_mm).point_mm);
  if (bony.outside) places.push_back(evidence.last_surface.at(seen.fifth_joint_mm).point_mm);
  for (const PosedSpot& spot : seen.marked_spots) places.push_back(evidence.clearance.last_point_mm[spot.vertex]);
  return places;
}

std::vector<Freedom> freedom_map(const Evidence& evidence, const Observations& seen, const BonyPoints& bony,
                                 const Rules& rules, Wearer wearer) {
  const std::vector<Vec3>& places = evidence.last.mesh.vertices;
  const SkinBehind skin(evidence.clearance, evidence.skin, bounds(evidence.last.mesh));
  const ToeHull toes(evidence.clearance, evidence.skin);
  const double tip_limit = limits_for(rule_by(rules, rule_of(Zone::middle_toes_tip)), wearer).watch_below_mm;
  std::array<double, kZoneCount> watch_below{};
  for (std::size_t z = 0; z < kZoneCount; ++z)
    watch_below[z] = limits_for(rule_by(rules, rule_of(static_cast<Zone>(z))), wearer).watch_below_mm;
  const std::vector<Vec3> marked = spared_places(evidence, seen, bony);
  // Skin that must not be pressed keeps this much beyond its limit, whatever lies before the toes. Our choice.
  constexpr double kBerthMm = 2.0;

  std::vector<Freedom> freedom(places.size(), Freedom::keep);
  for_blocks(places.size(), 2048, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      const NearSkin near = skin.at(places[i]);
      const bool inside = places[i].y() > centre_y_mm(evidence.last, places[i]);
      const double limit = near.zone == Zone::none ? 0.0 : watch_below[static_cast<std::size_t>(near.zone)];
      const bool never = is_never_pressed(near.zone, bony, inside);
      const bool is_marked = std::ranges::any_of(
          marked, [&](const Vec3& m) { return (places[i] - m).squaredNorm() < kSpotRadiusMm * kSpotRadiusMm; });
      if (is_marked)
        freedom[i] = Freedom::never_press;
      else if (toes.is_before(places[i], tip_limit) && !(never && near.clearance_mm < limit + kBerthMm))
        freedom[i] = Freedom::free_to_style;
      else if (never)
        freedom[i] = Freedom::never_press;
      else if (wearer == Wearer::standard && traits_of(near.zone).holds_by_tightness && near.clearance_mm > limit)
        freedom[i] = Freedom::may_tighten;
    }
  });
  return freedom;
}

}  // namespace lastroom
