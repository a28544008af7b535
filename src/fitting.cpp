#include "fitting.h"

#include <malloc.h>

#include <chrono>
#include <utility>

#include "geometry/parallel.h"
#include "preparation/other_body.h"

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

/// What a stage has freed goes back to the system instead of lying in pieces beside what the next one takes: a fifth of
/// the peak on a scan of a million triangles.
void give_back_memory() {
#ifdef __GLIBC__
  ::malloc_trim(0);
#endif
}

void tell_first(const std::optional<std::string>& doubt, InputFacts& facts) {
  if (doubt) facts.repairs.insert(facts.repairs.begin(), "Look at this first: " + *doubt + ".");
}

}  // namespace

ReadyFoot ready_foot(MeshFile scan, const FittingSettings& settings) {
  ReadyFoot ready;
  ready.foot = prepare_foot(std::move(scan), settings.foot);
  tell_first(doubt_of_a_foot(ready.foot), ready.foot.facts);
  ready.measures = measure_foot(ready.foot);
  ready.skin = map_skin(ready.foot);
  return ready;
}

ReadyLast ready_last(MeshFile file, const FittingSettings& settings) {
  ReadyLast ready;
  ready.last = prepare_last(std::move(file), settings.last);
  tell_first(doubt_of_a_last(ready.last), ready.last.facts);
  ready.measures = measure_last(ready.last);
  ready.boxes = hierarchy_boxes(ready.last.mesh);
  return ready;
}

Fitting fit_foot_in_last(MeshFile scan, MeshFile last_file, const Rules& rules, const FittingSettings& settings,
                         const Progress& progress) {
  StopWatch watch;
  progress("cleaning and measuring foot and last");
  ReadyFoot foot;
  ReadyLast last;
  side_by_side([&] { foot = ready_foot(std::move(scan), settings); },
               [&] { last = ready_last(std::move(last_file), settings); });
  const double prepare_s = watch.lap_s();
  Fitting fitting = fit_foot_in_last(std::move(foot), std::move(last), rules, settings, progress);
  fitting.timing.prepare_s += prepare_s;
  return fitting;
}

Fitting fit_foot_in_last(ReadyFoot ready_foot, ReadyLast ready_last, const Rules& rules,
                         const FittingSettings& settings, const Progress& progress) {
  StopWatch watch;
  Timing timing;
  auto& [foot, foot_measures, skin] = ready_foot;
  auto& [last, last_measures, boxes] = ready_last;
  if (const Side before = last.side; before != foot.side) {
    last = taken_for(foot.side, std::move(last));
    if (last.side != before) {  // it was straight and is now the other one
      last_measures = measure_last(last);
      boxes = hierarchy_boxes(last.mesh);
    }
  }
  give_back_memory();
  timing.prepare_s = watch.lap_s();

  progress("standing the foot in the last");
  const auto last_surface = SignedDistance::looking_at(last.mesh, std::move(boxes));
  Registration registration =
      register_foot_in_last(foot, foot_measures, skin, last, last_surface, settings.registration);
  give_back_memory();
  timing.register_s = watch.lap_s();

  progress("measuring the room at every point of the skin");
  ClearanceField clearance =
      clearance_between(foot, registration, foot_measures.length_mm, last_surface, settings.registration, last.top);
  ToeRoom toes = toe_room(foot, skin, clearance, last);
  timing.clearance_s = watch.lap_s();

  progress("judging");
  Assessment assessment =
      assess({foot, last, foot_measures, last_measures, skin, registration, clearance, toes, last_surface}, rules,
             settings.assessment);
  give_back_memory();
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
