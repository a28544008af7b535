#pragma once

#include <optional>

#include "geometry/signed_distance.h"
#include "measurement/measure.h"
#include "preparation/foot.h"
#include "preparation/last.h"
#include "zones/zones.h"

namespace lastroom {

/// The fore part's turn about the joint line, in the last frame, right form. The line runs in plan from the first to
/// the fifth joint, is level in the standing foot, at 6 % of the foot's length above the sole.
struct Hinge {
  Vec3 point_mm = Vec3::Zero();  ///< middle of the joint line
  Vec3 axis = -Vec3::UnitY();    ///< unit; a positive angle lifts the toes
  double angle_deg = 0.0;
};

/// The hinge as it lies in the foot before anything is posed, angle 0 (foot frame, right form).
Hinge hinge_in_foot(const FootLandmarks& landmarks);

/// Order of the seven parameters: small rotation about `hinge.point_mm` (rad; x, y, z of the last frame), shift (mm; x,
/// y, z), hinge angle (rad).
using PoseCovariance = Eigen::Matrix<double, 7, 7>;

/// The room that a zone is left with, by area.
struct ZoneResidual {
  Zone zone = Zone::none;
  double rms_mm = 0.0;
  double mean_mm = 0.0;
};

/// Where the foot stands in the last, and how well that is known.
struct Registration {
  Motion last_from_foot = Motion::Identity();  ///< rear part; both frames in right form
  Hinge hinge;
  bool converged = false;
  Message doubt_reason;      ///< empty, or why no verdict may be built on this pose
  double rear_rms_mm = 0.0;  ///< root mean square of the room from heel to joint, by area
  int iterations = 0;
  PoseCovariance covariance = PoseCovariance::Zero();
  double position_sigma_mm = 0.0;  ///< largest standard deviation of the joint's middle in any direction
  double angle_sigma_deg = 0.0;    ///< largest standard deviation of a rotation
  Message weakest;                 ///< the direction that is held least
  std::vector<ZoneResidual> residuals;
};

/// How much of the body's weight the foot bore when it was scanned.
enum class ScanLoad { full, half, none };

/// One standard deviation of the skin's place. Repeat error of a loaded scan, unless the scanner's is known, 1 mm (0.73
/// to 1.50 mm: Lee, Lin, Wang 2014). Weight adds 2.9 to 10.4 % to a foot's width (Tsung et al. 2003; Xiong et al. 2009;
/// Zhang et al. 2022): 6.65 % of 100 mm at the middle of that range, half on either side. The scan is not stretched;
/// what it may lack is doubt.
double scan_error_mm(ScanLoad load, double repeat_error_mm = 1.0);

struct RegistrationSettings {
  double sock_mm = 0.0;
  double scan_error_mm = 1.0;  ///< see the function of the same name
};

/// Stands the foot in the last where it settles when somebody stands in the shoe and it is fastened: the sole on the
/// bottom, the heel home, the sides balanced, the fore part turned until the toes' pads bear.
Registration register_foot_in_last(const Foot& foot, const Last& last, const SignedDistance& last_surface,
                                   const RegistrationSettings& settings = {});

/// The same with the zones of the skin already at hand (many lasts for one foot).
Registration register_foot_in_last(const Foot& foot, const SkinMap& skin, const Last& last,
                                   const SignedDistance& last_surface, const RegistrationSettings& settings = {});

/// Where the foot comes to rest in a last that was changed a little; how sure that is, is as it was before.
Registration settled_again(const Foot& foot, const SkinMap& skin, const Last& changed,
                           const SignedDistance& changed_surface, Registration before,
                           const RegistrationSettings& settings);

/// A point of the foot (foot frame, right form) where the registration puts it (last frame, right form), hinge
/// included: the turn is blended over 15 mm around the joint line.
class PosedFoot {
 public:
  PosedFoot(const FootLandmarks& landmarks, const Registration& registration);
  Vec3 operator()(const Vec3& foot_point_mm) const;
  /// d(posed point)/d(seven parameters), 3x7, at the point as posed.
  Eigen::Matrix<double, 3, 7> jacobian(const Vec3& foot_point_mm) const;

 private:
  Motion last_from_foot_;
  Hinge hinge_;
  Vec3 axis_point_foot_, axis_foot_, forward_foot_;
};

}  // namespace lastroom
