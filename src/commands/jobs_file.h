#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "assessment/rules.h"
#include "preparation/side.h"

namespace lastroom {

/// One line of a list of jobs: a scan, and the last or the shelf of lasts to try it in.
struct Job {
  std::size_t number = 0;  ///< 1, 2 ... in the order of the file
  std::string scan, last, shelf, client;
  std::optional<Side> side;
  std::optional<Wearer> wearer;
};

/// A CSV (RFC 4180; a byte order mark and either kind of line end are accepted) whose first line names the columns, in
/// any order: scan, last, shelf, side, wearer, client. Throws InputError that names file and line.
std::vector<Job> read_jobs(const std::filesystem::path& file);
/// The same from the file's text; `name` stands in front of an error.
std::vector<Job> parse_jobs(std::string_view text, const std::string& name);

}  // namespace lastroom
