#include "commands/refusal.h"

#include <fmt/format.h>

#include <cstdio>
#include <new>

#include "commands/commands.h"
#include "error.h"
#include "report/outputs.h"

namespace lastroom {

std::string refusal_page(const std::filesystem::path& scan, const std::filesystem::path& last,
                         const FittingSettings& settings, const CommonOptions& options) try {
  return refusal_html(given_foot(read_mesh(scan, options.limits), settings),
                      given_last(read_mesh(last, options.limits), settings), report_settings(options));
} catch (const InputError&) {
  return {};
} catch (const std::bad_alloc&) {
  return {};
}

void leave_refusal(OutputFolder& folder, const std::filesystem::path& shown_as, const std::string& page,
                   bool quiet) try {
  if (page.empty()) return;
  folder.refuse_with(page);
  if (!quiet) fmt::print(stderr, "what was read is drawn in {}\n", (shown_as / "refusal.html").string());
} catch (const OutputError&) {
}

}  // namespace lastroom
