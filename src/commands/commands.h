#pragma once

#include <array>
#include <functional>

#include "commands/options.h"
#include "files/output_folder.h"
#include "report/shelf.h"

namespace lastroom {

/// Each runs one command and returns its exit status (contract: 0, 1 or 4); input and output errors are thrown.
int run_check(const CheckOptions& options);
int run_measure(const MeasureOptions& options);
int run_screen(const ScreenOptions& options);
int run_shelf(const ShelfOptions& options);
int run_compare(const CompareOptions& options);
int run_batch(const BatchOptions& options);
int run_demo(const DemoOptions& options);

/// The same for both feet of a client: one report, and a result and a clearance of each foot.
int run_check_pair(const CheckOptions& options);

/// Every file that it reads, and every file and folder that it writes; some names may be empty.
std::vector<std::filesystem::path> inputs_of(const CheckOptions& options);
std::vector<std::filesystem::path> outputs_of(const CheckOptions& options);
std::vector<std::filesystem::path> inputs_of(const ScreenOptions& options);

/// The options as the stages want them; reads the landmarks file.
/// Of two feet each has its side, and its own landmarks in the file.
FittingSettings settings_from(const CommonOptions& options, std::optional<Side> of_two_feet = {});

/// Where a file of one of two feet goes: "toes.svg" -> "toes.left.svg".
std::filesystem::path of_side(std::filesystem::path file, Side side);
/// Template, changes and corrected last, where they are named: of one of two feet `named` tells each file's own name.
void write_for_the_bench(const Fitting& fitting, const CheckOptions& options,
                         const std::function<std::filesystem::path(const std::filesystem::path&)>& named);

/// How pages are written; reads the letterhead.
ReportSettings report_settings(const CommonOptions& options);

/// One whole check, shared by the commands: reads, fits, writes report.html, client.html, result.json and
/// clearance.ply.
Fitting check_and_write(const CheckOptions& options);

/// One whole screening, shared by the commands: writes shelf.html, .csv and .json and the reports of the best.
struct ScreenResult {
  std::vector<ShelfRow> rows;  ///< ranked
  ShelfHead head;
};
ScreenResult screen_and_write(const ScreenOptions& options);

/// Names everything that a result depends on beside the last: options, rules, landmarks, scan, program.
std::string run_name(const CommonOptions& options, const std::string& scan_sha256, const Rules& rules);

/// Writes report.html, client.html, clearance.ply and result.json into `inside` of the folder ("" or "best/01-...");
/// gives the page. No time is told: the same bytes every time.
std::string write_result(OutputFolder& folder, const std::string& inside, const Fitting& fitting,
                         const CommonOptions& options);

/// The same for both feet: one report and one client's page, and the other files of each foot.
struct PairPages {
  std::string report, client;
};
PairPages write_pair_result(OutputFolder& folder, const std::string& inside, const Fitting& left, const Fitting& right,
                            const CommonOptions& options, const std::array<Timing, 2>& timings = {});

/// Both feet on one shelf: pairs of lasts, ranked by the foot that is worse off. Writes shelf.html, .csv and .json and
/// the reports of the best pairs.
ScreenResult screen_pair_and_write(const ScreenOptions& options);

/// The verdict and its three gravest reasons, for stdout.
std::string summary_text(const Fitting& fitting);

}  // namespace lastroom
