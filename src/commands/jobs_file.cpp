#include "commands/jobs_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "commands/csv_table.h"
#include "error.h"
#include "files/input_file.h"

namespace lastroom {
namespace {

constexpr std::array<std::string_view, 11> kColumns = {"scan",       "last",       "left_scan", "left_last",
                                                       "right_scan", "right_last", "shelf",     "landmarks",
                                                       "side",       "wearer",     "client"};

/// The foot of the line, or its left and right one. Throws InputError when it has neither, or only a part of them.
std::vector<JobFoot> feet_of(const CsvTable& table, const CsvTable::Line& line) {
  const auto foot = [&](const std::string& of) {
    return JobFoot{table.field(line, of + "scan"), table.field(line, of + "last")};
  };
  const auto is_there = [](const JobFoot& one) { return !one.scan.empty() || !one.last.empty(); };
  const JobFoot single = foot("");
  std::vector<JobFoot> feet = {foot("left_"), foot("right_")};
  const bool pair = std::ranges::any_of(feet, is_there);
  if (pair && is_there(single)) table.fail(line.number, "names both one foot and a pair; put them on two lines");
  if (!pair) feet = {single};
  const bool on_shelf = !table.field(line, "shelf").empty();
  for (const JobFoot& one : feet) {
    if (one.scan.empty()) table.fail(line.number, pair ? "give the scans of both feet" : "names no scan");
    if (one.last.empty() == on_shelf) continue;
    table.fail(line.number, pair ? "give either the lasts of both feet or a shelf" : "give either a last or a shelf");
  }
  return feet;
}

}  // namespace

std::vector<Job> read_jobs(const std::filesystem::path& file) {
  constexpr std::uint64_t kLargest = 50'000'000;
  const FileBytes bytes = read_bytes(file, kLargest);
  return parse_jobs({bytes.data.get(), bytes.size}, shown_name(file));
}

std::vector<Job> parse_jobs(std::string_view text, const std::string& name) {
  const CsvTable table(text, name, kColumns);
  const std::string known = fmt::format("{}", fmt::join(kColumns, ", "));
  const auto has_any = [&](std::initializer_list<std::string_view> columns) {
    return std::ranges::any_of(columns, [&](std::string_view column) { return table.has(column); });
  };
  if (!has_any({"scan", "left_scan"}))
    table.fail(1, "the column 'scan' is missing; the first line names the columns: " + known);
  if (!has_any({"last", "left_last", "shelf"}))
    table.fail(1, "there is neither a column 'last' nor 'shelf'; the first line names the columns: " + known);
  std::vector<Job> jobs;
  for (const CsvTable::Line& line : table.lines()) {
    const auto fail = [&](const std::string& what) { table.fail(line.number, what); };
    const auto field = [&](const char* column) { return table.field(line, column); };
    Job job{jobs.size() + 1, feet_of(table, line), field("shelf"), field("client"), field("landmarks"), {}, {}};
    const std::string side = field("side"), wearer = field("wearer");
    if (job.feet.size() > 1 && !side.empty()) fail("a pair has both sides; leave its side empty");
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
