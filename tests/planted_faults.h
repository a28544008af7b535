#pragma once

#include "reshaped_lasts.h"
#include "taken_pair.h"

namespace lastroom::test {

/// Where a program stands a foot, and what it says of that.
struct Said {
  Stand found;
  Verdict verdict = Verdict::none;
  std::vector<ZoneVerdict> zones;
  std::vector<Finding> findings;
};
Said said_of(const TakenPair& pair);

/// Whether the last is what a finding speaks against; else it is the foot's scan.
bool against_the_last(const Finding& finding);

/// A fault that is pushed into a harmless last.
struct Fault {
  std::string name;
  RuleId rule = RuleId::toe_room;  ///< whose limit the truth is then beyond; of a headroom the toe's own
  Zone zone = Zone::none;          ///< whose skin is pushed; none: all but the sole's
  std::uint8_t toe = 0;            ///< 1 to 5: of that toe alone
  bool slack = false;              ///< too much room is the fault
  bool disc = false;               ///< a square centimetre around the outermost place alone
  double girth_mm = 0.0;           ///< instead: less girth all round
  double length_mm = 0.0;          ///< instead: less length, the whole last in proportion
  bool is_whole() const { return girth_mm > 0.0 || length_mm > 0.0; }
};
std::vector<Fault> faults();

struct Planted {
  StandingCase pair;
  TrueState state;
  std::vector<Margin> margins;
  double beyond_mm = 0.0;  ///< its limit (of a whole last: the limit to watch that it is furthest beyond)
};
/// The harmless pair with the fault in its last, kSure_mm to 1 mm more beyond its limit where the foot settles; none
/// where that can't be had, or a whole last's fault comes to less.
std::optional<Planted> planted(const MadeHarmless& harmless, const SkinMap& skin, const Fault& fault);

/// Found and named rightly: the rule itself, or the worst patch of its zone, says watch (of slack: slack). Of a whole
/// last: one of the rules that it is truly kSure_mm beyond.
bool is_named(const Fault& fault, const Planted& planted, const Said& said);
/// All that is truly beyond its limits lies under a foot whose sole was not scanned, which is said.
bool is_unseen(const Planted& planted, const Said& said);

}  // namespace lastroom::test
