#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <random>

#include "geometry/parallel.h"
#include "registration/doubt.h"

namespace lastroom {
namespace {

constexpr std::size_t kPairs = 12;  // of draws and their opposites: the mean stays, 24 say a spread to 15 %
// Every fourth cell: what a draw moves is asked, not where the foot stands.
constexpr Fineness kFineness = {.stride = 4, .small_step_mm = 0.05};
constexpr double kPatch_mm = 30.0;  // skin so far apart errs on its own: about a scanner's view (our choice)
// Flesh is no elastic foundation: its ranges are drawn so many times as wide (our choice; set on lasts made from trade
// numbers, family b of the standing tables, seeds 1 to 40).
constexpr double kFlesh_ratio = 1.3;
constexpr double kRadPerDeg = std::numbers::pi / 180.0;
using Vector = Eigen::Matrix<double, 7, 1>;

/// Portable dice: the standard's engine, whose numbers are the same everywhere, and our own distributions.
class Dice {
 public:
  explicit Dice(std::uint32_t seed) : engine_(seed) {}
  double symmetric() { return 2.0 * (static_cast<double>(engine_()) + 0.5) / 4294967296.0 - 1.0; }
  double normal() {  // Box and Muller, Ann. Math. Stat. 1958
    const double u = 0.5 * (symmetric() + 1.0);
    return std::sqrt(-2.0 * std::log(u)) * std::cos(std::numbers::pi * symmetric());
  }

 private:
  std::mt19937 engine_;
};

/// Everything unknown, in units of its own range or spread.
struct Draw {
  std::array<double, kPhysicsRanges.size()> physics;  ///< -1 .. 1
  std::array<double, kSideRegions> off_middle;        ///< -1 .. 1 of the play
  std::array<double, 2 * kZoneCount> region;          ///< standard normal, by zone and half
  std::vector<double> patch;                          ///< standard normal, by patch of skin
  double toes_level, sole_level;                      ///< standard normal
  std::array<double, 2> joints;                       ///< standard normal: first and fifth joint along the foot
};

Draw random_draw(Dice& dice, std::size_t patches) {
  Draw draw;
  for (double& value : draw.physics) value = dice.symmetric();
  for (double& value : draw.off_middle) value = dice.symmetric();
  for (double& value : draw.region) value = dice.normal();
  for (std::size_t i = 0; i < patches; ++i) draw.patch.push_back(dice.normal());
  draw.toes_level = dice.normal();
  draw.sole_level = dice.normal();
  for (double& value : draw.joints) value = dice.normal();
  return draw;
}

/// A foot that stands off the middle of its play is held there: by a step, by friction.
Circumstances held_aside() {
  Circumstances result;
  result.centring_N_per_mm = 10.0;  // against what the sole's edge resists, not against a wall (our choice)
  return result;
}

/// Which patch of skin each cell lies in, numbered as they are met.
std::vector<std::size_t> patches_of(const std::vector<ContactSample>& cells) {
  std::map<std::array<long, 3>, std::size_t> numbers;
  std::vector<std::size_t> patch;
  for (const ContactSample& cell : cells) {
    const Vec3 p = cell.foot_mm / kPatch_mm;
    patch.push_back(numbers.try_emplace({std::lround(p.x()), std::lround(p.y()), std::lround(p.z())}, numbers.size())
                        .first->second);
  }
  return patch;
}

class Draws {
 public:
  Draws(const SettleProblem& problem, const Pose& settled, double skin_sigma_mm)
      : problem_(problem), patch_(patches_of(problem.samples.cells)), skin_sigma_mm_(skin_sigma_mm) {
    const std::vector<ContactSample>& cells = problem.samples.cells;
    const std::vector<std::optional<double>> clearances_mm = cell_clearances_mm(problem, settled);
    std::array<double, kSideRegions> area_mm2 = {};
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const std::optional<std::size_t> region = side_region(cells[i].zone);
      if (!region || !clearances_mm[i]) continue;
      area_mm2[*region] += cells[i].area_mm2;
      play_mm_[*region] += cells[i].area_mm2 * *clearances_mm[i];
    }
    for (std::size_t r = 0; r < kSideRegions; ++r)
      play_mm_[r] = area_mm2[r] > 0.0 ? std::max(0.0, play_mm_[r] / area_mm2[r]) : 0.0;
  }

  std::size_t patches() const { return patch_.empty() ? 0 : *std::max_element(patch_.begin(), patch_.end()) + 1; }

  /// `sign` -1: the opposite of the draw.
  Circumstances circumstances(const Draw& draw, double sign) const {
    Circumstances result = held_aside();
    for (std::size_t i = 0; i < kPhysicsRanges.size(); ++i) {
      const PhysicsRange& range = kPhysicsRanges[i];
      result.physics.*range.value += sign * kFlesh_ratio * draw.physics[i] * 0.5 * (range.most - range.least);
    }
    for (std::size_t r = 0; r < kSideRegions; ++r) result.off_middle_mm[r] = sign * draw.off_middle[r] * play_mm_[r];
    const std::vector<ContactSample>& cells = problem_.samples.cells;
    // A scan's error is told of dimensions, from skin to skin: half of its variance for each. Half of that is common to
    // a whole region, half to a patch of it (our choice).
    const double share_mm = 0.5 * skin_sigma_mm_;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const std::size_t region = 2 * static_cast<std::size_t>(cells[i].zone) + (cells[i].inside ? 1 : 0);
      double error_mm = share_mm * (draw.region[region] + draw.patch[patch_[i]]);
      if (cells[i].bears && cells[i].zone == Zone::toe_pads)
        error_mm += problem_.samples.toes_level_sigma_mm * draw.toes_level;
      if (cells[i].on_floor) error_mm += kUnseenSoleSigma_mm * draw.sole_level;
      result.skin_error_mm.push_back(sign * error_mm);
    }
    return result;
  }

 private:
  const SettleProblem& problem_;
  std::vector<std::size_t> patch_;
  double skin_sigma_mm_;
  std::array<double, kSideRegions> play_mm_ = {};  ///< mean room on either side
};

/// The hinge lies elsewhere where the joints do.
FootLandmarks with_joints_moved(FootLandmarks landmarks, const Draw& draw, double sign) {
  landmarks.first_joint.x() += sign * draw.joints[0] * landmarks.first_joint_sigma_mm;
  landmarks.fifth_joint.x() += sign * draw.joints[1] * landmarks.fifth_joint_sigma_mm;
  return landmarks;
}

/// What takes the first pose to the second, in the seven parameters.
Vector difference(const SettleProblem& problem, const Pose& from, const Pose& to) {
  Vector d;
  const Eigen::AngleAxisd turn(to.last_from_foot.linear() * from.last_from_foot.linear().transpose());
  d.head<3>() = turn.angle() * turn.axis();
  d.segment<3>(3) = as_registration(problem, to).hinge.point_mm - as_registration(problem, from).hinge.point_mm;
  d[6] = (to.hinge_deg - from.hinge_deg) * kRadPerDeg;
  return d;
}

/// The draws with all but one cause as usual.
enum class Cause : std::uint8_t { scan, sole, joints, play, physics };
Draw by_one(Cause cause, const Draw& drawn) {
  Draw draw = {};
  draw.patch.assign(drawn.patch.size(), 0.0);
  switch (cause) {
    case Cause::scan:
      draw.region = drawn.region;
      draw.patch = drawn.patch;
      break;
    case Cause::sole:
      draw.toes_level = drawn.toes_level;
      draw.sole_level = drawn.sole_level;
      break;
    case Cause::joints:
      draw.joints = drawn.joints;
      break;
    case Cause::play:
      draw.off_middle = drawn.off_middle;
      break;
    case Cause::physics:
      draw.physics = drawn.physics;
  }
  return draw;
}

/// How the pose moves by the draws and their opposites.
PoseCovariance spread_by(const SettleProblem& problem, const Draws& draws, const Pose& settled,
                         const std::vector<Draw>& drawn) {
  const Pose usual =
      settle(problem, held_aside(), settled, kFineness).pose;  // every draw is held against the same cells
  std::vector<Vector> moved(2 * drawn.size(), Vector::Zero());
  for_blocks(moved.size(), 1, [&](std::size_t i, std::size_t) {
    const double sign = i % 2 == 0 ? 1.0 : -1.0;
    const FootLandmarks landmarks = with_joints_moved(problem.landmarks, drawn[i / 2], sign);
    const SettleProblem other{landmarks,           problem.last,    problem.last_surface,
                              problem.fore_bottom, problem.samples, problem.sock_mm};
    const Pose found = settle(other, draws.circumstances(drawn[i / 2], sign), usual, kFineness).pose;
    moved[i] = difference(problem, usual, found);
  });
  PoseCovariance covariance = PoseCovariance::Zero();
  for (const Vector& m : moved) covariance += m * m.transpose() / static_cast<double>(moved.size());
  return covariance;
}

std::vector<Draw> random_draws(std::size_t patches) {
  Dice dice(1);
  std::vector<Draw> drawn;
  for (std::size_t i = 0; i < kPairs; ++i) drawn.push_back(random_draw(dice, patches));
  return drawn;
}

}  // namespace

PoseCovariance pose_covariance(const SettleProblem& problem, const Pose& settled, double skin_sigma_mm) {
  const Draws draws(problem, settled, skin_sigma_mm);
  PoseCovariance covariance = spread_by(problem, draws, settled, random_draws(draws.patches()));
  // A draw ends within this of its rest.
  constexpr double kRest_mm = 0.05, kArm_mm = 100.0;
  for (int i = 0; i < 7; ++i) covariance(i, i) += std::pow(kRest_mm / (i >= 3 && i < 6 ? 1.0 : kArm_mm), 2);
  return covariance;
}

Message cause_of_doubt(const SettleProblem& problem, const Pose& settled, double skin_sigma_mm) {
  constexpr std::array<std::pair<Cause, const char*>, 5> kCauses = {{{Cause::scan, "doubt_by.scan"},
                                                                     {Cause::sole, "doubt_by.sole"},
                                                                     {Cause::joints, "doubt_by.joints"},
                                                                     {Cause::play, "doubt_by.play"},
                                                                     {Cause::physics, "doubt_by.physics"}}};
  const Draws draws(problem, settled, skin_sigma_mm);
  const std::vector<Draw> drawn = random_draws(draws.patches());
  const char* worst = kCauses.front().second;  // also where the spread is no number
  double most_mm2 = -1.0;
  for (const auto& [cause, key] : kCauses) {
    std::vector<Draw> alone;
    for (const Draw& draw : drawn) alone.push_back(by_one(cause, draw));
    const double mm2 = spread_by(problem, draws, settled, alone).block<3, 3>(3, 3).trace();
    if (mm2 > most_mm2) most_mm2 = mm2, worst = key;
  }
  return {worst};
}

}  // namespace lastroom
