#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "assessment/rules.h"
#include "preparation/side.h"

namespace lastroom {

/// A foot of a job: its scan, and its last unless the job has a shelf.
struct JobFoot {
  std::string scan, last;
};

/// One line of a list of jobs: one foot, or a left and a right one, and the lasts or the shelf of lasts to try them in.
struct Job {
  std::size_t number = 0;  ///< 1, 2 ... in the order of the file
  std::vector<JobFoot> feet;
  std::string shelf, client, landmarks;
  std::optional<Side> side;  ///< of one foot
  std::optional<Wearer> wearer;
};

/// A CSV (RFC 4180; a byte order mark and either kind of line end are accepted) whose first line names the columns, in
/// any order: scan, last, left_scan, left_last, right_scan, right_last, shelf, landmarks, side, wearer, client. Throws
/// InputError that names file and line.
std::vector<Job> read_jobs(const std::filesystem::path& file);
/// The same from the file's text; `name` stands in front of an error.
std::vector<Job> parse_jobs(std::string_view text, const std::string& name);

}  // namespace lastroom
