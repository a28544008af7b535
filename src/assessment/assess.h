#pragma once

#include <functional>

#include "assessment/bench_terms.h"
#include "assessment/rules.h"
#include "clearance/clearance.h"

namespace lastroom {

/// Best first, so that the larger one is the worse one. `none`: no judgement could be made.
enum class Verdict { clear, slack, watch, pinch, none };
std::string_view verdict_name(Verdict verdict);

struct ZoneVerdict {
  ZoneClearance clearance;
  Verdict verdict = Verdict::clear;
  bool undecided = false;  ///< chance of pinch between 0.2 and 0.8: the measurement can't decide
  double limit_mm = 0.0;   ///< pinch limit in force
  double chance_of_pinch = 0.0;
  double area_below_limit_mm2 = 0.0;
};

struct Finding {
  RuleId rule = RuleId::toe_room;
  Verdict verdict = Verdict::watch;
  std::optional<Zone> zone;
  std::optional<double> measured_mm, limit_mm, sigma_mm;
  std::optional<Vec3> at_mm;  ///< last frame, right form
  Message advice;             ///< what to do
  std::string source;         ///< of the limit, as the rules file gives it
  Provenance provenance = Provenance::our_choice;
};

enum class Freedom : std::uint8_t { may_tighten, keep, never_press, free_to_style };
std::string_view freedom_name(Freedom freedom);

struct Tightening {
  struct Effect {
    Zone zone = Zone::none;
    double before_mm = 0.0, after_mm = 0.0;
  };
  /// Between a toe's end and the next one's: 1 is big and second toe, 4 is fourth and fifth. Negative: pressed
  /// together.
  struct ToeGap {
    int toe = 1;
    double before_mm = 0.0, after_mm = 0.0;
  };
  double joint_girth_mm = 0.0;               ///< by how much the joint girth may be reduced; 0 when none is offered
  double inside_mm = 0.0, outside_mm = 0.0;  ///< by how much either side of the last goes in at the joint for it
  double sigma_mm = 0.0;  ///< one standard deviation of that, by the room that stops it; 0 where a fitting does
  Message why;            ///< what stops it, or why none is offered
  std::vector<Effect> effects;
  std::vector<ToeGap> toe_gaps;
  std::vector<Freedom> freedom;  ///< one per vertex of last.mesh
  std::array<double, 4> area_mm2 = {};
};

enum class Operation : std::uint8_t { build_up, take_down, lengthen };
std::string_view operation_name(Operation operation);

/// A change to be made on the last, in bench terms.
struct Correction {
  Operation operation = Operation::build_up;
  Zone zone = Zone::none;         ///< of the foot, for which most of it is done
  double height_mm = 0.0;         ///< at its peak; positive: build up, or longer. Negative: take down.
  Vec3 centre_mm = Vec3::Zero();  ///< its peak, on the last's surface
  BenchPlace place;               ///< of the peak
  NearestStation station;
  double length_mm = 0.0;  ///< along the last; across it `place.across_mm`
};

/// What no change of this last cures.
struct Lacking {
  RuleId rule = RuleId::toe_room;
  std::optional<Zone> zone;
  double mm = 0.0;  ///< to the least that is clear
};

/// What is to be done to the last, in the trade's order: build up, take down, lengthen; and the last with it done, the
/// foot settled in it anew and judged from the start.
struct Corrections {
  std::vector<Correction> changes;  ///< empty: nothing is to be changed, or nothing that is worth it
  std::vector<Lacking> lacking;     ///< not empty: another last is the better way, and no change is proposed
  std::vector<double> height_mm;    ///< how far each vertex of last.mesh goes out along its normal
  Last corrected_last;              ///< right form, last frame; same triangles as last.mesh; empty without changes
  std::vector<ZoneVerdict> zones_after;
  LastMeasures measures_after;
  ToeRoom toe_room_after;
  Verdict verdict_after = Verdict::none;
};

/// Where a foot settles in a changed last; without it the foot stays where it stands.
using Settle = std::function<Registration(const Last&, const SignedDistance&)>;

struct AssessmentSettings {
  Wearer wearer = Wearer::unknown;  ///< standard must be said
  Message wearer_reason;            ///< why at risk though that was not said; empty when it was
  std::optional<double> tape_joint_mm;
  ScanLoad scan_load = ScanLoad::full;
  bool advice = true;  ///< whether tightening and changes are sought; ranking a shelf needs neither
};

/// Everything a judgement looks at; refers to values that outlive it.
struct Evidence {
  const Foot& foot;
  const Last& last;
  const FootMeasures& foot_measures;
  const LastMeasures& last_measures;
  const SkinMap& skin;
  const Registration& registration;
  const ClearanceField& clearance;
  const ToeRoom& toe_room;
  const SignedDistance& last_surface;
};

struct Assessment {
  Verdict verdict = Verdict::none;
  std::vector<ZoneVerdict> zones;
  std::vector<Finding> findings;  ///< gravest first
  Tightening tightening;
  Corrections corrections;
};

Assessment assess(const Evidence& evidence, const Rules& rules, const AssessmentSettings& settings,
                  const Settle& settle = {});

}  // namespace lastroom
