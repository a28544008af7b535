#include "report/compare.h"

#include <fmt/format.h>

#include "commands/commands.h"
#include "commands/kept_apart.h"
#include "error.h"
#include "files/input_file.h"
#include "files/output_folder.h"
#include "geometry/parallel.h"

namespace lastroom {
namespace {

namespace fs = std::filesystem;

/// A result folder, or one foot's part of a folder with both (`side`).
FittedResult read_result(const fs::path& folder, const ReadLimits& limits) {
  constexpr std::uint64_t kLargestJson = 50'000'000;
  if (!fs::is_directory(folder))
    throw InputError(shown_name(folder) + ": is no folder; give the output folder of: lastroom check");
  if (!fs::exists(folder / "result.json") && fs::exists(folder / "result.left.json"))
    throw InputError(shown_name(folder) + ": holds both feet; check each foot on its own to compare them");
  const FileBytes json = read_bytes(folder / "result.json", kLargestJson);
  const FileBytes skin = read_bytes(folder / "clearance.ply", limits.largest_file_bytes);
  return {shown_name(folder),
          {json.data.get(), json.size},
          parse_clearance_ply(skin.bytes(), shown_name(folder) + "/clearance.ply")};
}

}  // namespace

int run_compare(const CompareOptions& options) {
  const CommonOptions& common = options.common;
  set_thread_limit(common.threads);
  keep_apart({options.first, options.second}, {options.output});
  OutputFolder folder(options.output, common.overwrite);
  const Comparison comparison =
      compare(read_result(options.first, common.limits), read_result(options.second, common.limits));
  folder.write("compare.html", compare_html(comparison, report_settings(common)));
  folder.write("compare.json", compare_json(comparison));
  folder.publish();
  for (const ZoneChange change : {ZoneChange::better, ZoneChange::worse, ZoneChange::roomier, ZoneChange::tighter}) {
    std::string zones;
    for (const ZonePair& zone : comparison.zones)
      if (zone.difference_mm && zone.change == change)
        zones += fmt::format("{}{} {:+.1f} mm", zones.empty() ? "" : ", ", zone_name(zone.zone), *zone.difference_mm);
    if (!zones.empty()) fmt::print("{}: {}\n", change_name(change), zones);
  }
  fmt::print("comparison: {}\n", (options.output / "compare.html").string());
  return 0;
}

}  // namespace lastroom
