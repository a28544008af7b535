#include "commands/jobs_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "commands/csv_table.h"
#include "error.h"
#include "mesh_io/input_file.h"

namespace lastroom {
namespace {

constexpr std::array<std::string_view, 6> kColumns = {"scan", "last", "shelf", "side", "wearer", "client"};
}  // namespace

std::vector<Job> read_jobs(const std::filesystem::path& file) {
  constexpr std::uint64_t kLargest = 50'000'000;
  const FileBytes bytes = read_bytes(file, kLargest);
  return parse_jobs({bytes.data.get(), bytes.size}, shown_name(file));
}

std::vector<Job> parse_jobs(std::string_view text, const std::string& name) {
  const CsvTable table(text, name, kColumns);
  const std::string known = fmt::format("{}", fmt::join(kColumns, ", "));
  if (!table.has("scan")) table.fail(1, "the column 'scan' is missing; the first line names the columns: " + known);
  if (!table.has("last") && !table.has("shelf"))
    table.fail(1, "there is neither a column 'last' nor 'shelf'; the first line names the columns: " + known);
  std::vector<Job> jobs;
  for (const CsvTable::Line& line : table.lines()) {
    const auto fail = [&](const std::string& what) { table.fail(line.number, what); };
    const auto field = [&](const char* column) { return table.field(line, column); };
    Job job{jobs.size() + 1, field("scan"), field("last"), field("shelf"), field("client"), {}, {}};
    if (job.scan.empty()) fail("names no scan");
    if (job.last.empty() == job.shelf.empty()) fail("give either a last or a shelf");
    const std::string side = field("side"), wearer = field("wearer");
    if (side == "left" || side == "right")
      job.side = side == "left" ? Side::left : Side::right;
    else if (!side.empty() && side != "auto")
      fail(fmt::format("'{}' is no side; write left, right or auto", CsvTable::shown(side)));
    for (const Wearer one : {Wearer::standard, Wearer::at_risk, Wearer::unknown})
      if (wearer == wearer_name(one)) job.wearer = one;
    if (!job.wearer && !wearer.empty())
      fail(fmt::format("'{}' is no kind of wearer; write standard, at-risk or unknown", CsvTable::shown(wearer)));
    jobs.push_back(std::move(job));
  }
  if (jobs.empty()) throw InputError(name + ": names no job; put one on each line below the columns");
  return jobs;
}

}  // namespace lastroom
