#include <fmt/format.h>

#include "commands/commands.h"
#include "demo/scenario.h"
#include "files/output_folder.h"
#include "geometry/parallel.h"

namespace lastroom {

int run_demo(const DemoOptions& options) {
  set_thread_limit(options.common.threads);
  if (!options.common.quiet) fmt::print(stderr, "making the demo's feet and lasts ...\n");
  OutputFolder folder(options.output, options.common.overwrite);
  for (const DemoFile& file : demo_files()) folder.write(file.name, file.bytes);
  folder.publish();

  for (const DemoPair& pair : demo_pairs()) {  // from here on the files are any user's files
    CheckOptions check;
    check.common = options.common;
    check.common.client = kDemoClient;
    check.common.wearer = Wearer::standard;  // every scenario's client is invented, and healthy
    check.common.quiet = true;
    check.scan = options.output / pair.scan_file;
    check.last = options.output / pair.last_file;
    check.output = options.output / pair.name;
    const Fitting fitting = check_and_write(check);
    fmt::print("{}: {}\n{}report: {}\n\n", pair.name, pair.what_it_shows, summary_text(fitting),
               (check.output / "report.html").string());
  }
  return 0;
}

}  // namespace lastroom
