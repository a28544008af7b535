#include "lastroom/foot.h"

#include "lastroom/inside.h"
#include "lastroom/measures_of.h"
#include "preparation/landmark_names.h"

namespace lastroom_v0 {
namespace {

lastroom::FootPreparation preparation_of(const FootOptions& options) {
  lastroom::FootPreparation settings;
  if (options.side) settings.side = *options.side == Side::left ? lastroom::Side::left : lastroom::Side::right;
  settings.units = unit_of(options.unit);
  settings.landmarks.heel = options.landmarks.heel;
  settings.landmarks.first_joint = options.landmarks.first_joint;
  settings.landmarks.fifth_joint = options.landmarks.fifth_joint;
  settings.landmarks.toe_tips = options.landmarks.toe_tips;
  for (const Mark& mark : options.landmarks.never_press) settings.landmarks.never_press.push_back({mark.at, mark.what});
  return settings;
}

}  // namespace

std::optional<Vector3>* landmark_called(Landmarks& landmarks, std::string_view name) {
  return lastroom::landmark_called(landmarks, name);
}

Foot::Foot(const GivenMesh& scan, const FootOptions& options)
    : inside_(made<FootInside>(options.threads, [&](FootInside& in) {
        in.settings = preparation_of(options);
        lastroom::FittingSettings settings;
        settings.foot = in.settings;
        in.ready = lastroom::ready_foot(scan.inside().file, settings);
      })) {}

Side Foot::side() const { return side_of(inside_->ready.foot.side); }
double Foot::chance_of_wrong_side() const { return inside_->ready.foot.chance_of_wrong_side; }
std::vector<Measure> Foot::measures() const { return measures_of(inside_->ready.measures); }
double Foot::joint_girth_sigma_mm() const { return inside_->ready.measures.joint_girth_sigma_mm; }
std::vector<std::string> Foot::repairs() const { return in_english(inside_->ready.foot.facts.repairs); }

}  // namespace lastroom_v0
