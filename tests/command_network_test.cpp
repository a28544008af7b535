// No network, ever: every command under strace (trace of the system calls of it and all that it starts).
#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <regex>

#include "command_bench.h"

using namespace command_bench;

namespace {

/// The lines of a trace that make a socket which is not local, and were not refused by the kernel; or reach for an
/// address of the Internet.
std::vector<std::string> ways_out(const std::string& trace) {
  std::vector<std::string> found;
  std::istringstream lines(trace);
  std::map<std::string, std::string> unfinished;  // by process: its end stands in a later line
  for (std::string line; std::getline(lines, line);) {
    const std::string process = line.substr(0, line.find(' '));
    if (line.find("<unfinished ...>") != std::string::npos) {
      unfinished[process] = line;
      continue;
    }
    if (line.find(" resumed>") != std::string::npos) line.insert(0, unfinished[process]);
    const bool socket =
        line.find("socket(AF_") != std::string::npos && line.find("socket(AF_UNIX") == std::string::npos;
    const bool address = line.find("sa_family=AF_INET") != std::string::npos;
    if ((socket && line.find("= -1 E") == std::string::npos) || address) found.push_back(line);
  }
  return found;
}

}  // namespace

TEST_CASE("no command makes a socket but local ones, nor does what it starts, the browser included") {
  const DemoFiles files;
  REQUIRE_MESSAGE(std::system("strace -V >/dev/null 2>&1") == 0, "strace is needed: apt install strace");
  fs::create_directories(files.path("lasts"));
  files.put("lasts/last.stl", slurp(files.last));
  files.put("lasts/rare.dae", "<COLLADA/>");
  files.put("jobs.csv", "scan,last,shelf\nfoot.ply,last.stl,\nfoot.ply,,lasts\n");
  const auto in_bench = [&](const std::string& name) { return std::string("'").append(files.path(name)).append("' "); };
  const std::string commands[] = {
      "check " + files.pair + "--quiet -o " + in_bench("a") + "--pdf " + in_bench("a.pdf") + "--eml " +
          in_bench("a.eml"),
      "check " + files.pair + "--quiet --language de -o " + in_bench("b"),
      "measure " + in_bench("foot.ply") + "--as foot",
      "measure " + in_bench("lasts/rare.dae") + "--as last",
      "screen " + in_bench("foot.ply") + "--quiet --shelf " + in_bench("lasts") + "-o " + in_bench("shelf"),
      "shelf add --quiet " + in_bench("lasts"),
      "shelf list --quiet " + in_bench("lasts"),
      "shelf verify --quiet " + in_bench("lasts"),
      "compare " + in_bench("a") + in_bench("b") + "-o " + in_bench("compared"),
      "batch " + in_bench("jobs.csv") + "--quiet -o " + in_bench("batch"),
      "demo --quiet -o " + in_bench("demo")};
  const std::string help = lastroom_run(files, "--help").out, subcommands = help.substr(0, help.find("First steps:"));
  static const std::regex name(R"(\n  (\w+) )");
  for (std::sregex_iterator it(subcommands.begin(), subcommands.end(), name), end; it != end; ++it) {
    CAPTURE((*it)[1].str());
    CHECK(std::ranges::any_of(commands, [&](const std::string& c) { return c.starts_with((*it)[1].str() + " "); }));
  }
  for (const std::string& command : commands) {
    CAPTURE(command);
    const Run run = lastroom_run(
        files, command,
        "ASAN_OPTIONS=\"$ASAN_OPTIONS:detect_leaks=0\" LASTROOM_PDF_SECONDS=1000 "  // two can't trace one process
        "strace -f -e trace=%network -o '" +
            files.path("trace") + "' ");
    CAPTURE(run.err);
    CHECK((run.status == 0 || command.find("rare.dae") != std::string::npos));
    const std::string trace = slurp(files.path("trace"));
    CHECK(trace.find("+++ exited with") != std::string::npos);  // it did trace
    const std::vector<std::string> found = ways_out(trace);
    for (const std::string& line : found) FAIL_CHECK(line);
  }
  CHECK(slurp(files.path("a.pdf")).starts_with("%PDF-"));
}

TEST_CASE("the browser runs in its sandbox where the system allows, looks no name up, and is asked again without it") {
  const DemoFiles files;
  fs::create_directories(files.path("bin"));
  files.put("bin/chromium",
            "#!/bin/sh\necho \"$*\" >>'" + files.path("asked") +
                "'\n"
                "for word; do case $word in --no-sandbox) free=1 ;; --print-to-pdf=*) pdf=${word#*=} ;; esac; done\n"
                "[ -n \"$free\" ] || exit 1\necho %PDF-1.4 >\"$pdf\"\n");
  fs::permissions(files.path("bin/chromium"), fs::perms::all);
  fs::permissions(files.folder, fs::perms::all);
  const bool root = ::geteuid() == 0;  // who runs without a sandbox at all: there it is tried as nobody, too
  std::vector<std::string> users = {""};
  if (root) users.push_back("setpriv --reuid=65534 --regid=65534 --clear-groups ");
  for (const std::string& user : users) {
    CAPTURE(user);
    files.put("asked", "");
    fs::permissions(files.path("asked"), fs::perms::all);
    const std::string out = files.path(user.empty() ? "out" : "of_nobody");
    const Run run = lastroom_run(files, "check " + files.pair + "--quiet -o '" + out + "' --pdf '" + out + ".pdf'",
                                 "PATH='" + files.path("bin") + "':$PATH " + user);
    CAPTURE(run.err);
    CHECK(run.status == 0);
    CHECK(slurp(out + ".pdf").starts_with("%PDF-"));
    std::istringstream asked(slurp(files.path("asked")));
    std::vector<bool> in_sandbox;
    for (std::string line; std::getline(asked, line);) {
      in_sandbox.push_back(line.find("--no-sandbox") == std::string::npos);
      CHECK(line.find("--host-resolver-rules=MAP * ~NOTFOUND") != std::string::npos);
      CHECK(line.find("--disable-background-networking") != std::string::npos);
    }
    CHECK(in_sandbox == (root && user.empty() ? std::vector<bool>{false} : std::vector<bool>{true, false}));
  }
}

TEST_CASE("a browser that never ends is ended, and one that fails is told") {
  const DemoFiles files;
  fs::create_directories(files.path("bin"));
  const auto with_browser = [&](const std::string& deed) {
    files.put("bin/chromium", "#!/bin/sh\n" + deed + "\n");
    fs::permissions(files.path("bin/chromium"), fs::perms::owner_all);
    return lastroom_run(files,
                        "check " + files.pair + "--quiet --overwrite -o '" + files.path("out") + "' --pdf '" +
                            files.path("a.pdf") + "'",
                        "LASTROOM_PDF_SECONDS=1 PATH='" + files.path("bin") + "':$PATH ");
  };
  const Run failed = with_browser("exit 3");
  CHECK(failed.status == 5);
  CHECK(failed.err.find("could not print the report") != std::string::npos);
  const Run endless = with_browser("sleep 1000 & sleep 1000");
  CHECK(endless.status == 5);
  CHECK(endless.err.find("did not finish within 1 seconds and was ended") != std::string::npos);
  CHECK_FALSE(fs::exists(files.path("a.pdf")));
}
