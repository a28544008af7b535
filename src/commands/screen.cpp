#include <fmt/format.h>

#include <algorithm>

#include "commands/commands.h"
#include "commands/landmarks_file.h"
#include "error.h"
#include "geometry/parallel.h"
#include "mesh_io/output_folder.h"
#include "report/shelf.h"

namespace lastroom {
namespace {

std::vector<std::filesystem::path> lasts_of(const ScreenOptions& options) {
  if (options.shelf.empty()) return options.lasts;
  std::error_code problem;
  std::vector<std::filesystem::path> lasts;
  for (const auto& entry : std::filesystem::directory_iterator(options.shelf, problem))
    if (entry.is_regular_file() && entry.path().filename().string().front() != '.') lasts.push_back(entry.path());
  if (problem)
    throw InputError(
        fmt::format("{}: this shelf can't be opened; give a folder of lasts", options.shelf.filename().string()));
  if (lasts.empty())
    throw InputError(fmt::format("{}: no file lies on this shelf; put the meshes of lasts into it",
                                 options.shelf.filename().string()));
  std::sort(lasts.begin(), lasts.end());
  return lasts;
}

}  // namespace

int run_screen(const ScreenOptions& options) {
  set_thread_limit(options.common.threads);
  OutputFolder folder(options.output, options.common.overwrite);
  const FittingSettings settings = settings_from(options.common);
  const Rules rules = options.common.rules.empty() ? default_rules() : read_rules(options.common.rules);
  const MeshFile scan = read_mesh(options.scan, options.common.limits);
  prepare_foot(scan, settings.foot);  // a scan that can't be used stops the work here, not at every last

  std::vector<ShelfRow> rows;
  const std::vector<std::filesystem::path> lasts = lasts_of(options);
  for (std::size_t i = 0; i < lasts.size(); ++i) {
    if (!options.common.quiet) fmt::print(stderr, "{} of {}: {}\n", i + 1, lasts.size(), lasts[i].filename().string());
    try {
      rows.push_back(shelf_row(fit_foot_in_last(scan, read_mesh(lasts[i], options.common.limits), rules, settings)));
    } catch (const InputError& error) {
      ShelfRow unusable;
      unusable.file = lasts[i].filename().string();
      unusable.problem = error.what();
      rows.push_back(std::move(unusable));
    }
  }
  rank(rows);
  folder.write("shelf.csv", shelf_csv(rows));
  folder.write("shelf.json", shelf_json(rows));
  folder.write("shelf.html", shelf_html(rows, scan.name));
  folder.publish();
  for (const ShelfRow& row : rows) fmt::print("{:<8}{}\n", verdict_name(row.verdict), row.file);
  fmt::print("ranking: {}\n", (options.output / "shelf.html").string());
  return 0;
}

}  // namespace lastroom
