#include "zones/zones.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>

#include "zones/skin_normals.h"
#include "zones/toes.h"

namespace lastroom {
namespace {

// Borders in parts of the foot's length from the heel, or before (+) and behind (-) the joint line. Our choice: the
// trade names the regions and gives no numbers.
constexpr double kHeelEnds = 0.35;  // sides: where the waist begins; under it the seat ends earlier
constexpr double kSeatEnds = 0.30;
constexpr double kInstepBegins = 0.42;  // behind it the top of the foot is the ankle's
constexpr double kTreadBegins = -0.09, kTreadEnds = 0.06;
constexpr double kJointTopBegins = -0.08, kJointTopEnds = 0.06;
constexpr double kJointHalfLength = 0.06;  // of the joint's side, before and behind its landmark
constexpr double kTipDepth = 0.035;        // skin this near to a toe's tip, and facing forwards, is its tip
// Above these heights a last doesn't follow a foot any more (it clips in under the ankle bone).
constexpr double kHeelSideTop = 0.19, kHeelBackTop = 0.22, kWaistTop = 0.20, kWaistTopRise = 0.8;
constexpr double kFacesDown = -0.55, kFacesUp = 0.5, kFacesBack = -0.7, kFacesForward = 0.6;
constexpr double kTipLooksDown = -0.3;  // under it a toe's end is the sole's, which rests on the bottom

class ZoneMap {
 public:
  ZoneMap(const FootLandmarks& landmarks) : marks_(landmarks), length_mm_(foot_length_mm(landmarks)), toes_(landmarks) {
    while (first_toe_ < 5 && !landmarks.toe_there[first_toe_ - 1u]) ++first_toe_;
    while (last_toe_ > 1 && !landmarks.toe_there[last_toe_ - 1u]) --last_toe_;
  }

  Zone zone(const Vec3& p, const Vec3& n, std::uint8_t toe) const {
    const double along = (p.x() - marks_.heel.x()) / length_mm_;
    const double height = p.z() / length_mm_;
    const double before_joints = toes_.before_joint_line_mm(p) / length_mm_;
    const bool inside = n.y() > 0.0;
    if (toe != 0) return toe_zone(p, n, toe, inside);
    if (n.z() < kFacesDown && height < kWaistTop) return bottom(along, before_joints);
    if (n.z() > kFacesUp) return top(along, height, before_joints);
    return side(along, height, inside, n, p);
  }

 private:
  static Zone bottom(double along, double before_joints) {
    if (before_joints > kTreadEnds) return Zone::toe_pads;
    if (before_joints > kTreadBegins) return Zone::tread;
    return along < kSeatEnds ? Zone::seat : Zone::arch;
  }

  static Zone top(double along, double height, double before_joints) {
    if (before_joints > kJointTopEnds) return Zone::toe_tops;
    if (before_joints > kJointTopBegins) return Zone::joint_top;
    if (along < kHeelEnds || height > highest(along)) return Zone::none;
    const bool low = height < 0.5 * highest(along);
    return along < kInstepBegins || low ? Zone::waist : Zone::instep;
  }

  Zone side(double along, double height, bool inside, const Vec3& n, const Vec3& p) const {
    if (along < kHeelEnds) {
      if (n.x() < kFacesBack) return height < kHeelBackTop ? Zone::heel_back : Zone::none;
      return height < kHeelSideTop ? Zone::heel_sides : Zone::none;
    }
    const bool shin = along < 0.5 && n.x() > kFacesForward;
    if (shin || height > highest(along)) return Zone::none;
    return side_before_heel(inside, p);
  }

  /// The side skin between the heel and the toes.
  Zone side_before_heel(bool inside, const Vec3& p) const {
    const Vec3& joint = inside ? marks_.first_joint : marks_.fifth_joint;
    const double from_joint = (p.x() - joint.x()) / length_mm_;
    if (from_joint < -kJointHalfLength) return Zone::waist;
    if (from_joint < kJointHalfLength) return inside ? Zone::inside_joint : Zone::outside_joint;
    return inside ? Zone::big_toe_side : Zone::fifth_toe_side;
  }

  Zone toe_zone(const Vec3& p, const Vec3& n, std::uint8_t toe, bool inside) const {
    const double behind_tip_mm = marks_.toe_tips[toe - 1u].x() - p.x();
    if (n.x() > kFacesForward && behind_tip_mm < kTipDepth * length_mm_)
      return n.z() < kTipLooksDown ? Zone::toe_pads
             : toe == 1            ? Zone::big_toe_tip
             : toe == 5            ? Zone::fifth_toe_tip
                                   : Zone::middle_toes_tip;
    if (n.z() < kFacesDown) return Zone::toe_pads;
    if (n.z() > kFacesUp) return Zone::toe_tops;
    if (toe <= first_toe_ && inside) return side_before_heel(inside, p);
    if (toe >= last_toe_ && !inside) return side_before_heel(inside, p);
    return Zone::none;  // skin between toes
  }

  /// Height over which the skin is the leg's, in lengths: rises from the heel's to the instep's.
  static double highest(double along) { return kWaistTop + kWaistTopRise * (along - kHeelEnds); }

  const FootLandmarks& marks_;
  double length_mm_;
  ToesInPlan toes_;
  std::uint8_t first_toe_ = 1, last_toe_ = 5;  ///< the outermost that are there: theirs are the toes' sides
};

}  // namespace

Zone zone_named(std::string_view name) {
  const auto found = std::ranges::find(kZones, name, &ZoneTraits::name);
  if (found != kZones.end()) return found->zone;
  throw std::invalid_argument("there is no zone named \"" + std::string(name) + "\"");
}

Message zone_message(Zone zone) { return {"zone_in_sentence." + std::string(zone_name(zone))}; }

SkinMap map_skin(const Foot& foot) {
  constexpr double kLooksDown = -0.85;
  const std::vector<Vec3> normals = skin_normals(foot.mesh);
  const ToesInPlan toes(foot.landmarks);
  const ZoneMap zones(foot.landmarks);
  SkinMap map;
  map.sole_missing = foot.sole_missing;
  map.zone.resize(foot.mesh.vertices.size(), Zone::none);
  map.toe.resize(foot.mesh.vertices.size(), 0);
  map.sole_flat.resize(foot.mesh.vertices.size(), 0);
  for (std::size_t i = 0; i < foot.mesh.vertices.size(); ++i) {
    map.toe[i] = toes.toe_at(foot.mesh.vertices[i]);
    map.zone[i] = zones.zone(foot.mesh.vertices[i], normals[i], map.toe[i]);
    map.sole_flat[i] = normals[i].z() < kLooksDown ? 1 : 0;
  }
  return map;
}

Zone zone_at(const FootLandmarks& landmarks, const Vec3& point_mm, const Vec3& normal) {
  return ZoneMap(landmarks).zone(point_mm, normal, ToesInPlan(landmarks).toe_at(point_mm));
}

}  // namespace lastroom
