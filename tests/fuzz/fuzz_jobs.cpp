// Random bytes as a table of jobs: every job names one foot or two, each with a scan and either a last or the job's shelf,
// or the table is refused in one line. Built and run by tests/fuzz.sh.
#include <cstdint>
#include <cstdlib>
#include <cstring>

#include "commands/jobs_file.h"
#include "error.h"

using namespace lastroom;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    const std::vector<Job> jobs = parse_jobs({reinterpret_cast<const char*>(data), size}, "jobs.csv");
    if (jobs.empty()) std::abort();
    for (const Job& job : jobs) {
      if (job.feet.empty() || job.feet.size() > 2) std::abort();
      for (const JobFoot& foot : job.feet)
        if (foot.scan.empty() || foot.last.empty() == job.shelf.empty()) std::abort();
    }
  } catch (const InputError& error) {
    if (std::strchr(error.what(), '\n') != nullptr) std::abort();
  }
  return 0;
}
