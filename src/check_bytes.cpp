#include "check_bytes.h"

#include "error.h"
#include "mesh_io/mesh_bytes.h"
#include "report/page.h"

namespace lastroom {

NamedFiles files_of(const Fitting& fitting, const ReportSettings& settings, const std::function<Timing()>& timing) {
  const Words words(settings.language, settings.lengths);
  const Page page = lay_out(fitting, settings, words);
  NamedFiles files;
  files.emplace_back("report.html", report_html(page));
  files.emplace_back("client.html", client_html(page));
  if (fitting.settings.assessment.wearer != Wearer::standard) files.emplace_back("referral.html", referral_html(page));
  files.emplace_back("clearance.ply", clearance_ply(fitting));
  files.emplace_back("result.json", result_json(fitting, timing()));
  return files;
}

CheckedBytes check_bytes(const GivenBytes& scan, const GivenBytes& last, const Rules& rules,
                         const FittingSettings& settings, const ReportSettings& pages, const Progress& progress) {
  CheckedBytes checked;
  try {
    progress(Stage::read);
    MeshFile scan_file = mesh_in(scan.name, scan.bytes), last_file = mesh_in(last.name, last.bytes);
    try {
      checked.fitting = fit_foot_in_last(scan_file, last_file, rules, settings, progress);
    } catch (const InputError& error) {
      checked.refused = error.message;
      checked.files.emplace_back("refusal.html",
                                 refusal_html(given_foot(scan_file, settings), given_last(last_file, settings), pages));
      return checked;
    }
  } catch (const InputError& error) {
    checked.refused = error.message;
    return checked;
  }
  progress(Stage::write);
  checked.files = files_of(*checked.fitting, pages);
  return checked;
}

}  // namespace lastroom
