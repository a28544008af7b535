#include <algorithm>
#include <cmath>
#include <numbers>

#include "registration/doubt.h"
#include "registration/registration.h"
#include "registration/solve_pose.h"
#include "registration/start_pose.h"
#include "zones/toes.h"

namespace lastroom {
namespace {

// The widest place of a last and of a foot are told to a few millimetres along, and need not be the same bone's (D4).
constexpr double kJointStationSpreadMm = 4.0;
// A maker's own point, set by eye and hand.
constexpr double kByHandSpreadMm = 1.5;

std::vector<PointEvidence> landmark_evidence(const FootLandmarks& marks, const Last& last, double sock_mm) {
  const double both = std::numbers::sqrt2;  // the two err together: as much as one of the single spread
  const auto spread = [&](bool by_hand) { return both * (by_hand ? kByHandSpreadMm : kJointStationSpreadMm); };
  std::vector<PointEvidence> points = {{marks.first_joint, last.first_joint, Vec3::UnitX(), spread(marks.by_hand[1])},
                                       {marks.fifth_joint, last.fifth_joint, Vec3::UnitX(), spread(marks.by_hand[2])}};
  if (marks.by_hand[0])
    points.push_back(
        {marks.heel, last.heel_back + (kExpectedRoom[part_of(Zone::heel_back, true)].room_mm + sock_mm) * Vec3::UnitX(),
         Vec3::UnitX(), kByHandSpreadMm});
  return points;
}

/// By zone: the two halves of a zone are reported as one.
void note_residuals(const PoseProblem& problem, const PoseSolution& solution, Registration& registration) {
  double rear_squares = 0.0, rear_area = 0.0;
  for (std::size_t i = 0; i < kZoneCount; ++i) {
    const auto zone = static_cast<Zone>(i);
    double area = 0.0, sum = 0.0, squares = 0.0;
    for (std::size_t part = 0; part < kParts; ++part) {
      if (kExpectedRoom[part].zone != zone || solution.share_used[part] == 0.0) continue;
      const double part_area = problem.held.area_mm2[part], mean = solution.room_mm[part];
      area += part_area;
      sum += part_area * mean;
      squares += part_area * (mean * mean + solution.rms_mm[part] * solution.rms_mm[part]);
    }
    if (area == 0.0) continue;
    registration.residuals.push_back({zone, std::sqrt(squares / area), sum / area});
    if (zone == Zone::toe_pads) continue;
    rear_squares += squares;
    rear_area += area;
  }
  if (rear_area > 0.0) registration.rear_rms_mm = std::sqrt(rear_squares / rear_area);
}

}  // namespace

Registration register_foot_in_last(const Foot& foot, const FootMeasures& foot_measures, const SkinMap& skin,
                                   const Last& last, const LastMeasures&, const SignedDistance& last_surface,
                                   const RegistrationSettings& settings) {
  const double length_mm = foot_measures.length_mm > 0.0 ? foot_measures.length_mm : foot_length_mm(foot.landmarks);
  const std::vector<Pose> starts = start_poses(foot.landmarks, length_mm, last);
  const PoseProblem problem{foot,
                            length_mm,
                            last,
                            last_surface,
                            held_skin(foot, skin),
                            landmark_evidence(foot.landmarks, last, settings.sock_mm),
                            starts.front().hinge_deg,
                            settings.sock_mm,
                            fore_bottom(last)};
  PoseSolution solution = solve_pose(problem, starts.front());
  for (std::size_t i = 1; i < starts.size(); ++i) {
    const PoseSolution other = solve_pose(problem, starts[i]);
    if (other.cost < solution.cost) solution = other;
  }

  Registration registration = as_registration(problem, solution.pose);
  registration.converged = solution.converged;
  registration.iterations = solution.iterations;
  registration.covariance = solution.covariance;
  note_residuals(problem, solution, registration);
  note_doubt(solution, registration);
  return registration;
}

Registration register_foot_in_last(const Foot& foot, const FootMeasures& foot_measures, const Last& last,
                                   const LastMeasures& last_measures, const SignedDistance& last_surface,
                                   const RegistrationSettings& settings) {
  return register_foot_in_last(foot, foot_measures, map_skin(foot), last, last_measures, last_surface, settings);
}

}  // namespace lastroom
