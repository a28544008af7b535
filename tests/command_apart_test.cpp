// Outputs never eat inputs, two programs at one output take turns, and nothing hidden is left behind.
#include <doctest/doctest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "command_bench.h"

using namespace command_bench;

namespace {

std::string quoted(const std::string& name) { return "'" + name + "' "; }

/// Every file below the bench's folder and its bytes, but for what the last run printed.
std::string all_of(const Bench& bench) {
  std::string all;
  std::vector<fs::path> files;
  for (const auto& entry : fs::recursive_directory_iterator(bench.folder))
    if (entry.is_regular_file() && !entry.path().filename().string().starts_with("std")) files.push_back(entry.path());
  std::ranges::sort(files);
  for (const fs::path& file : files) all += file.string() + "\n" + slurp(file) + "\n";
  return all;
}

}  // namespace

TEST_CASE("an output that is an input, inside one or around one is refused, and nothing is written") {
  const DemoFiles files;
  const std::string check = "check " + files.pair + "--quiet --overwrite ";
  const std::string out = "-o " + quoted(files.path("out"));
  REQUIRE(lastroom_run(files, check + "-o " + quoted(files.path("a"))).status == 0);
  REQUIRE(lastroom_run(files, check + "-o " + quoted(files.path("b"))).status == 0);
  fs::create_directories(files.path("lasts"));
  files.put("lasts/last.stl", slurp(files.last));
  files.put("batch.csv", "scan,last\nfoot.ply,last.stl\n");
  fs::create_symlink(files.scan, files.path("link.ply"));
  fs::create_hard_link(files.scan, files.path("twin.ply"));
  fs::create_symlink("a", files.path("link"));
  const std::string rules = files.put("rules.xml", slurp("src/assessment/default_rules.xml"));
  const std::string points = files.put("points.json", "{}");
  const std::string a = quoted(files.path("a")), b = quoted(files.path("b"));
  std::vector<std::string> commands = {
      "compare " + a + b + "--overwrite -o " + a,
      "compare " + a + b + "--overwrite -o " + b,
      "compare " + a + b + "--overwrite -o " + quoted(files.path("a/../a/")),
      "compare " + quoted(files.path("link")) + b + "--overwrite -o " + a,
      "compare " + a + b + "-o " + quoted(files.path("a/compared")),
      "compare " + a + b + "--overwrite -o " + quoted(files.folder.string()),
      check + "-o " + quoted(files.scan),
      check + "-o " + quoted(files.folder.string()),
      check + out + "--rules " + quoted(rules) + "--eml " + quoted(rules),
      check + out + "--landmarks " + quoted(points) + "--template " + quoted(points),
      check + out + "--eml " + quoted(files.path("x")) + "--template " + quoted(files.path("x")),
      check + out + "--eml " + quoted(files.path("out/report.html")),
      "screen " + quoted(files.scan) + "--shelf " + quoted(files.path("lasts")) + "--overwrite -o " +
          quoted(files.path("lasts")),
      "screen " + quoted(files.scan) + "--shelf " + quoted(files.path("lasts")) + "-o " +
          quoted(files.path("lasts/out")),
      "screen " + files.pair + "--overwrite -o " + quoted(files.folder.string()),
      "batch " + quoted(files.path("batch.csv")) + "--quiet -o " + quoted(files.folder.string())};
  const std::string letterhead = files.put("letterhead.json", R"({"name": "A. Maker", "logo": "logo.png"})");
  const std::string logo = files.put("logo.png", "no picture");
  commands.push_back(check + out + "--letterhead " + quoted(letterhead) + "--eml " + quoted(letterhead));
  commands.push_back(check + out + "--letterhead " + quoted(letterhead) + "--eml " + quoted(logo));
  for (const std::string& output : {files.scan, files.folder.string()})
    commands.push_back("measure " + quoted(files.scan) + "--as foot --overwrite -o " + quoted(output));
  for (const char* option : {"--eml ", "--template ", "--pdf ", "--client-pdf ", "--changes ", "--corrected-last "})
    for (const char* input : {"foot.ply", "last.stl", "link.ply", "twin.ply", "lasts/../foot.ply"})
      commands.push_back(check + out + option + quoted(files.path(input)));
  const std::string before = all_of(files);
  for (const std::string& command : commands) {
    CAPTURE(command);
    const Run run = lastroom_run(files, command);
    CAPTURE(run.err);
    CHECK(run.status == 5);
    CHECK(std::count(run.err.begin(), run.err.end(), '\n') == 1);
    CHECK(all_of(files) == before);
  }
}

TEST_CASE("a file that is no index of lasts is not made one") {
  const DemoFiles files;
  fs::create_directories(files.path("lasts"));
  files.put("lasts/last.stl", slurp(files.last));
  const std::string shelf = quoted(files.path("lasts")), before = all_of(files);
  for (const std::string& index : {files.scan, files.path("lasts/last.stl"), files.path("lasts")})
    for (const std::string& command :
         {"shelf add --quiet " + shelf, "shelf verify --quiet " + shelf,
          "screen " + quoted(files.scan) + "--quiet --shelf " + shelf + "-o " + quoted(files.path("out"))}) {
      CAPTURE(command);
      CAPTURE(index);
      const Run run = lastroom_run(files, command + "--index " + quoted(index));
      CAPTURE(run.err);
      CHECK((run.status == 3 || run.status == 5 || command.starts_with("screen")));
      fs::remove_all(files.path("out"));
      CHECK(all_of(files) == before);
    }
}

TEST_CASE("two batches on one folder take turns, and nothing is left of their locks") {
  const DemoFiles files;
  files.put("jobs.csv", "scan,last\nfoot.ply,last.stl\nfoot.ply,last.stl\n");
  const std::string batch =
      "batch " + quoted(files.path("jobs.csv")) + "--quiet --threads 1 -o " + quoted(files.path("out"));
  const std::string beside = std::string("(") + LASTROOM_PROGRAM + " " + batch + ">" + quoted(files.path("std1")) +
                             "2>&1; echo $? >" + quoted(files.path("std_status")) + ") & ";
  const Run run = lastroom_run(files, batch, beside);
  for (int tries = 0; tries < 1200 && slurp(files.path("std_status")).empty(); ++tries) ::usleep(50'000);
  CAPTURE(run.err);
  CHECK(run.status == 0);
  CHECK(slurp(files.path("std_status")) == "0\n");
  CHECK(run.out.starts_with("2 of 2 jobs done"));
  CHECK(slurp(files.path("std1")).starts_with("2 of 2 jobs done"));
  for (const auto& entry : fs::recursive_directory_iterator(files.path("out"))) {
    CAPTURE(entry.path());
    CHECK_FALSE(entry.path().filename().string().starts_with("."));
    CHECK(entry.path().extension() != ".lock");
  }
}

TEST_CASE("a file that may not grow is a full disk") {
  const DemoFiles files;
  const Run run = lastroom_run(files, "check " + files.pair + "--quiet -o " + quoted(files.path("out")),
                               "ulimit -f 100; ");  // blocks of 512 bytes
  CHECK(run.status == 5);
  CHECK(run.err.find("make room on the disk") != std::string::npos);
  CHECK_FALSE(fs::exists(files.path("out")));
}
