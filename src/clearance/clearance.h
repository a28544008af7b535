#pragma once

#include <optional>

#include "registration/registration.h"
#include "zones/zones.h"

namespace lastroom {

/// The field is averaged over neighbours this far around (root mean square): a scan's noise would otherwise shift every
/// 5th percentile towards tight, by half a millimetre and more.
constexpr double kClearanceSmoothed_mm = 2.0;

/// Signed room between skin and last at every vertex of the foot, in mm, after the sock.
/// Positive: room. Negative: the foot stands out through the last, so the shoe would press there by that much.
/// All arrays have one entry per vertex of foot.mesh. Last frame, right form.
struct ClearanceField {
  static constexpr std::uint8_t kPastTop = 2;
  std::vector<Vec3> skin_mm;      ///< the posed skin
  std::vector<Vec3> skin_normal;  ///< outward, posed
  std::vector<double> clearance_mm;
  std::vector<double> sigma_mm;      ///< one standard deviation: scan error and the pose's covariance along the normal
  std::vector<Vec3> last_point_mm;   ///< nearest point of the last
  std::vector<std::uint8_t> on_rim;  ///< no judgement: 1 nearest is a rim of the last, kPastTop where it ends above
  std::vector<double> area_mm2;
  double sock_mm = 0.0;        ///< taken off
  double scan_error_mm = 0.0;  ///< one standard deviation of the skin's place, part of `sigma_mm`
  /// The fore part's own directions in the last frame: along the foot, to its inside, up from the floor that it was
  /// scanned on.
  Eigen::Matrix3d last_from_fore = Eigen::Matrix3d::Identity();
  std::optional<PosedFoot> posed;  ///< with its covariance, what the doubt of a place follows from
  PoseCovariance pose_covariance = PoseCovariance::Zero();
};
/// Of a place of the foot (foot frame) as posed: the pose's own and the scan error, last frame.
Eigen::Matrix3d covariance_mm2(const ClearanceField& field, const Vec3& foot_point_mm);
ClearanceField clearance_between(const Foot& foot, const Registration& registration, const SignedDistance& last_surface,
                                 const RegistrationSettings& settings, const LastTop& top = {});

/// One standard deviation along `direction` (unit) of a place with this derivative by the pose.
double sigma_along_mm(const Vec3& direction, const Eigen::Matrix<double, 3, 7>& by_pose,
                      const PoseCovariance& covariance, double scan_error_mm);

/// Whether a skin vertex counts in its zone: not beside or above the rim, nor the border of a sole that was not
/// scanned.
bool is_judged(const ClearanceField& field, const SkinMap& skin, std::size_t vertex);

/// One zone's clearance by area. Percentiles are area-weighted.
struct ZoneClearance {
  Zone zone = Zone::none;
  double min_mm = 0.0, p05_mm = 0.0, median_mm = 0.0;
  double sigma_mm = 0.0;  ///< one standard deviation of p05
  double area_mm2 = 0.0;
  Vec3 at_mm = Vec3::Zero();  ///< skin point nearest to the 5th percentile's tight spot
};
/// Zones without skin are left out; order of the enum.
std::vector<ZoneClearance> by_zone(const ClearanceField& field, const SkinMap& skin);
/// The square centimetre (a disc) of a zone's skin that has least room, what a thumb's tip feels: the mean over it, so
/// that a scan's noise does not decide.
struct WorstPatch {
  Zone zone = Zone::none;
  double mm = 0.0, sigma_mm = 0.0;  ///< one standard deviation
  Vec3 at_mm = Vec3::Zero();        ///< its middle, on the skin
};
/// One a zone; none of a zone that has less judged skin in one place than half of that.
std::vector<WorstPatch> worst_patches(const ClearanceField& field, const SkinMap& skin);
/// Zones of which too little is judged to speak for them (of either side, where they have two): none, or less than half
/// of their own skin, not counting what of waist and instep stands over the last's top, if a square centimetre is left;
/// or, where the scan is open there, of the smallest that such a zone was on a whole foot: what is
/// left may be a rag. A zone that was scanned whole may be smaller. Not those under a foot whose sole was not scanned:
/// that is said of all at once.
std::vector<Zone> zones_not_measured(const Foot& foot, const ClearanceField& field, const SkinMap& skin);
double area_below_mm2(const ClearanceField& field, const SkinMap& skin, Zone zone, double limit_mm);

/// Behind a toe's tip, what goes ahead when a foot slides: the nail's part. Our choice.
constexpr double kToeEnd_mm = 12.0;
/// Behind a toe's tip, what a roof may press: the nail and, of a clawed toe, the knuckle behind it; further back a
/// short toe ends. Our choice.
constexpr double kToeTop_mm = 20.0;

/// Room for the toes, measured with the posed foot in the last. Missing is "not measurable". Forward, inward and up are
/// those of the foot's own fore part (`last_from_fore`): which way a last points is told by its end, which a blunt or
/// an asymmetric toe shifts by degrees, and at 250 mm a degree is 4 mm.
struct ToeRoom {
  /// What a stick and the recede tell: how far the toes can go forward, pads on the bottom, before one is higher than
  /// the last is inside, in its profile. What narrows before a toe is told of its side and its tip.
  std::optional<double> tip_mm;
  double tip_sigma_mm = 0.0;                         ///< one standard deviation, as all doubts here
  Vec3 tip_at_mm = Vec3::Zero();                     ///< the longest toe's tip
  Vec3 usable_end_mm = Vec3::Zero();                 ///< where the toe that is stopped first would end
  std::array<std::optional<double>, 5> headroom_mm;  ///< least room straight up from each toe's top, or its group's
  std::array<double, 5> headroom_sigma_mm = {};
  std::array<Vec3, 5> headroom_at_mm = {Vec3::Zero(), Vec3::Zero(), Vec3::Zero(), Vec3::Zero(), Vec3::Zero()};
  std::optional<double> allowance_mm;  ///< last's foremost point less the longest toe tip, forward
  double allowance_sigma_mm = 0.0;
  /// Of each toe, big toe first: as `tip_mm`, but under the roof and to the wall that lie straight before it.
  std::array<std::optional<double>, 5> ahead_mm = {};
};
ToeRoom toe_room(const Foot& foot, const SkinMap& skin, const ClearanceField& field, const Last& last);

}  // namespace lastroom
