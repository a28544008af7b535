#pragma once

#include "assessment/assess.h"
#include "assessment/bump.h"
#include "assessment/skin_sample.h"

namespace lastroom {

constexpr double kMayGetWorseMm = 0.2;  ///< another zone, by a correction

struct LastChange {
  Zone zone = Zone::none;
  Bump bump;
};
std::vector<Bump> bumps_of(const std::vector<LastChange>& changes);

/// The plan of changes, judged to first order on a sample of the skin: a bump of height h at the nearest point of the
/// last gives the skin h more room there. The sample is of the last as it was judged last, some changes made already.
class CorrectionPlan {
 public:
  /// `spared`: as spared_places; nothing is taken down there. `untouched`: places where nothing at all is changed.
  CorrectionPlan(const Evidence& evidence, std::vector<Vec3> spared, std::vector<Vec3> untouched, const Rules& rules,
                 Wearer wearer);

  void look_at(const ClearanceField& field);
  void build_up(const ZoneVerdict& zone);
  /// Over one toe (1 .. 5): its roof goes up by what is lacking, measured vertically above the skin at `at_mm`.
  void raise_roof(const ToeGroup& toes, const Vec3& at_mm, double headroom_mm, double sigma_mm);
  /// Over a spot that the maker marked; `room_mm` is what it has on the last as judged.
  void relieve(const Vec3& at_mm, Zone zone, double room_mm, double sigma_mm);
  /// Nowhere near a marked spot or a bony point.
  void take_down(const ZoneVerdict& zone);
  /// Less is taken down everywhere, when a zone has lost what it could not spare.
  void take_down_less();

  const std::vector<LastChange>& changes() const { return changes_; }
  bool has_new_changes() const;  ///< since `look_at`

 private:
  using Members = std::vector<std::size_t>;  // of the sample

  const Limits& limits(RuleId id) const { return limits_for(rule_by(rules_, id), wearer_); }
  std::vector<double> clearances_now() const;
  std::vector<ZoneClearance> zones_now() const;
  template <class Wanted>
  std::vector<Members> parts_of(Zone zone, const Wanted& wanted) const;
  void add(Zone zone, const Members& members, double height_mm, double least_mm);
  void shrink_to_fit(std::size_t first);
  bool reaches(const std::vector<Vec3>& places, const Bump& bump) const;

  const Evidence& evidence_;
  const Rules& rules_;
  Wearer wearer_;
  std::vector<Vec3> spared_, untouched_;
  SkinSample sample_;
  std::vector<LastChange> changes_, judged_;
};

}  // namespace lastroom
