#include "registration/doubt.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

constexpr double kDegPerRad = 180.0 / std::numbers::pi;
// Beyond these nothing that is read off the pose can be trusted (our choice: beyond what any zone bears or is called
// slack at).
constexpr double kMostRoomMm = 8.0, kMostPressMm = 6.0;
// Root mean square of room less what is expected of a last that fits, from heel to joint: about 0.5 for a foot's own
// last, 1.2 one English size off, 1.5 for a foot 8 % wider, 3 and more three sizes off, 4 and more on the wrong side
// (measured on truth cases; the limit is our choice).
constexpr double kMostRearRmsMm = 2.6;
constexpr double kMostRestMm = 4.5;  // of what the part's own room doesn't explain, in any part
constexpr double kMostPositionDoubtMm = 3.0;

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

Message reason(const PoseSolution& solution, const Registration& registration) {
  if (!solution.converged) return {"doubt.no_rest"};
  if (!(registration.rear_rms_mm <= kMostRearRmsMm))
    return {"doubt.rear_differs", {{"rms_mm", Quantity{registration.rear_rms_mm, 1}}}};
  for (std::size_t part = 0; part < kParts; ++part) {
    const ExpectedRoom& expected = kExpectedRoom[part];
    if (solution.share_used[part] == 0.0) continue;
    const double room_mm = expected.room_mm + solution.room_mm[part];
    if (room_mm > kMostRoomMm || room_mm < -kMostPressMm)
      return {room_mm > 0.0 ? "doubt.stands_off" : "doubt.stands_out",
              {{"zone", zone_message(expected.zone)}, {"room_mm", Quantity{std::abs(room_mm), 0}}}};
    if (solution.rms_mm[part] > kMostRestMm) return {"doubt.different_shapes", {{"zone", zone_message(expected.zone)}}};
  }
  const double angle = registration.hinge.angle_deg;
  if (angle < kLeastHingeDeg - 1.0 || angle > kMostHingeDeg + 1.0)
    return {"doubt.bends_too_far", {{"angle_deg", Quantity{angle, 0}}}};
  if (!(registration.position_doubt_mm <= kMostPositionDoubtMm))
    return {"doubt.place_unsure", {{"mm", Quantity{1.96 * registration.position_doubt_mm, 0}}}};
  return {};
}

}  // namespace

void note_doubt(const PoseSolution& solution, Registration& registration) {
  const Eigen::Matrix3d turns = solution.covariance.topLeftCorner<3, 3>();
  const Eigen::Matrix3d shifts = solution.covariance.block<3, 3>(3, 3);
  const auto largest = [](const Eigen::Matrix3d& covariance) {
    return std::sqrt(Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(covariance).eigenvalues().maxCoeff());
  };
  registration.position_doubt_mm = largest(shifts);
  registration.angle_doubt_deg = largest(turns) * kDegPerRad;
  registration.weakest = weakest_direction(solution.covariance);
  registration.doubt_reason = reason(solution, registration);
}

}  // namespace lastroom
