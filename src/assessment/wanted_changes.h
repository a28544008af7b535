#pragma once

#include "assessment/change_shape.h"
#include "assessment/judgement.h"

namespace lastroom {

/// A place of the last that is to be moved, and for which zone of the foot.
struct WantedAt {
  Wanted place;
  Zone zone = Zone::none;
};
std::vector<Wanted> places_of(const std::vector<WantedAt>& wanted);

struct WantedChanges {
  std::vector<WantedAt> up;
  double longer_mm = 0.0;
  std::vector<Wanted> places() const { return places_of(up); }
};

/// What is lacking where a foot that stands so in `last` is pinched: at every point of skin, to the least that is
/// clear, but nowhere more than the judged measure lacks. `last` has the vertices of `evidence.last`.
WantedChanges wanted_changes(const Evidence& evidence, const Judgement& judgement, const ClearanceField& field,
                             const ToeRoom& toes, const Last& last, const Rules& rules,
                             const AssessmentSettings& settings);

/// What there is too much of where it is slack.
std::vector<WantedAt> wanted_down(const Evidence& evidence, const Judgement& judgement, const ClearanceField& field,
                                  const Last& last, const Rules& rules, const AssessmentSettings& settings);

/// Of everything that pinches.
std::vector<Lacking> lacking_of(const Judgement& judgement, const Rules& rules, Wearer wearer);

}  // namespace lastroom
