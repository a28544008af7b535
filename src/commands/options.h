#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "fitting.h"
#include "report/outputs.h"

namespace lastroom {

/// What `check`, `screen` and `demo` share; every field is an option of the same name.
struct CommonOptions {
  std::optional<Side> side;
  std::optional<LengthUnit> scan_units, last_units;
  double sock_mm = 0.0;
  Wearer wearer = Wearer::unknown;
  std::filesystem::path rules, landmarks;
  std::optional<double> tape_joint_mm;
  std::optional<double> tape_joint_left_mm, tape_joint_right_mm;  ///< of both feet
  ScanLoad scan_load = ScanLoad::full;
  std::optional<double> scan_error_mm;
  std::string client, date, language = "en";
  std::filesystem::path letterhead;
  Lengths lengths = Lengths::millimetres;
  Paper paper = Paper::a4;
  bool no_day = false;
  ReadLimits limits;
  int threads = 0;
  bool quiet = false, overwrite = false;
};

struct CheckOptions {
  CommonOptions common;
  std::filesystem::path scan, last, output;
  std::vector<std::filesystem::path> left,
      right;  ///< scan and last of each foot; both given: `scan` and `last` are not
  std::filesystem::path pdf, mail, toe_template, changes, corrected_last;  ///< further files, only where named
  std::filesystem::path client_pdf;
  bool mail_whole = false;
  std::optional<Verdict> fail_on;
};

struct MeasureOptions {
  std::filesystem::path mesh, output;  ///< no output: nothing is written
  bool as_last = false, json = false;
  CommonOptions common;
};

struct ScreenOptions {
  CommonOptions common;
  std::filesystem::path scan, shelf, index, output;
  std::filesystem::path left, right;  ///< the scans of both feet; then `scan` is not given
  std::vector<std::filesystem::path> lasts;
  std::optional<std::pair<double, double>> heel_mm;       ///< the least and the most that is asked for
  std::vector<std::pair<std::string, std::string>> only;  ///< model, size or width, and what it must be
  std::size_t best = 5;  ///< of how many the order is certain, and that get a full report
  bool all = false;      ///< check every last in full
  bool mirror = true;    ///< a last of the other side, where its fellow is missing
};

struct ShelfOptions {
  enum class What { add, list, verify };
  CommonOptions common;
  What what = What::list;
  std::filesystem::path shelf, index;
};

struct CompareOptions {
  CommonOptions common;
  std::filesystem::path first, second, output;
};

struct BatchOptions {
  CommonOptions common;
  std::filesystem::path jobs, index, output;
  std::size_t best = 5;               ///< of a job with a shelf
  std::size_t shard = 1, shards = 1;  ///< does the jobs shard, shard + shards, ...
};

struct DemoOptions {
  CommonOptions common;
  std::filesystem::path output;
};

/// Nothing to run: `text` goes to stdout (help, version; status 0) or to stderr (a wrong command line; status 2).
struct Answer {
  std::string text;
  int status = 0;
};

using Command = std::variant<CheckOptions, MeasureOptions, ScreenOptions, ShelfOptions, CompareOptions, BatchOptions,
                             DemoOptions, Answer>;

/// Reads the command line; touches no file.
Command read_command_line(int argc, const char* const* argv);

}  // namespace lastroom
