#include <algorithm>
#include <cmath>

#include "geometry/parallel.h"
#include "registration/doubt.h"
#include "registration/registration.h"
#include "registration/settle.h"
#include "registration/start_pose.h"
#include "zones/toes.h"

namespace lastroom {
namespace {

/// Every fourth cell until the foot stands.
constexpr Fineness kCoarse = {.stride = 4, .small_step_mm = 0.1};

/// The lowest of the places where a foot comes to rest from a few starts: toes may catch under a low roof, a long foot
/// on either side of a crest.
Settled settled_from(const SettleProblem& problem, const Pose& start) {
  constexpr std::array<std::pair<double, double>, 3> kBeside = {{{0.0, 0.0}, {8.0, 6.0}, {-4.0, -6.0}}};  // mm, degrees
  std::array<Settled, kBeside.size()> found;
  for_blocks(found.size(), 1, [&](std::size_t i, std::size_t) {
    Pose beside = start;
    beside.last_from_foot.pretranslate(Vec3(kBeside[i].first, 0.0, 0.0));
    beside.hinge_deg += kBeside[i].second;
    found[i] = settle(problem, {}, beside, kCoarse);
  });
  return *std::ranges::min_element(found, {}, &Settled::energy_N_mm);
}

/// The room that each zone is left with.
void note_rooms(const SettleProblem& problem, const Pose& pose, Registration& registration) {
  struct Sums {
    double area_mm2 = 0.0, sum = 0.0, squares = 0.0;
  };
  std::array<Sums, kZoneCount> zones;
  Sums rear;
  const std::vector<std::optional<double>> clearances_mm = cell_clearances_mm(problem, pose);
  for (std::size_t i = 0; i < clearances_mm.size(); ++i) {
    if (!clearances_mm[i]) continue;
    const ContactSample& cell = problem.samples.cells[i];
    const double room_mm = *clearances_mm[i];
    const auto add = [&](Sums& sums) {
      sums.area_mm2 += cell.area_mm2;
      sums.sum += cell.area_mm2 * room_mm;
      sums.squares += cell.area_mm2 * room_mm * room_mm;
    };
    add(zones[static_cast<std::size_t>(cell.zone)]);
    if (is_rear(cell.zone)) add(rear);
  }
  for (std::size_t i = 0; i < kZoneCount; ++i)
    if (const Sums& sums = zones[i]; sums.area_mm2 > 0.0)
      registration.residuals.push_back(
          {static_cast<Zone>(i), std::sqrt(sums.squares / sums.area_mm2), sums.sum / sums.area_mm2});
  if (rear.area_mm2 > 0.0) registration.rear_rms_mm = std::sqrt(rear.squares / rear.area_mm2);
}

/// Whether the mirrored foot would stand nearer to the last's surface all round, and by far.
bool suits_other_side(const SettleProblem& problem, double rear_rms_mm) {
  // On lofted lasts the wrong side is 1.3 to 5 times as far off as the right one, on straight ones neither (our
  // choice).
  constexpr double kByFar_ratio = 0.9;
  const FootLandmarks landmarks = mirrored(problem.landmarks);
  const ContactSamples samples = mirrored(problem.samples);
  const Pose start = start_pose(landmarks, problem.last);
  const SettleProblem other{landmarks,           problem.last, problem.last_surface,
                            problem.fore_bottom, samples,      problem.sock_mm};
  Registration registration;
  note_rooms(other, settle(other, {}, start, kCoarse).pose, registration);
  return registration.rear_rms_mm < kByFar_ratio * rear_rms_mm;
}

}  // namespace

Registration register_foot_in_last(const Foot& foot, const SkinMap& skin, const Last& last,
                                   const SignedDistance& last_surface, const RegistrationSettings& settings) {
  const Pose start = start_pose(foot.landmarks, last);
  const ContactSamples samples = contact_samples(foot, skin);
  const SignedDistance toes_bottom = fore_bottom(last);
  const SettleProblem problem{foot.landmarks, last, last_surface, toes_bottom, samples, settings.sock_mm};
  const Settled settled = settle(problem, {}, settled_from(problem, start).pose, {});

  Registration registration = as_registration(problem, settled.pose);
  registration.converged = settled.at_rest;
  registration.iterations = settled.iterations;
  registration.covariance = pose_covariance(problem, settled.pose, settings.scan_error_mm);
  note_rooms(problem, settled.pose, registration);
  note_doubt(problem, settled, settings.scan_error_mm, suits_other_side(problem, registration.rear_rms_mm),
             registration);
  return registration;
}

Registration register_foot_in_last(const Foot& foot, const Last& last, const SignedDistance& last_surface,
                                   const RegistrationSettings& settings) {
  return register_foot_in_last(foot, map_skin(foot), last, last_surface, settings);
}

Registration settled_again(const Foot& foot, const SkinMap& skin, const Last& changed,
                           const SignedDistance& changed_surface, Registration before,
                           const RegistrationSettings& settings) {
  const ContactSamples samples = contact_samples(foot, skin);
  const SignedDistance toes_bottom = fore_bottom(changed);
  const SettleProblem problem{foot.landmarks, changed, changed_surface, toes_bottom, samples, settings.sock_mm};
  const Settled settled = settle(problem, {}, settled_from(problem, start_pose(foot.landmarks, changed)).pose, {});
  const Registration now = as_registration(problem, settled.pose);
  before.last_from_foot = now.last_from_foot;
  before.hinge = now.hinge;
  before.converged = settled.at_rest;
  return before;
}

}  // namespace lastroom
