#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>

#include "commands/commands.h"
#include "commands/kept_apart.h"
#include "commands/pdf.h"
#include "commands/refusal.h"
#include "error.h"
#include "geometry/parallel.h"
#include "mesh_io/output_folder.h"
#include "report/outputs.h"

namespace lastroom {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) { return std::chrono::duration<double>(Clock::now() - start).count(); }

/// One of the two feet: what it is called in messages and file names, and its files.
struct OneFoot {
  Side side;
  const std::vector<std::filesystem::path>& scan_and_last;
};

Fitting fitted(const OneFoot& foot, const CheckOptions& options, const Rules& rules, OutputFolder& folder) {
  const auto start = Clock::now();
  const std::string_view name = side_name(foot.side);
  const auto progress = [&](std::string_view stage) {
    if (!options.common.quiet) fmt::print(stderr, "{} foot: {} ...\n", name, stage);
  };
  FittingSettings settings = settings_from(options.common);
  settings.foot.side = foot.side;
  progress("reading");
  MeshFile scan = read_mesh(foot.scan_and_last[0], options.common.limits);
  MeshFile last = read_mesh(foot.scan_and_last[1], options.common.limits);
  const double read_s = seconds_since(start);
  Fitting fitting;
  try {
    fitting = fit_foot_in_last(std::move(scan), std::move(last), rules, settings, progress);
  } catch (const InputError&) {
    const auto& files = foot.scan_and_last;
    leave_refusal(folder, options.output, refusal_page(files[0], files[1], settings, options.common),
                  options.common.quiet);
    throw;
  }
  fitting.timing.read_s = read_s;
  fitting.timing.total_s = seconds_since(start);
  return fitting;
}

}  // namespace

int run_check_pair(const CheckOptions& options) {
  const CommonOptions& common = options.common;
  set_thread_limit(common.threads);
  keep_apart(inputs_of(options), outputs_of(options));
  OutputFolder folder(options.output, common.overwrite);  // first: no long work for a folder that can't be written
  const Rules rules = common.rules.empty() ? default_rules() : read_rules(common.rules);
  const std::array<Fitting, 2> feet = {fitted({Side::left, options.left}, options, rules, folder),
                                       fitted({Side::right, options.right}, options, rules, folder)};
  if (!common.quiet) fmt::print(stderr, "writing the report ...\n");
  folder.write("report.html", pair_report_html(feet[0], feet[1], report_settings(common)));
  for (const Fitting& fitting : feet) {
    const std::string_view name = side_name(fitting.foot.side);
    folder.write(fmt::format("result.{}.json", name), result_json(fitting));
    folder.write(fmt::format("clearance.{}.ply", name), clearance_ply(fitting));
  }
  folder.publish();
  if (!options.pdf.empty()) print_pdf(options.output / "report.html", options.pdf, common.overwrite);

  for (const Fitting& fitting : feet) fmt::print("{} foot: {}", side_name(fitting.foot.side), summary_text(fitting));
  fmt::print("report: {}\n", (options.output / "report.html").string());
  bool judged = true;
  for (const Fitting& fitting : feet) {
    if (fitting.assessment.verdict != Verdict::none) continue;
    const std::vector<Finding>& findings = fitting.assessment.findings;
    fmt::print(stderr, "lastroom: no verdict for the {} foot. {}\n", side_name(fitting.foot.side),
               findings.empty() ? "" : english(findings.front().advice));
    judged = false;
  }
  if (!judged) return 4;
  const Verdict worst = std::max(feet[0].assessment.verdict, feet[1].assessment.verdict);
  return options.fail_on && worst >= *options.fail_on ? 1 : 0;
}

}  // namespace lastroom
