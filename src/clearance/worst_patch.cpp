#include <algorithm>
#include <cmath>
#include <numbers>

#include "clearance/clearance.h"
#include "geometry/parallel.h"

namespace lastroom {
namespace {

constexpr double kPatch_mm2 = 100.0;
constexpr double kLeast_ratio = 0.5;    // of it: at a zone's end half a disc is there. Our choice.
constexpr std::size_t kTightestOf = 5;  // discs are tried around the tightest fifth
constexpr std::size_t kDiscs = 100;     // tried around the very tightest, and as many spread over the others

/// Vertices sorted into cubes as wide as a disc's radius.
class Neighbours {
 public:
  Neighbours(const ClearanceField& field, const std::vector<std::uint32_t>& members, double radius_mm)
      : field_(field), radius_mm_(radius_mm) {
    for (const std::uint32_t i : members) cells_.push_back({cell_of(field.skin_mm[i]), i});
    std::sort(cells_.begin(), cells_.end());
  }

  template <class Visit>
  void within_radius(const Vec3& middle, const Visit& visit) const {
    const Cell centre = cell_of(middle);
    for (long dx = -1; dx <= 1; ++dx)
      for (long dy = -1; dy <= 1; ++dy) {
        const Cell from = {centre[0] + dx, centre[1] + dy, centre[2] - 1}, to = {from[0], from[1], centre[2] + 1};
        auto entry = std::lower_bound(cells_.begin(), cells_.end(), std::pair{from, std::uint32_t{0}});
        for (; entry != cells_.end() && entry->first <= to; ++entry)
          if ((field_.skin_mm[entry->second] - middle).squaredNorm() <= radius_mm_ * radius_mm_) visit(entry->second);
      }
  }

 private:
  using Cell = std::array<long, 3>;
  Cell cell_of(const Vec3& p) const {
    return {static_cast<long>(std::floor(p.x() / radius_mm_)), static_cast<long>(std::floor(p.y() / radius_mm_)),
            static_cast<long>(std::floor(p.z() / radius_mm_))};
  }
  const ClearanceField& field_;
  double radius_mm_;
  std::vector<std::pair<Cell, std::uint32_t>> cells_;
};

std::optional<WorstPatch> worst_patch(const ClearanceField& field, std::vector<std::uint32_t> members, Zone zone) {
  const double radius_mm = std::sqrt(kPatch_mm2 / std::numbers::pi);
  const Neighbours neighbours(field, members, radius_mm);
  const auto tightest = members.begin() + static_cast<std::ptrdiff_t>(members.size() / kTightestOf + 1);
  const auto tighter = [&](std::uint32_t a, std::uint32_t b) {
    return std::pair{field.clearance_mm[a], a} < std::pair{field.clearance_mm[b], b};
  };
  std::partial_sort(members.begin(), std::min(tightest, members.end()), members.end(), tighter);
  members.erase(std::min(tightest, members.end()), members.end());
  std::optional<WorstPatch> worst;
  for (std::size_t k = 0; k < members.size(); k += k < kDiscs ? 1 : 1 + members.size() / kDiscs) {
    const Vec3& middle = field.skin_mm[members[k]];
    double area_mm2 = 0.0, room = 0.0, variance = 0.0;
    neighbours.within_radius(middle, [&](std::uint32_t i) {
      area_mm2 += field.area_mm2[i];
      room += field.area_mm2[i] * field.clearance_mm[i];
      variance += field.area_mm2[i] * field.sigma_mm[i] * field.sigma_mm[i];
    });
    if (area_mm2 < kLeast_ratio * kPatch_mm2 || (worst && room / area_mm2 >= worst->mm)) continue;
    worst = {zone, room / area_mm2, std::sqrt(variance / area_mm2), middle};  // its error is common to the whole disc
  }
  return worst;
}

}  // namespace

std::vector<WorstPatch> worst_patches(const ClearanceField& field, const SkinMap& skin) {
  std::array<std::vector<std::uint32_t>, kZoneCount> members;
  for (std::uint32_t i = 0; i < skin.zone.size(); ++i)
    if (is_judged(field, skin, i)) members[static_cast<std::size_t>(skin.zone[i])].push_back(i);
  std::array<std::optional<WorstPatch>, kZoneCount> found;
  for_blocks(kZoneCount, 1, [&](std::size_t zone, std::size_t) {
    found[zone] = worst_patch(field, std::move(members[zone]), static_cast<Zone>(zone));
  });
  std::vector<WorstPatch> result;
  for (const auto& patch : found)
    if (patch) result.push_back(*patch);
  return result;
}

}  // namespace lastroom
