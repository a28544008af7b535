#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdio>

#include "commands/commands.h"
#include "commands/kept_apart.h"
#include "commands/pdf.h"
#include "commands/refusal.h"
#include "commands/stopwatch.h"
#include "error.h"
#include "files/output_folder.h"
#include "geometry/parallel.h"
#include "report/page.h"

namespace lastroom {
namespace {

/// One of the two feet: what it is called in messages and file names, and its files.
struct OneFoot {
  Side side;
  const std::vector<std::filesystem::path>& scan_and_last;
};

struct Fitted {
  Fitting fitting;
  Timing timing;
};

Fitted fitted(const OneFoot& foot, const CheckOptions& options, const Rules& rules, OutputFolder& folder) {
  Stopwatch stopwatch(options.common.quiet, fmt::format("{} foot: ", side_name(foot.side)));
  const FittingSettings settings = settings_from(options.common, foot.side);
  stopwatch.begin(Stage::read);
  MeshFile scan = read_mesh(foot.scan_and_last[0], options.common.limits);
  MeshFile last = read_mesh(foot.scan_and_last[1], options.common.limits);
  try {
    Fitting fitting = fit_foot_in_last(std::move(scan), std::move(last), rules, settings,
                                       [&](Stage stage) { stopwatch.begin(stage); });
    return {std::move(fitting), stopwatch.timing()};
  } catch (const InputError&) {
    const auto& files = foot.scan_and_last;
    leave_refusal(folder, options.output, refusal_page(files[0], files[1], settings, options.common),
                  options.common.quiet);
    throw;
  }
}

void write_pair(const std::array<Fitted, 2>& feet, const CheckOptions& options, OutputFolder& folder) {
  const CommonOptions& common = options.common;
  const Fitting &left = feet[0].fitting, &right = feet[1].fitting;
  const PairPages pages = write_pair_result(folder, "", left, right, common, {feet[0].timing, feet[1].timing});
  folder.publish();
  const Attached attached = options.mail_whole ? Attached::whole_report : Attached::client_page;
  if (!options.mail.empty())
    write_file(options.mail,
               pair_mail_draft(left, right, report_settings(common), attached,
                               options.mail_whole ? pages.report : pages.client),
               common.overwrite);
  for (const Fitting* fitting : {&left, &right})
    write_for_the_bench(*fitting, options,
                        [&](const std::filesystem::path& file) { return of_side(file, fitting->foot.side); });
  if (!options.pdf.empty()) print_pdf(options.output / "report.html", options.pdf, common.overwrite);
  if (!options.client_pdf.empty()) print_pdf(options.output / "client.html", options.client_pdf, common.overwrite);
}

}  // namespace

PairPages write_pair_result(OutputFolder& folder, const std::string& inside, const Fitting& left, const Fitting& right,
                            const CommonOptions& options, const std::array<Timing, 2>& timings) {
  const ReportSettings settings = report_settings(options);
  const Words words(settings.language, settings.lengths);
  const Page left_page = lay_out(left, settings, words), right_page = lay_out(right, settings, words);
  PairPages pages = {pair_report_html(left_page, right_page), pair_client_html(left_page, right_page)};
  folder.write(inside + "report.html", pages.report);
  folder.write(inside + "client.html", pages.client);
  for (const Page* page : {&left_page, &right_page}) {
    const Fitting& fitting = page->fitting;
    const std::string_view name = side_name(fitting.foot.side);
    folder.write(inside + fmt::format("result.{}.json", name), result_json(fitting, timings[page == &right_page]));
    folder.write(inside + fmt::format("clearance.{}.ply", name), clearance_ply(fitting));
    if (fitting.settings.assessment.wearer != Wearer::standard)
      folder.write(inside + fmt::format("referral.{}.html", name), referral_html(*page));
  }
  return pages;
}

int run_check_pair(const CheckOptions& options) {
  const CommonOptions& common = options.common;
  set_thread_limit(common.threads);
  keep_apart(inputs_of(options), outputs_of(options));
  OutputFolder folder(options.output, common.overwrite);  // first: no long work for a folder that can't be written
  const Rules rules = common.rules.empty() ? default_rules() : read_rules(common.rules);
  const std::array<Fitted, 2> feet = {fitted({Side::left, options.left}, options, rules, folder),
                                      fitted({Side::right, options.right}, options, rules, folder)};
  if (!common.quiet) fmt::print(stderr, "writing the report ...\n");
  write_pair(feet, options, folder);

  for (const auto& [fitting, timing] : feet)
    fmt::print("{} foot: {}", side_name(fitting.foot.side), summary_text(fitting));
  fmt::print("report: {}\n", (options.output / "report.html").string());
  bool judged = true;
  for (const auto& [fitting, timing] : feet) {
    if (fitting.assessment.verdict != Verdict::none) continue;
    const std::vector<Finding>& findings = fitting.assessment.findings;
    fmt::print(stderr, "lastroom: no verdict for the {} foot. {}\n", side_name(fitting.foot.side),
               findings.empty() ? "" : english(findings.front().advice));
    judged = false;
  }
  if (!judged) return 4;
  const Verdict worst = std::max(feet[0].fitting.assessment.verdict, feet[1].fitting.assessment.verdict);
  return options.fail_on && worst >= *options.fail_on ? 1 : 0;
}

}  // namespace lastroom
