#pragma once

#include <functional>
#include <variant>

#include "assessment/day.h"
#include "measurement/ready_last.h"

namespace lastroom {

struct FittingSettings {
  FootPreparation foot;
  LastPreparation last;
  RegistrationSettings registration;
  AssessmentSettings assessment;  ///< as told; those in force stand in the Fitting
  bool day = false;               ///< whether the foot is judged through a day too
};

/// The settings in force: a mark whose words tell of a wound, an ulcer, an amputation, a Charcot foot or lost feeling
/// makes the wearer one at risk, whatever was said.
AssessmentSettings in_force(AssessmentSettings told, const std::vector<MarkedSpot>& marks);

/// One foot judged in one last: everything the outputs are written from. All geometry in right form; outputs turn it
/// back with `as_worn(foot.side, ...)`.
struct Fitting {
  FittingSettings settings;
  Rules rules;
  Foot foot;
  Last last;
  FootMeasures foot_measures;
  LastMeasures last_measures;
  SkinMap skin;
  Registration registration;
  ClearanceField clearance;
  ToeRoom toe_room;
  Assessment assessment;
  std::optional<Day> day;
};

/// How far a check is. Reading and writing are the callers'.
enum class Stage : std::uint8_t { read, prepare, stand, measure_room, judge, write };
constexpr std::size_t kStageCount = 6;
/// Called as each stage begins.
using Progress = std::function<void(Stage)>;

/// The whole flow on one page; no file is touched. Throws InputError when scan or last can't be used, and
/// std::invalid_argument for settings that nobody can mean.
Fitting fit_foot_in_last(
    MeshFile scan, MeshFile last, const Rules& rules, const FittingSettings& settings,
    const Progress& progress = [](Stage) {});

/// A foot as far as it can be taken without a last: many lasts are tried for one foot, and a last for many feet.
struct ReadyFoot {
  Foot foot;
  FootMeasures measures;
  SkinMap skin;
};
ReadyFoot ready_foot(MeshFile scan, const FittingSettings& settings);
ReadyLast ready_last(MeshFile file, const FittingSettings& settings);

/// What was refused as a foot or as a last: why, and what its file holds as far as it could be cleaned.
struct Refused {
  std::string file;
  Message why;
  Mesh mesh;                          ///< in the file's frame, turned outward where that was possible
  std::optional<double> mm_per_unit;  ///< of `mesh`; nothing where its unit could not be told
};
/// The same as `ready_foot` and `ready_last`, for who wants to look at what is refused.
std::variant<ReadyFoot, Refused> given_foot(const MeshFile& scan, const FittingSettings& settings);
std::variant<ReadyLast, Refused> given_last(const MeshFile& file, const FittingSettings& settings);

Fitting fit_foot_in_last(
    ReadyFoot foot, ReadyLast last, const Rules& rules, const FittingSettings& settings,
    const Progress& progress = [](Stage) {});

}  // namespace lastroom
