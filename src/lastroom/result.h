#pragma once

#include "lastroom/last.h"
#include "lastroom/rules.h"

namespace lastroom_v0 {

// Last frame, in which all places are: origin at the heel point of the last's bottom, +x to the toe along the bottom's
// centre line, +z up, +y to the wearer's left; as worn, left feet are not mirrored. Room (clearance) in mm after the
// sock: negative where the shoe would press by that much. Every `sigma` is one standard deviation. Names of zones and
// rules are those of result.json and the rules file.

/// Best first. `slack`: should hold the foot and does not. `watch`: near a limit, or the measurement can't decide.
/// `none`: no verdict; the foot could not be stood in this last with confidence, or the two do not belong together.
enum class Verdict { clear, slack, watch, pinch, none };
std::string_view verdict_name(Verdict verdict);  ///< "clear" ...

struct ZoneResult {
  std::string zone;
  Verdict verdict = Verdict::none;
  bool undecided = false;                              ///< the chance of a pinch is between 0.2 and 0.8
  double p05_mm = 0.0, median_mm = 0.0, min_mm = 0.0;  ///< of the room, by area
  double sigma_mm = 0.0;                               ///< of p05
  double limit_mm = 0.0;                               ///< below it p05 is a pinch
  double chance_of_pinch = 0.0;                        ///< 0 .. 1
  double area_mm2 = 0.0, area_below_limit_mm2 = 0.0;
  Vector3 at_mm = Vector3::Zero();  ///< the tightest place
};

struct Finding {
  std::string rule;
  Verdict verdict = Verdict::watch;
  std::optional<std::string> zone;
  std::optional<double> measured_mm, limit_mm, sigma_mm;  ///< none of a fact without a number
  std::optional<Vector3> at_mm;
  std::string advice, advice_key;  ///< what to do: in English, and its key
  std::string source, provenance;  ///< of the limit: its source; "published", "common practice" or "our choice"
};

/// How far the joint may be pulled in. Nothing is offered to who may not feel a pinch.
struct Tightening {
  double joint_girth_mm = 0.0;               ///< by how much the girth may be reduced; 0: none is offered
  double inside_mm = 0.0, outside_mm = 0.0;  ///< by how much either side of the last goes in for it
  double sigma_mm = 0.0;                     ///< of either, by the room that stops it
  std::string why, why_key;                  ///< what stops it, or why none is offered
};

/// To be made on the last.
struct Change {
  std::string operation;   ///< "build_up", "take_down", "lengthen"
  std::string zone;        ///< for which most of it is done
  double height_mm = 0.0;  ///< at its peak; negative: taken down
  double length_mm = 0.0;  ///< along the last
  double width_mm = 0.0;   ///< across it, along the skin
  Vector3 centre_mm = Vector3::Zero();
};

/// What no change of this last cures, by how much: another last is the better way.
struct Lacking {
  std::string rule;
  std::optional<std::string> zone;
  double mm = 0.0;
};

/// Where the foot stands. A scan's point p (mm) goes to `last_from_scan * p.homogeneous()`; before the joint line it
/// also turns by `flex_deg` about `flex_axis` through `flex_point_mm` (positive lifts the toes), blended over 15 mm
/// around that line.
struct Pose {
  bool converged = false;
  Matrix4 last_from_scan = Matrix4::Identity();  ///< rear part; both in mm
  Matrix4 last_from_file = Matrix4::Identity();  ///< the last's own file to the last frame; both in mm
  Vector3 flex_point_mm = Vector3::Zero(), flex_axis = Vector3::UnitY();
  double flex_deg = 0.0;
  double position_sigma_mm = 0.0, angle_sigma_deg = 0.0;  ///< the largest in any direction
  std::string doubt, doubt_key;                           ///< why no verdict may be built on this pose; else empty
};

struct Result {
  Verdict verdict = Verdict::none;
  Wearer wearer = Wearer::unknown;  ///< as judged: a mark's words may have made one at risk
  Side side = Side::right;
  std::vector<ZoneResult> zones;  ///< heel to toes
  std::vector<Finding> findings;  ///< gravest first
  Tightening tightening;
  std::vector<Change> changes;            ///< the fewest after which nothing pinches and nothing is worse; may be none
  Verdict verdict_after = Verdict::none;  ///< with them made, the foot settled anew; none without changes
  std::vector<Lacking> lacking;
  Pose pose;
};

/// The skin as it stands in the last, hinge included, and the room at each of its vertices.
struct PosedSkin {
  Mesh mesh;                         ///< last frame, mm
  std::vector<double> clearance_mm;  ///< one a vertex; NaN where it says nothing of the fit
  std::vector<double> sigma_mm;      ///< likewise
};

}  // namespace lastroom_v0
