#include "clearance/worst_patch.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

constexpr double kPatch_mm2 = 100.0;
constexpr double kLeast_ratio = 0.5;  // of it: at a zone's end half a disc is there. Our choice.
constexpr double kSameSide = 0.5;     // skin within 60 degrees: not a toe's other flank
constexpr std::size_t kDiscs = 100;   // tried a zone

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

}  // namespace

void note_worst_patch(const ClearanceField& field, const std::vector<std::uint32_t>& members,
                      const std::vector<std::uint32_t>& tail, ZoneClearance& zone) {
  const Neighbours neighbours(field, members, std::sqrt(kPatch_mm2 / std::numbers::pi));
  zone.patch_mm = zone.p05_mm;
  zone.patch_doubt_mm = zone.doubt_mm;
  zone.patch_at_mm = zone.at_mm;
  bool found = false;
  for (std::size_t k = 0; k < tail.size(); k += 1 + tail.size() / kDiscs) {
    const Vec3& middle = field.skin_mm[tail[k]];
    double area_mm2 = 0.0, room = 0.0, variance = 0.0;
    neighbours.within_radius(middle, [&](std::uint32_t i) {
      if (field.skin_normal[i].dot(field.skin_normal[tail[k]]) < kSameSide) return;
      area_mm2 += field.area_mm2[i];
      room += field.area_mm2[i] * field.clearance_mm[i];
      variance += field.area_mm2[i] * field.doubt_mm[i] * field.doubt_mm[i];
    });
    if (area_mm2 < kLeast_ratio * kPatch_mm2 || (found && room / area_mm2 >= zone.patch_mm)) continue;
    found = true;
    zone.patch_mm = room / area_mm2;
    zone.patch_doubt_mm = std::sqrt(variance / area_mm2);  // common to the whole disc
    zone.patch_at_mm = middle;
  }
}

}  // namespace lastroom
