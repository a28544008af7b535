#include "lastroom/fit.h"

#include <cmath>
#include <limits>

#include "check_bytes.h"
#include "lastroom/inside.h"
#include "report/worn.h"

namespace lastroom_v0 {
namespace {

void hold(const char* name, double value, double least, double most) {
  if (!(value >= least && value <= most))
    throw std::invalid_argument(std::string("lastroom: ") + name + " must lie from " + std::to_string(least) + " to " +
                                std::to_string(most));
}

/// As `settings_from` of the command line has them.
lastroom::FittingSettings settings_of(const FitOptions& options) {
  hold("sock_mm", options.sock_mm, 0.0, 20.0);
  hold("scan_error_mm", options.scan_error_mm, 0.1, 10.0);
  if (options.tape_joint_mm) hold("tape_joint_mm", *options.tape_joint_mm, 100.0, 400.0);
  lastroom::FittingSettings settings;
  settings.registration.sock_mm = options.sock_mm;
  settings.assessment.scan_load = static_cast<lastroom::ScanLoad>(options.scan_load);
  static_assert(static_cast<int>(ScanLoad::half) == static_cast<int>(lastroom::ScanLoad::half) &&
                static_cast<int>(ScanLoad::none) == static_cast<int>(lastroom::ScanLoad::none));
  settings.registration.scan_error_mm = lastroom::scan_error_mm(settings.assessment.scan_load, options.scan_error_mm);
  settings.assessment.wearer = static_cast<lastroom::Wearer>(options.wearer);
  settings.assessment.tape_joint_mm = options.tape_joint_mm;
  settings.day = options.day;
  return settings;
}

}  // namespace

std::vector<std::string> languages() { return lastroom::report_languages(); }

Fit::Fit(std::shared_ptr<const FitInside> inside)
    : inside_(std::move(inside)), result_(std::make_shared<Result>(result_of(inside_->fitting))) {}

PosedSkin Fit::skin() const {
  const lastroom::Fitting& fitting = inside_->fitting;
  const lastroom::ClearanceField& field = fitting.clearance;
  lastroom::Mesh mesh = lastroom::worn_skin(fitting).mesh.copy();
  PosedSkin skin{{std::move(mesh.vertices), std::move(mesh.triangles)}, field.clearance_mm, field.sigma_mm};
  const bool placed = fitting.assessment.verdict != lastroom::Verdict::none;
  for (std::size_t v = 0; v < skin.clearance_mm.size(); ++v)
    if (!placed || !lastroom::is_judged(field, fitting.skin, v))
      skin.clearance_mm[v] = skin.sigma_mm[v] = std::numeric_limits<double>::quiet_NaN();
  return skin;
}

std::string Fit::result_json() const { return lastroom::result_json(inside_->fitting); }

std::vector<std::pair<std::string, std::string>> Fit::pages(const PageOptions& options) const {
  lastroom::ReportSettings settings{options.client, options.date, options.language};
  if (options.inches) settings.lengths = lastroom::Lengths::inches;
  if (options.letter) settings.paper = lastroom::Paper::letter;
  return lastroom::files_of(inside_->fitting, settings);
}

Fit fit(const Foot& foot, const Last& last, const Rules& rules, const FitOptions& options) {
  lastroom::FittingSettings settings = settings_of(options);
  settings.foot = foot.inside().settings;
  settings.last = last.inside().settings;
  return Fit(made<FitInside>(options.threads, [&](FitInside& in) {
    in.fitting = lastroom::fit_foot_in_last(foot.inside().ready, last.inside().ready, rules.inside().rules, settings);
  }));
}

}  // namespace lastroom_v0
