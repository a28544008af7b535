#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>
#include <span>

#include "clearance/clearance.h"
#include "geometry/parallel.h"

namespace lastroom {
namespace {

constexpr double kPatch_mm2 = 100.0;
const double kRadius_mm = std::sqrt(kPatch_mm2 / std::numbers::pi);
constexpr double kLeast_ratio = 0.5;    // of it: at a zone's end half a disc is there. Our choice.
constexpr std::size_t kTightestOf = 5;  // discs are tried around the tightest fifth
constexpr double kApart_mm = 3.0;       // around the tightest of every such cube, half a disc's radius

/// Skin by the room that it has.
using ByRoom = std::vector<std::pair<double, std::uint32_t>>;

/// A zone's skin, sorted into cubes at least as wide as a disc's radius.
class Neighbours {
 public:
  struct Skin {
    Vec3 at_mm;
    double area_mm2, room_mm3, variance_mm4;  ///< room and its variance times the area
  };
  using Run = std::span<const Skin>;

  Neighbours(const ClearanceField& field, const std::vector<std::uint32_t>& members) {
    constexpr double kMostCubes = 64.0;  // a side, however far apart the skin claims to be
    Box box;
    for (const std::uint32_t i : members) {
      box.low = box.low.cwiseMin(field.skin_mm[i]);
      box.high = box.high.cwiseMax(field.skin_mm[i]);
    }
    low_mm_ = box.low;
    side_mm_ = std::max(kRadius_mm, box.size().maxCoeff() / kMostCubes);
    for (int axis = 0; axis < 3; ++axis) count_[axis] = steps(box.high, axis) + 1;
    // Counted first, then filled from the back: one array for all cubes.
    first_.assign(count_[0] * count_[1] * count_[2] + 1, 0);
    least_mm_.assign(first_.size(), std::numeric_limits<double>::infinity());
    for (const std::uint32_t i : members) ++first_[cube_at(field.skin_mm[i])];
    std::partial_sum(first_.begin(), first_.end(), first_.begin());
    skin_.resize(members.size());
    for (const std::uint32_t i : members) {
      const std::size_t cube = cube_at(field.skin_mm[i]);
      const double area_mm2 = field.area_mm2[i], sigma_mm = field.sigma_mm[i];
      least_mm_[cube] = std::min(least_mm_[cube], field.clearance_mm[i]);
      skin_[--first_[cube]] = {field.skin_mm[i], area_mm2, area_mm2 * field.clearance_mm[i],
                               area_mm2 * sigma_mm * sigma_mm};
    }
  }

  /// The cubes that a disc around `middle`, a member, may reach into, column by column, and the least room in them.
  struct Around {
    std::array<Run, 9> columns;
    double least_mm = std::numeric_limits<double>::infinity();
  };
  Around around(const Vec3& middle) const {
    Around result;
    std::size_t column = 0;
    const auto [first_z, end_z] = near(middle, 2);
    const auto [first_x, end_x] = near(middle, 0);
    const auto [first_y, end_y] = near(middle, 1);
    for (std::size_t x = first_x; x < end_x; ++x)
      for (std::size_t y = first_y; y < end_y; ++y) {
        const std::size_t from = cube(x, y, first_z), end = cube(x, y, end_z);
        for (std::size_t c = from; c < end; ++c) result.least_mm = std::min(result.least_mm, least_mm_[c]);
        result.columns[column++] = Run(skin_).subspan(first_[from], first_[end] - first_[from]);
      }
    return result;
  }

 private:
  std::size_t steps(const Vec3& p, int axis) const {
    return static_cast<std::size_t>((p[axis] - low_mm_[axis]) / side_mm_);
  }
  std::size_t cube(std::size_t x, std::size_t y, std::size_t z) const { return (x * count_[1] + y) * count_[2] + z; }
  std::size_t cube_at(const Vec3& p) const { return cube(steps(p, 0), steps(p, 1), steps(p, 2)); }
  /// From the step before its own to behind the one after.
  std::pair<std::size_t, std::size_t> near(const Vec3& p, int axis) const {
    const std::size_t own = steps(p, axis);
    return {own - std::min<std::size_t>(own, 1), std::min(own + 2, count_[axis])};
  }

  Vec3 low_mm_;
  double side_mm_;
  std::array<std::size_t, 3> count_;
  std::vector<std::size_t> first_;  ///< per cube, its first entry of `skin_`; one more at the end
  std::vector<double> least_mm_;    ///< per cube, of its room
  std::vector<Skin> skin_;
};

/// The tightest fifth of the members, in no order.
ByRoom tightest_of(const ClearanceField& field, const std::vector<std::uint32_t>& members) {
  ByRoom by_room;
  for (const std::uint32_t i : members) by_room.emplace_back(field.clearance_mm[i], i);
  const std::size_t count = std::min(by_room.size(), by_room.size() / kTightestOf + 1);
  std::nth_element(by_room.begin(), by_room.begin() + static_cast<std::ptrdiff_t>(count) - 1, by_room.end());
  by_room.resize(count);
  return by_room;
}

/// The tightest of every cube of `kApart_mm`.
ByRoom thinned(const ClearanceField& field, const ByRoom& skin) {
  std::map<std::array<long, 3>, std::pair<double, std::uint32_t>> cubes;
  for (const auto& one : skin) {
    const Vec3 p = field.skin_mm[one.second] / kApart_mm;
    auto& tightest = cubes.try_emplace({std::lround(p.x()), std::lround(p.y()), std::lround(p.z())}, one).first->second;
    tightest = std::min(tightest, one);
  }
  ByRoom result;
  for (const auto& [cube, tightest] : cubes) result.push_back(tightest);
  return result;
}

/// The disc with the least mean room of those around `middles`, or `worst` where none has less.
std::optional<WorstPatch> least_disc(const ClearanceField& field, const Neighbours& neighbours, ByRoom middles,
                                     std::optional<WorstPatch> worst) {
  constexpr double kRounding_mm = 1e-9;  // of a mean, far more than it can be under the least that it is of
  std::sort(middles.begin(), middles.end());
  for (const auto& [room_mm, i] : middles) {
    const Vec3& middle = field.skin_mm[i];
    const Neighbours::Around around = neighbours.around(middle);
    if (worst && around.least_mm > worst->mm + kRounding_mm) continue;
    double area_mm2 = 0.0, room = 0.0, variance = 0.0;
    for (const Neighbours::Run& column : around.columns)
      for (const Neighbours::Skin& skin : column) {
        if ((skin.at_mm - middle).squaredNorm() > kRadius_mm * kRadius_mm) continue;
        area_mm2 += skin.area_mm2;
        room += skin.room_mm3;
        variance += skin.variance_mm4;
      }
    if (area_mm2 < kLeast_ratio * kPatch_mm2 || (worst && room / area_mm2 >= worst->mm)) continue;
    // Its error is common to the whole disc.
    worst = {Zone::none, room / area_mm2, std::sqrt(variance / area_mm2), middle};
  }
  return worst;
}

/// Coarse to fine: around the tightest of every cube, then around all that is as near to the worst of these.
std::optional<WorstPatch> worst_patch(const ClearanceField& field, const std::vector<std::uint32_t>& members) {
  const Neighbours neighbours(field, members);
  const ByRoom tightest = tightest_of(field, members);
  const std::optional<WorstPatch> coarse = least_disc(field, neighbours, thinned(field, tightest), std::nullopt);
  if (!coarse) return std::nullopt;
  ByRoom near;
  for (const auto& one : tightest)
    if ((field.skin_mm[one.second] - coarse->at_mm).norm() < kApart_mm) near.push_back(one);
  return least_disc(field, neighbours, near, coarse);
}

}  // namespace

std::vector<WorstPatch> worst_patches(const ClearanceField& field, const SkinMap& skin) {
  std::array<std::vector<std::uint32_t>, kZoneCount> members;
  for (std::uint32_t i = 0; i < skin.zone.size(); ++i)
    if (is_judged(field, skin, i)) members[static_cast<std::size_t>(skin.zone[i])].push_back(i);
  std::array<std::optional<WorstPatch>, kZoneCount> found;
  for_blocks(kZoneCount, 1, [&](std::size_t zone, std::size_t) {
    if (!members[zone].empty()) found[zone] = worst_patch(field, members[zone]);
    if (found[zone]) found[zone]->zone = static_cast<Zone>(zone);
  });
  std::vector<WorstPatch> result;
  for (const auto& patch : found)
    if (patch) result.push_back(*patch);
  return result;
}

}  // namespace lastroom
