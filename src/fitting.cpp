#include "fitting.h"

#include <chrono>
#include <utility>

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

Fitting fit_foot_in_last(const MeshFile& scan, const MeshFile& last_file, const Rules& rules,
                         const FittingSettings& settings, const Progress& progress) {
  StopWatch watch;
  Timing timing;

  progress("cleaning and measuring foot and last");
  Foot foot = prepare_foot(scan, settings.foot);
  Last last = prepare_last(last_file, settings.last);
  FootMeasures foot_measures = measure_foot(foot);
  LastMeasures last_measures = measure_last(last);
  SkinMap skin = map_skin(foot);
  timing.prepare_s = watch.lap_s();

  progress("standing the foot in the last");
  const SignedDistance last_surface(last.mesh);
  Registration registration =
      register_foot_in_last(foot, foot_measures, last, last_measures, last_surface, settings.registration);
  timing.register_s = watch.lap_s();

  progress("measuring the room at every point of the skin");
  ClearanceField clearance =
      clearance_between(foot, registration, foot_measures.length_mm, last_surface, settings.registration);
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
