#include "registration/doubt.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

constexpr double kDegPerRad = 180.0 / std::numbers::pi;
// Beyond what lasts of three sizes more or less leave (5.2 mm on misfits of lofted lasts; our choice).
constexpr double kMostRearRms_mm = 9.0;
constexpr double kMostPositionDoubt_mm = 5.0;

std::string weakest_direction(const PoseCovariance& covariance) {
  // What a millimetre or its like at the foot's ends would be in each unknown.
  constexpr double kArmMm = 90.0, kHalfWidthMm = 35.0, kToeMm = 50.0;
  const std::array<std::pair<double, const char*>, 7> arms = {{{kHalfWidthMm, "leaning to the inside or outside"},
                                                               {kArmMm, "raising the heel against the joints"},
                                                               {kArmMm, "swinging the heel sideways"},
                                                               {1.0, "sliding along the last"},
                                                               {1.0, "shifting sideways"},
                                                               {1.0, "standing higher or lower"},
                                                               {kToeMm, "bending at the toes"}}};
  std::size_t worst = 0;
  double most = -1.0;
  for (std::size_t i = 0; i < arms.size(); ++i) {
    const double spread = arms[i].first * std::sqrt(covariance(static_cast<int>(i), static_cast<int>(i)));
    if (spread > most) most = spread, worst = i;
  }
  return fmt::format("{}, give or take {:.1f} mm", arms[worst].second, 1.96 * most);
}

std::string reason(const Settled& settled, bool suits_other_side, const Registration& registration) {
  if (!settled.at_rest) return "The search for the foot's place in the last did not come to rest.";
  if (!(registration.rear_rms_mm <= kMostRearRms_mm))
    return fmt::format(
        "From heel to joint foot and last differ by {:.1f} mm where a foot in a last that suits it differs by about 2: "
        "this is not a foot, or not a last.",
        registration.rear_rms_mm);
  if (suits_other_side)
    return "Mirrored, the foot would suit this last better: one of the two is of the other side. Check --side, or take "
           "the "
           "last of the other side.";
  if (!(registration.position_doubt_mm <= kMostPositionDoubt_mm))
    return fmt::format("The foot's place in the last is known to {:.0f} mm only.",
                       1.96 * registration.position_doubt_mm);
  return {};
}

}  // namespace

void note_doubt(const Settled& settled, bool suits_other_side, Registration& registration) {
  const Eigen::Matrix3d turns = registration.covariance.topLeftCorner<3, 3>();
  const Eigen::Matrix3d shifts = registration.covariance.block<3, 3>(3, 3);
  const auto largest = [](const Eigen::Matrix3d& covariance) {
    return std::sqrt(Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(covariance).eigenvalues().maxCoeff());
  };
  registration.position_doubt_mm = largest(shifts);
  registration.angle_doubt_deg = largest(turns) * kDegPerRad;
  registration.weakest = weakest_direction(registration.covariance);
  registration.doubt_reason = reason(settled, suits_other_side, registration);
}

}  // namespace lastroom
