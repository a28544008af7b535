#include <algorithm>
#include <cmath>
#include <numbers>
#include <span>

#include "clearance/clearance.h"
#include "geometry/parallel.h"

namespace lastroom {
namespace {

constexpr double kPatch_mm2 = 100.0;
constexpr double kLeast_ratio = 0.5;    // of it: at a zone's end half a disc is there. Our choice.
constexpr std::size_t kTightestOf = 5;  // discs are tried around the tightest fifth
constexpr std::size_t kDiscs = 100;     // tried around the very tightest, and as many spread over the others

/// A zone's skin, sorted into cubes as wide as a disc's radius.
class Neighbours {
 public:
  struct Skin {
    Vec3 at_mm;
    double area_mm2, room_mm3, variance_mm4;  ///< room and its variance times the area
  };
  using Run = std::span<const Skin>;

  Neighbours(const ClearanceField& field, const std::vector<std::uint32_t>& members, double radius_mm)
      : radius_mm_(radius_mm) {
    std::vector<std::pair<std::uint64_t, std::uint32_t>> sorted;
    for (const std::uint32_t i : members) sorted.emplace_back(key(cube_of(field.skin_mm[i])), i);
    std::sort(sorted.begin(), sorted.end());
    for (const auto& [cube, i] : sorted) {
      const double area_mm2 = field.area_mm2[i];
      if (cubes_.empty() || cubes_.back().key != cube) cubes_.push_back({cube, skin_.size(), field.clearance_mm[i]});
      cubes_.back().least_mm = std::min(cubes_.back().least_mm, field.clearance_mm[i]);
      skin_.push_back({field.skin_mm[i], area_mm2, area_mm2 * field.clearance_mm[i],
                       area_mm2 * field.sigma_mm[i] * field.sigma_mm[i]});
    }
    cubes_.push_back({~std::uint64_t{0}, skin_.size(), 0.0});  // behind the last
  }

  /// The cubes that a disc around `middle` may reach into, column by column, and the least room in any of them.
  struct Around {
    std::array<Run, 9> columns;
    double least_mm = std::numeric_limits<double>::infinity();
  };
  Around around(const Vec3& middle) const {
    Around result;
    const auto [x, y, z] = cube_of(middle);
    for (long column = 0; column < 9; ++column) {
      const std::uint64_t from = key({x - 1 + column / 3, y - 1 + column % 3, z - 1}), to = from + 2;
      auto cube = std::ranges::lower_bound(cubes_, from, {}, &Cube::key);
      const std::size_t first = cube->first;
      for (; cube->key <= to; ++cube) result.least_mm = std::min(result.least_mm, cube->least_mm);
      result.columns[static_cast<std::size_t>(column)] = Run(skin_).subspan(first, cube->first - first);
    }
    return result;
  }

 private:
  struct Cube {
    std::uint64_t key;
    std::size_t first;  ///< of its skin
    double least_mm;    ///< room
  };
  std::array<long, 3> cube_of(const Vec3& p) const {
    return {static_cast<long>(std::floor(p.x() / radius_mm_)), static_cast<long>(std::floor(p.y() / radius_mm_)),
            static_cast<long>(std::floor(p.z() / radius_mm_))};
  }
  /// In the order of x, then y, then z; 21 bits each reach six kilometres.
  static std::uint64_t key(const std::array<long, 3>& cube) {
    const auto bits = [](long step) { return static_cast<std::uint64_t>(step + (1L << 20)) & 0x1fffffU; };
    return bits(cube[0]) << 42U | bits(cube[1]) << 21U | bits(cube[2]);
  }
  double radius_mm_;
  std::vector<Skin> skin_;
  std::vector<Cube> cubes_;
};

/// The tightest fifth of the members, tightest first.
std::vector<std::uint32_t> tightest_of(const ClearanceField& field, const std::vector<std::uint32_t>& members) {
  std::vector<std::pair<double, std::uint32_t>> sorted;
  for (const std::uint32_t i : members) sorted.emplace_back(field.clearance_mm[i], i);
  const std::size_t count = std::min(sorted.size(), sorted.size() / kTightestOf + 1);
  std::partial_sort(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(count), sorted.end());
  std::vector<std::uint32_t> tightest;
  for (std::size_t k = 0; k < count; ++k) tightest.push_back(sorted[k].second);
  return tightest;
}

std::optional<WorstPatch> worst_patch(const ClearanceField& field, const std::vector<std::uint32_t>& members,
                                      Zone zone) {
  constexpr double kRounding_mm = 1e-9;  // of a mean, far more than it can be under the least that it is of
  const double radius_mm = std::sqrt(kPatch_mm2 / std::numbers::pi);
  const Neighbours neighbours(field, members, radius_mm);
  const std::vector<std::uint32_t> tightest = tightest_of(field, members);
  std::optional<WorstPatch> worst;
  for (std::size_t k = 0; k < tightest.size(); k += k < kDiscs ? 1 : 1 + tightest.size() / kDiscs) {
    const Vec3& middle = field.skin_mm[tightest[k]];
    const Neighbours::Around around = neighbours.around(middle);
    if (worst && around.least_mm > worst->mm + kRounding_mm) continue;
    double area_mm2 = 0.0, room = 0.0, variance = 0.0;
    for (const Neighbours::Run& column : around.columns)
      for (const Neighbours::Skin& skin : column) {
        if ((skin.at_mm - middle).squaredNorm() > radius_mm * radius_mm) continue;
        area_mm2 += skin.area_mm2;
        room += skin.room_mm3;
        variance += skin.variance_mm4;
      }
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
    found[zone] = worst_patch(field, members[zone], static_cast<Zone>(zone));
  });
  std::vector<WorstPatch> result;
  for (const auto& patch : found)
    if (patch) result.push_back(*patch);
  return result;
}

}  // namespace lastroom
