#include "fitting.h"

#include <optional>
#include <stdexcept>
#include <utility>

#include "error.h"
#include "geometry/parallel.h"
#include "preparation/foot_cleaning.h"
#include "preparation/last_cleaning.h"
#include "preparation/other_body.h"
#include "words/mark_meaning.h"

namespace lastroom {
namespace {

/// The last taken for the foot's side; measured again where it was straight and is then the other one.
ReadyLast for_side(Side side, ReadyLast ready) {
  const Side before = ready.last.side;
  if (before == side) return ready;
  ready.last = taken_for(side, std::move(ready.last));
  if (ready.last.side != before) {
    ready.measures = measure_last(ready.last);
    ready.boxes = distance_boxes(ready.last.mesh);
  }
  return ready;
}

/// Each door refuses other numbers in words of its own; here so that no search below is ever begun with one.
void hold(const FittingSettings& settings) {
  const auto hold_mm = [](double value, double least, double most) {
    if (!(value >= least && value <= most)) throw std::invalid_argument("a setting of the fitting is out of range");
  };
  hold_mm(settings.registration.sock_mm, 0.0, 20.0);
  hold_mm(settings.registration.scan_error_mm, 0.1, scan_error_mm(ScanLoad::none, 10.0));
  hold_mm(settings.assessment.tape_joint_mm.value_or(100.0), 100.0, 400.0);
}

void tell_first(const std::optional<Message>& doubt, InputFacts& facts) {
  if (doubt) facts.repairs.insert(facts.repairs.begin(), {"repair.look_first", {{"doubt", *doubt}}});
}

/// What is left of a refused mesh once it is cleaned; the mesh itself where that is refused too.
template <class Clean>
Mesh as_cleaned(const Mesh& mesh, Clean clean) {
  try {
    if (!mesh.triangles.empty()) return clean();
  } catch (const InputError&) {  // the reason is known already
  }
  return mesh;
}

}  // namespace

AssessmentSettings in_force(AssessmentSettings told, const std::vector<MarkedSpot>& marks) {
  for (const MarkedSpot& mark : marks) {
    const std::string_view risk = risk_in_mark(mark.what);
    if (risk.empty() || told.wearer == Wearer::at_risk) continue;
    told.wearer = Wearer::at_risk;
    told.wearer_reason = {"wearer.by_mark",
                          {{"what", UserText{mark.what}}, {"risk", Message{"mark." + std::string(risk)}}}};
  }
  return told;
}

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
  refuse_shoe(ready.last);
  tell_first(doubt_of_a_last(ready.last), ready.last.facts);
  ready.measures = measure_last(ready.last);
  ready.boxes = distance_boxes(ready.last.mesh);
  return ready;
}

std::variant<ReadyFoot, Refused> given_foot(const MeshFile& scan, const FittingSettings& settings) {
  try {
    return ready_foot(scan, settings);
  } catch (const InputError& error) {
    std::optional<double> mm;
    if (settings.foot.units) mm = mm_per(*settings.foot.units);
    return Refused{scan.name, error.message,
                   as_cleaned(scan.mesh, [&] { return clean_scan(scan.mesh, scan.name).mesh; }), mm};
  }
}

std::variant<ReadyLast, Refused> given_last(const MeshFile& file, const FittingSettings& settings) {
  try {
    return ready_last(file, settings);
  } catch (const InputError& error) {
    Refused refused{file.name, error.message, {}, {}};
    refused.mesh = as_cleaned(file.mesh, [&] {
      InputFacts facts;
      Mesh cleaned = clean_last(file, file.mesh, settings.last, facts).mesh;
      refused.mm_per_unit = 1.0;
      return cleaned;
    });
    return refused;
  }
}

Fitting fit_foot_in_last(MeshFile scan, MeshFile last_file, const Rules& rules, const FittingSettings& settings,
                         const Progress& progress) {
  progress(Stage::prepare);
  ReadyFoot foot;
  ReadyLast last;
  side_by_side([&] { foot = ready_foot(std::move(scan), settings); },
               [&] { last = ready_last(std::move(last_file), settings); });
  return fit_foot_in_last(std::move(foot), std::move(last), rules, settings, progress);
}

Fitting fit_foot_in_last(ReadyFoot ready_foot, ReadyLast ready_last, const Rules& rules,
                         const FittingSettings& settings, const Progress& progress) {
  hold(settings);
  Fitting f;
  f.settings = settings;
  f.settings.assessment = in_force(settings.assessment, ready_foot.foot.landmarks.never_press);
  f.rules = rules;
  ready_last = for_side(ready_foot.foot.side, std::move(ready_last));
  f.foot = std::move(ready_foot.foot);
  f.foot_measures = std::move(ready_foot.measures);
  f.skin = std::move(ready_foot.skin);
  f.last = std::move(ready_last.last);
  f.last_measures = std::move(ready_last.measures);

  progress(Stage::stand);
  const SignedDistance last_surface = SignedDistance::looking_at(f.last.mesh, ready_last.boxes);
  f.registration = register_foot_in_last(f.foot, f.skin, f.last, last_surface, settings.registration);

  progress(Stage::measure_room);
  f.clearance = clearance_between(f.foot, f.registration, last_surface, settings.registration, f.last.top);
  f.toe_room = toe_room(f.foot, f.skin, f.clearance, f.last);

  progress(Stage::judge);
  const Settle settle = [&](const Last& changed, const SignedDistance& surface) {
    return settled_again(f.foot, f.skin, changed, surface, f.registration, settings.registration);
  };
  const Evidence evidence{f.foot,         f.last,      f.foot_measures, f.last_measures, f.skin,
                          f.registration, f.clearance, f.toe_room,      last_surface};
  f.assessment = assess(evidence, rules, f.settings.assessment, settle);
  if (settings.day) f.day = day_in_the_shoe(evidence, f.assessment, rules, f.settings.assessment);
  return f;
}

}  // namespace lastroom
