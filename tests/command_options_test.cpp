// The command line: help, and what is refused before any work.
#include <doctest/doctest.h>

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

TEST_CASE("every number of every option is finite and in range, and every date is a day of the calendar") {
  const Bench bench;
  const std::pair<std::string, std::vector<std::string>> numbers[] = {
      {"--sock", {"-0.1", "20.1", "1,5", "0x10"}},
      {"--scan-error", {"0", "-1", "10.1"}},
      {"--tape-joint", {"99", "401", "-250"}},
      {"--threads", {"0", "-1", "1025", "1.5"}},
      {"--largest-file", {"0", "-1", "1000001", "18446744073709551617"}},
      {"--largest-triangles", {"0", "-1", "1000000001"}},
      {"--date",
       {"2026-02-30", "2025-02-29", "2026-13-01", "2026-00-10", "2026-01-00", "2026-1-1", "0000-01-01", "2026/01/01",
        "+026-01-01", "2026-01-0x"}}};
  const auto refused = [&](const std::string& option, const std::string& value) {
    CAPTURE(option);
    CAPTURE(value);
    const Run run = lastroom_run(bench, "check a b -o c " + option + "='" + value + "'");
    CHECK(run.status == 2);  // 3 would be: the command line is right, and there is no such scan
    CHECK(run.err.find(option) != std::string::npos);
  };
  for (const auto& [option, values] : numbers) {
    for (const std::string& value : values) refused(option, value);
    for (const char* value : {"nan", "-nan", "NaN", "nan(1)", "inf", "-inf", "infinity", "1e999", "", "x"})
      refused(option, value);
  }
  for (const std::string best : {"nan", "0", "100", "-1", "inf"})
    CHECK(lastroom_run(bench, "screen a b -o c --best=" + best).status == 2);
  for (const std::string heel : {"nan 30", "10 nan", "-1 30", "30 20", "0 inf", "0 251"})
    CHECK(lastroom_run(bench, "screen a b -o c --heel-height-mm " + heel).status == 2);
  for (const std::string shard : {"nan/2", "1/inf", "-1/2", "1/-2", "1/100001", "1e0/2"})
    CHECK(lastroom_run(bench, "batch a -o c --shard=" + shard).status == 2);
  for (const std::string good : {"--sock=20", "--sock=1e0", "--scan-error=0.1", "--tape-joint=246.5",
                                 "--date=2024-02-29", "--date=2026-12-31"}) {
    CAPTURE(good);
    CHECK(lastroom_run(bench, "check a b -o '" + bench.path("c") + "' " + good).status == 3);
  }
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
