// The command line: help, and what is refused before any work.
#include <doctest/doctest.h>

#include <regex>
#include <set>

#include "command_bench.h"

using namespace command_bench;

TEST_CASE("help teaches and the version is told") {
  const Bench bench;
  for (const std::string command :
       {"", "check ", "measure ", "screen ", "shelf ", "shelf add ", "compare ", "batch ", "demo "}) {
    const Run run = lastroom_run(bench, command + "--help");
    CAPTURE(command);
    CHECK(run.status == 0);
    CHECK(run.out.size() > 200);
    CHECK(run.err.empty());
  }
  CHECK(lastroom_run(bench, "--version").out.starts_with("lastroom "));
}

TEST_CASE("a wrong command line is status 2 and says so on stderr") {
  const Bench bench;
  for (const std::string arguments : {"",
                                      "nonsense",
                                      "check",
                                      "check a.stl b.stl",
                                      "check a b -o c --sock thick",
                                      "check a b -o c --side middle",
                                      "check a b -o c --date yesterday",
                                      "measure a.stl",
                                      "screen a.stl -o out",
                                      "screen a.stl b.stl --shelf c -o out",
                                      "screen a.stl b.stl -o out --best 0",
                                      "shelf",
                                      "shelf add",
                                      "compare a -o out",
                                      "batch -o out",
                                      "batch a.csv -o out --shard 3/2",
                                      "batch a.csv -o out --shard 0/2",
                                      "batch a.csv -o out --shard 1",
                                      "measure a.stl --as last --scan-units mm",
                                      "measure a.stl --as last --landmarks b.json",
                                      "measure a.stl --as foot --last-units mm",
                                      "check a b -o c --threads 0",
                                      "check a b -o c --fail-on slack",
                                      "check a -o c",
                                      "check --left a b -o c",
                                      "check --left a --right a b -o c",
                                      "check a b --left a b --right a b -o c",
                                      "check --left a b --right a b --side left -o c",
                                      "check --left a b --right a b --tape-joint 250 -o c",
                                      "check a b --tape-joint-left 250 -o c"}) {
    CAPTURE(arguments);
    const Run run = lastroom_run(bench, arguments);
    CHECK(run.status == 2);
    CHECK(!run.err.empty());
    CHECK(run.out.empty());
  }
}

namespace {

using Names = std::set<std::string>;

/// The options that take a number or a date, by the help of every command.
Names options_with_numbers(const Bench& bench) {
  static const std::regex line(R"(\n +(--[a-z-]+) (FLOAT|U?INT|MIN MAX|TEXT:DATE|TEXT:I/N))");
  Names found;
  for (const char* command :
       {"check", "measure", "screen", "shelf add", "shelf list", "shelf verify", "compare", "batch", "demo"}) {
    const std::string help = lastroom_run(bench, std::string(command) + " --help").out;
    for (std::sregex_iterator it(help.begin(), help.end(), line), end; it != end; ++it) found.insert((*it)[1]);
  }
  return found;
}

struct OfOption {
  std::string option, command;
  std::vector<std::string> wrong;
};

const std::string kOne = "check a b -o c ", kBoth = "check --left a b --right a b -o c ";
const std::vector<OfOption> kNumbers = {
    {"--sock", kOne, {"-0.1", "20.1", "1,5", "0x10"}},
    {"--scan-error", kOne, {"0", "-1", "10.1"}},
    {"--tape-joint", kOne, {"99", "401", "-250"}},
    {"--tape-joint-left", kBoth, {"99", "401", "-250"}},
    {"--tape-joint-right", kBoth, {"99", "401", "-250"}},
    {"--threads", kOne, {"0", "-1", "1025", "1.5"}},
    {"--largest-file", kOne, {"0", "-1", "1000001", "18446744073709551617"}},
    {"--largest-triangles", kOne, {"0", "-1", "1000000001"}},
    {"--best", "screen a b -o c ", {"0", "100", "-1", "1.5"}},
    {"--shard", "batch a -o c ", {"nan/2", "1/inf", "-1/2", "1/-2", "1/100001", "1e0/2", "3/2"}},
    {"--date",
     kOne,
     {"2026-02-30", "2025-02-29", "2026-13-01", "2026-00-10", "2026-01-00", "2026-1-1", "0000-01-01", "2026/01/01",
      "+026-01-01", "2026-01-0x"}}};

}  // namespace

TEST_CASE("every number of every option is finite and in range, and every date is a day of the calendar") {
  const Bench bench;
  Names tried = {"--heel-height-mm"};
  for (const auto& [option, command, wrong] : kNumbers) {
    tried.insert(option);
    std::vector<std::string> values = {"nan", "-nan", "NaN", "nan(1)", "inf", "-inf", "infinity", "1e999", "", "x"};
    values.insert(values.end(), wrong.begin(), wrong.end());
    for (const std::string& value : values) {
      CAPTURE(option);
      CAPTURE(value);
      const Run run = lastroom_run(bench, command + option + "='" + value + "'");
      CHECK(run.status == 2);  // 3 would be: the command line is right, and there is no such scan
      CHECK(run.err.find(option) != std::string::npos);
    }
  }
  for (const std::string heel : {"nan 30", "10 nan", "-1 30", "30 20", "0 inf", "0 251"})
    CHECK(lastroom_run(bench, "screen a b -o c --heel-height-mm " + heel).status == 2);
  CHECK(options_with_numbers(bench) == tried);
  for (const std::string good : {"--sock=20", "--sock=1e0", "--scan-error=0.1", "--tape-joint=246.5",
                                 "--date=2024-02-29", "--date=2026-12-31"}) {
    CAPTURE(good);
    CHECK(lastroom_run(bench, "check a b -o '" + bench.path("c") + "' " + good).status == 3);
  }
}

TEST_CASE("a number that is none turns no pinch into a watch, ends at once and is printed nowhere") {
  DemoFiles files;
  LastShape narrow;
  narrow.room.fifth_toe_side = -5.0;
  files.put("last.stl", stl_binary(make_last(files.foot, narrow).mesh));
  const std::string check = "check " + files.pair + "--quiet --wearer standard -o '" + files.path("out") + "' ";
  for (const char* options :
       {"--scan-error nan --fail-on pinch", "--sock nan", "--tape-joint nan", "--date 2026-02-30"}) {
    CAPTURE(options);
    const Run run = lastroom_run(files, check + options, "timeout 10 ");
    CHECK(run.status == 2);
    CHECK(run.out.empty());
    CHECK_FALSE(fs::exists(files.path("out")));
  }
  CHECK(lastroom_run(files, check + "--fail-on pinch").status == 1);  // there is a pinch to be told
}

TEST_CASE("every number of a landmarks file is finite and in range") {
  const DemoFiles files;
  for (const char* point : {"[1e999, 0, 0]", "[NaN, 0, 0]", "[-Infinity, 0, 0]", "[1e300, 0, 0]", "[0, -1e7, 0]",
                            "[null, 0, 0]", "[\"1\", 0, 0]", "[1, 2]", "[1, 2, 3, 4]", "[true, 0, 0]"})
    for (const std::string text : {"{\"heel\": P}", "{\"never_press\": [P]}", "{\"never_press\": [{\"at\": P}]}"}) {
      const std::string file = files.put("points.json", std::string(text).replace(text.find('P'), 1, point));
      CAPTURE(slurp(file));
      const Run run = lastroom_run(files, "measure '" + files.scan + "' --as foot --landmarks '" + file + "'");
      CHECK(run.status == 3);
      CHECK(run.err.starts_with("lastroom: points.json: "));
    }
}

TEST_CASE("batch refuses what would be put on every foot of its table, and does not offer it") {
  const Bench bench;
  const std::string help = lastroom_run(bench, "batch --help").out;
  CHECK(help.find("default: today") == std::string::npos);
  for (const std::string option : {"--landmarks", "--tape-joint", "--client"}) {
    CAPTURE(option);
    CHECK(help.find("\n  " + option) == std::string::npos);
    const Run run = lastroom_run(bench, "batch a.csv -o out " + option + " 250");
    CHECK(run.status == 2);
    CHECK(run.err.starts_with("batch: " + option + " is for one foot: "));
  }
}

TEST_CASE("a name that can't even be looked up is told as such, not as want of memory") {
  const Bench bench;
  const Run run = lastroom_run(
      bench, "compare " + std::string(300, 'a') + " " + std::string(300, 'b') + " -o '" + bench.path("out") + "'");
  CHECK(run.status == 3);
  CHECK(run.err.find("can't be looked up (File name too long)") != std::string::npos);
}
