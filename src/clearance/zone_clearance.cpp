#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "clearance/clearance.h"
#include "geometry/parallel.h"

namespace lastroom {
namespace {

using Members = std::vector<std::uint32_t>;

/// A zone's vertices, the tightest first.
struct Sorted {
  Members members;
  std::vector<double> area_mm2;
  double total_mm2 = 0.0;

  /// How many of them it takes to cover `share` of their area; at least one.
  std::size_t covering(double share) const {
    double covered = 0.0;
    for (std::size_t n = 0; n < area_mm2.size(); ++n) {
      covered += area_mm2[n];
      if (covered >= share * total_mm2) return n + 1;
    }
    return area_mm2.size();
  }
};

Sorted sorted_by_room(const ClearanceField& field, const Members& members) {
  std::vector<std::pair<double, std::uint32_t>> by_room;
  for (const std::uint32_t i : members) by_room.emplace_back(field.clearance_mm[i], i);
  std::sort(by_room.begin(), by_room.end());
  Sorted sorted;
  for (const auto& [room_mm, i] : by_room) {
    sorted.members.push_back(i);
    sorted.area_mm2.push_back(field.area_mm2[i]);
    sorted.total_mm2 += field.area_mm2[i];
  }
  return sorted;
}

/// The skin point in the middle of the tight spot: of the tightest twentieth, the 10 mm cell that lacks most room.
Vec3 tight_spot(const ClearanceField& field, const Members& tail, double p05_mm) {
  constexpr double kCell = 10.0, kLeast = 1e-3;  // kLeast: a tail of one even depth still has weight
  struct Heap {
    double weight = 0.0;
    Vec3 moment = Vec3::Zero();
  };
  const auto cell_of = [](const Vec3& p) {
    return std::array<long, 3>{std::lround(p.x() / kCell), std::lround(p.y() / kCell), std::lround(p.z() / kCell)};
  };
  std::map<std::array<long, 3>, Heap> heaps;
  for (std::uint32_t i : tail) {
    Heap& heap = heaps[cell_of(field.skin_mm[i])];
    const double weight = field.area_mm2[i] * (p05_mm - field.clearance_mm[i] + kLeast);
    heap.weight += weight;
    heap.moment += weight * field.skin_mm[i];
  }
  const auto heaviest = std::max_element(
      heaps.begin(), heaps.end(), [](const auto& a, const auto& b) { return a.second.weight < b.second.weight; });
  const Vec3 middle = heaviest->second.moment / heaviest->second.weight;
  const std::uint32_t nearest = *std::min_element(tail.begin(), tail.end(), [&](std::uint32_t a, std::uint32_t b) {
    return (field.skin_mm[a] - middle).squaredNorm() < (field.skin_mm[b] - middle).squaredNorm();
  });
  return field.skin_mm[nearest];
}

/// One standard deviation of where a zone ends. Accuracy table, family a: nine joints of ten are found to 3.2 mm,
/// nearly all of it along the foot, where its outline is flat, which is 1.645 deviations; toe tips to 1.4 in the
/// median, over 1.54 (Maxwell) an axis. Other borders are parts of the foot's length: our choice.
double border_sigma_mm(Zone zone) {
  constexpr double kJoint_mm = 3.2 / 1.645, kToeTip_mm = 1.4 / 1.54, kOther_mm = 0.7;
  switch (zone) {
    case Zone::inside_joint:
    case Zone::outside_joint:
    case Zone::big_toe_side:
    case Zone::fifth_toe_side:
    case Zone::joint_top:
    case Zone::tread:
    case Zone::arch:
      return kJoint_mm;
    default:
      return is_toe_end(zone) ? kToeTip_mm : kOther_mm;
  }
}

ZoneClearance summed_up(const ClearanceField& field, const Members& members, Zone zone) {
  const Sorted sorted = sorted_by_room(field, members);
  const auto room_covering_mm = [&](double share) {
    return field.clearance_mm[sorted.members[sorted.covering(share) - 1]];
  };
  ZoneClearance result;
  result.zone = zone;
  result.area_mm2 = sorted.total_mm2;
  result.min_mm = field.clearance_mm[sorted.members.front()];
  result.median_mm = room_covering_mm(0.50);

  const Members tail(sorted.members.begin(),
                     sorted.members.begin() + static_cast<std::ptrdiff_t>(sorted.covering(0.05)));
  result.p05_mm = field.clearance_mm[tail.back()];
  // The error of a scan and of a pose is common to the whole tight spot: it does not average out over its vertices.
  double variance = 0.0;
  for (std::uint32_t i : tail) variance += field.sigma_mm[i] * field.sigma_mm[i];
  // Nor is the zone's border known better than its landmarks are: the tight side of a zone, taken as squares, may lie a
  // strip further in, of so much of its area, or further out. A landmark moves two of a square's four sides, so that
  // half of the time it is the tight one. No share is known to less than one vertex; where the tightest one is all of
  // the twentieth, what is tighter between vertices is not seen, and taken to be as far off as the next one.
  const double strip =
      std::max(border_sigma_mm(zone) * std::sqrt(static_cast<double>(traits_of(zone).pieces) / result.area_mm2),
               1.0 / static_cast<double>(members.size()));
  const auto off_mm = [&](double share) { return room_covering_mm(share) - result.p05_mm; };
  const double up_mm = off_mm(0.05 + strip), down_mm = tail.size() > 1 ? off_mm(std::max(0.0, 0.05 - strip)) : up_mm;
  const double by_border_mm = std::hypot(up_mm, down_mm) / 2.0;
  result.sigma_mm = std::hypot(std::sqrt(variance / static_cast<double>(tail.size())), by_border_mm);
  result.at_mm = tight_spot(field, tail, result.p05_mm);
  return result;
}

}  // namespace

bool is_judged(const ClearanceField& field, const SkinMap& skin, std::size_t vertex) {
  const Zone zone = skin.zone[vertex];
  if (skin.sole_missing && is_under_the_foot(zone)) return false;
  return zone != Zone::none && field.on_rim[vertex] == 0 && field.area_mm2[vertex] > 0.0;
}

std::vector<ZoneClearance> by_zone(const ClearanceField& field, const SkinMap& skin) {
  std::array<Members, kZoneCount> members;
  for (std::uint32_t i = 0; i < skin.zone.size(); ++i)
    if (is_judged(field, skin, i)) members[static_cast<std::size_t>(skin.zone[i])].push_back(i);

  std::array<ZoneClearance, kZoneCount> found;
  for_blocks(kZoneCount, 1, [&](std::size_t zone, std::size_t) {
    if (!members[zone].empty()) found[zone] = summed_up(field, members[zone], static_cast<Zone>(zone));
  });
  std::vector<ZoneClearance> result;
  for (const ZoneClearance& zone : found)
    if (zone.zone != Zone::none) result.push_back(zone);
  return result;
}

double area_below_mm2(const ClearanceField& field, const SkinMap& skin, Zone zone, double limit_mm) {
  double area = 0.0;
  for (std::size_t i = 0; i < skin.zone.size(); ++i)
    if (skin.zone[i] == zone && is_judged(field, skin, i) && field.clearance_mm[i] < limit_mm)
      area += field.area_mm2[i];
  return area;
}

}  // namespace lastroom
