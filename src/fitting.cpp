#include "fitting.h"

#include <chrono>
#include <utility>

#include "geometry/parallel.h"

namespace lastroom {
namespace {

/// Seconds since the last call.
class StopWatch {
 public:
  double lap_s() {
    const auto now = std::chrono::steady_clock::now();
    return std::chrono::duration<double>(now - std::exchange(start_, now)).count();
  }

 private:
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
};

}  // namespace

Fitting fit_foot_in_last(MeshFile scan, MeshFile last_file, const Rules& rules, const FittingSettings& settings,
                         const Progress& progress) {
  StopWatch watch;
  Timing timing;

  progress("cleaning and measuring foot and last");
  Foot foot;
  FootMeasures foot_measures;
  SkinMap skin;
  Last last;
  side_by_side(
      [&] {
        foot = prepare_foot(std::move(scan), settings.foot);
        foot_measures = measure_foot(foot);
        skin = map_skin(foot);
      },
      [&] { last = prepare_last(std::move(last_file), settings.last); });
  last = taken_for(foot.side, std::move(last));
  LastMeasures last_measures = measure_last(last);
  timing.prepare_s = watch.lap_s();

  progress("standing the foot in the last");
  const auto last_surface = SignedDistance::looking_at(last.mesh);
  Registration registration =
      register_foot_in_last(foot, foot_measures, skin, last, last_measures, last_surface, settings.registration);
  timing.register_s = watch.lap_s();

  progress("measuring the room at every point of the skin");
  ClearanceField clearance =
      with_toe_ends(clearance_between(foot, registration, foot_measures.length_mm, last_surface, settings.registration),
                    foot, skin, registration, foot_measures.length_mm, last);
  ToeRoom toes = toe_room(foot, skin, clearance, last);
  timing.clearance_s = watch.lap_s();

  progress("judging");
  Assessment assessment =
      assess({foot, last, foot_measures, last_measures, skin, registration, clearance, toes, last_surface}, rules,
             settings.assessment);
  timing.assess_s = watch.lap_s();

  return {settings,
          rules,
          std::move(foot),
          std::move(last),
          std::move(foot_measures),
          std::move(last_measures),
          std::move(skin),
          std::move(registration),
          std::move(clearance),
          std::move(toes),
          std::move(assessment),
          timing};
}

}  // namespace lastroom
