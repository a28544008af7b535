#include "commands/option_groups.h"

#include <charconv>
#include <chrono>
#include <sstream>

#include "words/words.h"

namespace lastroom {
namespace {

const std::map<std::string, Side> kSides = {{"left", Side::left}, {"right", Side::right}};
const std::map<std::string, Wearer> kWearers = {
    {"standard", Wearer::standard}, {"at-risk", Wearer::at_risk}, {"unknown", Wearer::unknown}};
const std::map<std::string, Lengths> kLengths = {{"mm", Lengths::millimetres}, {"in", Lengths::inches}};
const std::map<std::string, Paper> kPapers = {{"a4", Paper::a4}, {"letter", Paper::letter}};
const std::map<std::string, ScanLoad> kScanLoads = {
    {"full", ScanLoad::full}, {"half", ScanLoad::half}, {"none", ScanLoad::none}};

/// A day that the calendar has, written as YYYY-MM-DD.
std::string iso_date_problem(const std::string& text) {
  const auto number = [&](std::size_t at, std::size_t digits) {
    int value = -1;
    const char* const end = text.data() + at + digits;
    const auto [stopped, error] = std::from_chars(text.data() + at, end, value);
    return error == std::errc() && stopped == end ? value : -1;
  };
  if (text.size() == 10 && text[4] == '-' && text[7] == '-') {
    const int year = number(0, 4), month = number(5, 2), day = number(8, 2);
    const bool real =
        year >= 1 && month >= 1 && day >= 1 &&
        std::chrono::year_month_day(std::chrono::year(year), std::chrono::month(static_cast<unsigned>(month)),
                                    std::chrono::day(static_cast<unsigned>(day)))
            .ok();
    if (real) return "";
  }
  return "'" + text + "' is no day of the calendar; write it as YYYY-MM-DD";
}

/// A finite decimal number within these. CLI::Range asks whether a number lies outside, which "nan" does not.
CLI::Validator within(double least, double most) {
  const auto problem = [least, most](const std::string& text) -> std::string {
    double value = 0.0;
    const auto [stopped, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error == std::errc() && stopped == text.data() + text.size() && value >= least && value <= most) return "";
    std::ostringstream out;
    out << "'" << text << "' is no number from " << least << " to " << most;
    return out.str();
  };
  return CLI::Validator(problem, "MM");
}

}  // namespace

const std::map<std::string, LengthUnit> kUnits = {
    {"mm", LengthUnit::millimetre}, {"cm", LengthUnit::centimetre}, {"m", LengthUnit::metre}, {"in", LengthUnit::inch}};

void add_scan_options(CLI::App& app, CommonOptions& options) {
  choice(app, "--side", options.side, kSides, true, "which foot it is: auto (default), left or right");
  choice(app, "--scan-units", options.scan_units, kUnits, true,
         "unit of the scan's file: auto (default), mm, cm, m or in");
  app.add_option("--landmarks", options.landmarks,
                 "JSON file with your own points in the scan file's coordinates, e.g.\n"
                 "{\"first_joint\": [x, y, z], \"big_toe_tip\": [x, y, z]}; keys: heel, first_joint,\n"
                 "fifth_joint, big_toe_tip, second_toe_tip, third_toe_tip, fourth_toe_tip, fifth_toe_tip; and\n"
                 "never_press: a list of spots that must not be pressed, each [x, y, z] or\n"
                 "{\"at\": [x, y, z], \"what\": \"bunion\"}. For both feet: {\"left\": {...}, \"right\": {...}}");
}

void add_limit_options(CLI::App& app, CommonOptions& options) {
  constexpr std::uint64_t kMegabyte = 1'000'000, kMostMegabytes = 1'000'000, kMostTriangles = 1'000'000'000;
  app.add_option_function<std::uint64_t>(
         "--largest-file", [&options](std::uint64_t mb) { options.limits.largest_file_bytes = mb * kMegabyte; },
         "files larger than this many MB are refused (default 2000)")
      ->check(CLI::Range(std::uint64_t{1}, kMostMegabytes));
  app.add_option("--largest-triangles", options.limits.largest_triangles,
                 "meshes with more triangles than this are refused (default 20000000)")
      ->check(CLI::Range(std::uint64_t{1}, kMostTriangles));
}

void add_thread_options(CLI::App& app, CommonOptions& options) {
  app.add_option("--threads", options.threads, "how many threads to use (default: all cores)")
      ->check(CLI::Range(1, 1024));
  app.add_flag("--quiet", options.quiet, "no progress on stderr");
}

void add_page_options(CLI::App& app, CommonOptions& options) {
  app.add_option("--client", options.client, "a name for the report's head (left out if not given)");
  app.add_option("--date", options.date, "date for the report's head, YYYY-MM-DD (default: today)")
      ->check(CLI::Validator(iso_date_problem, "DATE"));
  app.add_option("--language", options.language, "language of the report (default en)")
      ->check(CLI::IsMember(report_languages()));
  app.add_option_function<std::string>(
         "--units", [&options](const std::string& word) { options.lengths = kLengths.at(word); },
         "lengths on the pages and in the mail: mm (default) or in (inches to 0.01); result.json and tables stay in mm")
      ->check(CLI::IsMember(std::vector<std::string>{"mm", "in"}));
  app.add_option_function<std::string>(
         "--paper", [&options](const std::string& word) { options.paper = kPapers.at(word); },
         "what the pages are printed on: a4 (default) or letter")
      ->check(CLI::IsMember(std::vector<std::string>{"a4", "letter"}));
  app.add_flag("--overwrite", options.overwrite, "replace an output folder that is there already");
}

void add_tapes_of_both(CLI::App& app, CommonOptions& options) {
  app.add_option("--tape-joint-left", options.tape_joint_left_mm, "with --left and --right: the left foot's, as taped")
      ->check(within(100.0, 400.0));
  app.add_option("--tape-joint-right", options.tape_joint_right_mm, "with --left and --right: the right foot's")
      ->check(within(100.0, 400.0));
}

void add_fitting_options(CLI::App& app, CommonOptions& options) {
  add_scan_options(app, options);
  choice(app, "--last-units", options.last_units, kUnits, true,
         "unit of the last's file: auto (default), mm, cm, m or in");
  app.add_option("--sock", options.sock_mm, "thickness of the usual sock in mm (default 0)")->check(within(0.0, 20.0));
  app.add_option_function<std::string>(
         "--wearer", [&options](const std::string& word) { options.wearer = kWearers.at(word); },
         "unknown (default): nobody asked, judged like at-risk; at-risk: diabetes, reduced feeling, poor\n"
         "circulation, earlier ulcer or amputation, kidney failure, changed foot shape; standard: none of these")
      ->check(CLI::IsMember(std::vector<std::string>{"standard", "at-risk", "unknown"}));
  app.add_option_function<std::string>(
         "--scan-load", [&options](const std::string& word) { options.scan_load = kScanLoads.at(word); },
         "weight on the foot when it was scanned: full (default: standing), half or none; less weight widens the doubt")
      ->check(CLI::IsMember(std::vector<std::string>{"full", "half", "none"}));
  app.add_option("--scan-error", options.scan_error_mm,
                 "repeat error of your scanner in mm, one standard deviation (default 1; published 0.7 to 1.5)")
      ->check(within(0.1, 10.0));
  app.add_option("--rules", options.rules, "your own limits (XML) instead of the built-in ones");
  app.add_option("--tape-joint", options.tape_joint_mm, "joint girth as taped by hand, in mm; held against the scan")
      ->check(within(100.0, 400.0));
  app.add_flag("--no-day", options.no_day,
               "do not judge the foot as it is late in the day, and in a thin and a thick sock, too");
  app.add_option(
      "--letterhead", options.letterhead,
      "JSON file with your name, address (a list of lines), telephone, mail, sign_off and logo (a PNG, JPEG or SVG\n"
      "beside it), for the client's page and the mail");
  add_page_options(app, options);
  add_limit_options(app, options);
  add_thread_options(app, options);
}

}  // namespace lastroom
