#include "registration/doubt.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

constexpr double kDegPerRad = 180.0 / std::numbers::pi;
// Beyond what lasts of three sizes more or less leave (5.2 mm on misfits of lofted lasts; our choice).
constexpr double kMostRearRms_mm = 9.0;
constexpr double kMostPositionDoubt_mm = 5.0;
// No wrong size is as far off, but a child's foot in cm that is read in inches (2.54; our choice).
constexpr double kNoSize_ratio = 1.6;

Message weakest_direction(const PoseCovariance& covariance) {
  // What a millimetre or its like at the foot's ends would be in each unknown.
  constexpr double kArmMm = 90.0, kHalfWidthMm = 35.0, kToeMm = 50.0;
  const std::array<std::pair<double, const char*>, 7> arms = {{{kHalfWidthMm, "weakest.leaning"},
                                                               {kArmMm, "weakest.raising"},
                                                               {kArmMm, "weakest.swinging"},
                                                               {1.0, "weakest.sliding"},
                                                               {1.0, "weakest.shifting"},
                                                               {1.0, "weakest.standing"},
                                                               {kToeMm, "weakest.bending"}}};
  std::size_t worst = 0;
  double most = -1.0;
  for (std::size_t i = 0; i < arms.size(); ++i) {
    const double spread = arms[i].first * std::sqrt(covariance(static_cast<int>(i), static_cast<int>(i)));
    if (spread > most) most = spread, worst = i;
  }
  return {"weakest", {{"direction", Message{arms[worst].second}}, {"mm", Quantity{1.96 * most, 1}}}};
}

Message reason(const SettleProblem& problem, const Settled& settled, double skin_sigma_mm, bool suits_other_side,
               const Registration& registration) {
  if (!settled.at_rest) return {"doubt.no_rest"};
  const double foot_mm = foot_length_mm(problem.landmarks), last_mm = problem.last.centre_line.back().x();
  const bool differs = !(registration.rear_rms_mm <= kMostRearRms_mm);
  if (differs && std::max(foot_mm / last_mm, last_mm / foot_mm) > kNoSize_ratio)
    return {"doubt.units", {{"foot_mm", Quantity{foot_mm, 0}}, {"last_mm", Quantity{last_mm, 0}}}};
  if (differs) return {"doubt.rear_differs", {{"rms_mm", Quantity{registration.rear_rms_mm, 1}}}};
  if (suits_other_side) return {"doubt.other_side"};
  if (!(registration.position_sigma_mm <= kMostPositionDoubt_mm))
    return {"doubt.place_unsure",
            {{"mm", Quantity{1.96 * registration.position_sigma_mm, 0}},
             {"cause", cause_of_doubt(problem, settled.pose, skin_sigma_mm)}}};
  return {};
}

}  // namespace

void note_doubt(const SettleProblem& problem, const Settled& settled, double skin_sigma_mm, bool suits_other_side,
                Registration& registration) {
  const Eigen::Matrix3d turns = registration.covariance.topLeftCorner<3, 3>();
  const Eigen::Matrix3d shifts = registration.covariance.block<3, 3>(3, 3);
  const auto largest = [](const Eigen::Matrix3d& covariance) {
    return std::sqrt(Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(covariance).eigenvalues().maxCoeff());
  };
  registration.position_sigma_mm = largest(shifts);
  registration.angle_sigma_deg = largest(turns) * kDegPerRad;
  registration.weakest = weakest_direction(registration.covariance);
  registration.doubt_reason = reason(problem, settled, skin_sigma_mm, suits_other_side, registration);
}

}  // namespace lastroom
