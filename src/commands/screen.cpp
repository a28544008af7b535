#include <fmt/format.h>

#include <algorithm>

#include "build_name.h"
#include "commands/kept_apart.h"
#include "commands/letterhead_file.h"
#include "commands/progress_bar.h"
#include "commands/screening_run.h"
#include "digest/digest.h"
#include "files/input_file.h"
#include "files/output_folder.h"
#include "geometry/parallel.h"
#include "preparation/other_body.h"
#include "report/shelf.h"
#include "words/words.h"

namespace lastroom {

namespace fs = std::filesystem;
using Json = nlohmann::json;

std::string run_name(const CommonOptions& options, const std::string& scan_sha256, const Rules& rules) {
  const auto file = [](const fs::path& path) {
    return path.empty() ? std::string() : sha256_of(read_bytes(path, 1'000'000).bytes());
  };
  const Json run = {{"build", build_name()},
                    {"scan", scan_sha256},
                    {"rules", rules.sha256},
                    {"rules_file", rules.file},
                    {"landmarks", file(options.landmarks)},
                    {"letterhead", file(options.letterhead)},
                    {"logo", sha256_of(report_settings(options).letterhead.logo.bytes)},
                    {"side", options.side ? side_name(*options.side) : "auto"},
                    {"scan_units", options.scan_units ? unit_name(*options.scan_units) : "auto"},
                    {"last_units", options.last_units ? unit_name(*options.last_units) : "auto"},
                    {"sock_mm", options.sock_mm},
                    {"wearer", wearer_name(options.wearer)},
                    {"scan_load", static_cast<int>(options.scan_load)},
                    {"scan_error_mm", options.scan_error_mm.value_or(-1.0)},
                    {"tape_joint_mm", options.tape_joint_mm.value_or(-1.0)},
                    {"no_day", options.no_day}};
  return sha256_of(run.dump());
}

namespace {

void check_all(Screening& run) {
  ProgressBar bar("checked", run.options.common.quiet);
  check_best_first(
      run.rows, run.options.all ? 0 : run.options.best, [&](ShelfRow& row) { check_row(run, row); },
      [&](std::size_t done, std::size_t left) { bar.show(done, left); });
  rank(run.rows);
}

/// The reports of the best; gives what is doubtful about the foot itself, which all of them say.
std::vector<Message> write_best(Screening& run, OutputFolder& folder) {
  std::vector<Message> doubts;
  std::vector<ShelfRow>& rows = run.rows;
  for (std::size_t i = 0; i < std::min(run.options.best, rows.size()) && rows[i].fate == Fate::judged; ++i) {
    const Fitting fitting = fitting_of(run, rows[i]);
    if (i == 0) doubts = doubts_about_foot(fitting.assessment);
    rows[i].report = best_folder(i + 1, rows[i].file);
    write_result(folder, rows[i].report + "/", fitting, run.options.common);
  }
  return doubts;
}

}  // namespace

std::vector<fs::path> inputs_of(const ScreenOptions& options) {
  std::vector<fs::path> inputs = {options.scan,  options.shelf,        options.index,           options.left,
                                  options.right, options.common.rules, options.common.landmarks};
  for (const fs::path& file : letterhead_files(options.common.letterhead)) inputs.push_back(file);
  inputs.insert(inputs.end(), options.lasts.begin(), options.lasts.end());
  return inputs;
}

ScreenResult screen_and_write(const ScreenOptions& options) {
  const CommonOptions& common = options.common;
  keep_apart(inputs_of(options), {options.output});
  OutputFolder folder(options.output, common.overwrite);
  FittingSettings settings = settings_from(common);
  settings.day = settings.assessment.advice = false;
  const Rules rules = common.rules.empty() ? default_rules() : read_rules(common.rules);
  MeshFile scan = read_mesh(options.scan, common.limits);
  const std::string scan_sha256 = scan.sha256;
  ReadyFoot foot = ready_foot(std::move(scan), settings);  // one that can't be used stops the work here
  const std::vector<fs::path> files = files_to_screen(options);
  const ShelfTable table = shelf_table_of(options.shelf);
  std::optional<ShelfFiles> shelf;
  open_shelf(shelf, options, settings);
  Journal journal(options.output, run_name(common, scan_sha256, rules) + (options.mirror ? "" : " unmirrored"));
  if (journal.size() > 0 && !common.quiet)
    fmt::print(stderr, "going on: {} lasts were checked before\n", journal.size());

  Screening run{options, rules, *shelf, journal, std::move(foot), settings};
  measure_shelf(run, files, table);
  check_all(run);
  for (const std::string& doubt : shelf->doubts()) fmt::print(stderr, "lastroom: {}\n", doubt);
  const std::vector<Message> doubts = write_best(run, folder);
  ShelfHead head = head_of(run, table);
  head.remarks.insert(head.remarks.begin() + (first_doubt(run.foot.foot.facts) ? 1 : 0), doubts.begin(), doubts.end());
  folder.write("shelf.csv", shelf_csv(run.rows));
  folder.write("shelf.json", shelf_json(run.rows, head));
  folder.write("shelf.html", shelf_html(run.rows, head, report_settings(common),
                                        [&](const ShelfRow& row) { return pictures_of(run, row); }));
  folder.publish();
  journal.done();
  return {std::move(run.rows), std::move(head)};
}

int run_screen(const ScreenOptions& options) {
  set_thread_limit(options.common.threads);
  const ScreenResult result = options.left.empty() ? screen_and_write(options) : screen_pair_and_write(options);
  std::size_t judged = 0;
  for (const ShelfRow& row : result.rows) {
    if (row.fate != Fate::judged) continue;
    if (++judged <= options.best)
      fmt::print("{:>3}  {:<8}{:>7.1f} mm  {}\n", judged, verdict_name(row.verdict), row.margin.mm,
                 row.file + (row.mirrored ? ", mirrored" : "") + (row.doubt.empty() ? "" : ". " + english(row.doubt)));
  }
  for (const Message& remark : result.head.remarks) fmt::print("{}\n", english(remark));
  fmt::print("{} files, {} checked in full. ranking: {}\n", result.rows.size(), judged,
             (options.output / "shelf.html").string());
  if (judged > 0) return 0;
  fmt::print(stderr, "lastroom: none of these lasts could be judged for this foot; {} tells why for each\n",
             (options.output / "shelf.html").string());
  return 4;
}

}  // namespace lastroom
