// An output folder is there whole or not at all, whatever happens.

#include <doctest/doctest.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>

#include <algorithm>

#include "error.h"
#include "files/output_folder.h"
#include "mesh_io_shapes.h"

using namespace lastroom;
using namespace lastroom::test;
namespace fs = std::filesystem;

namespace {

std::vector<std::string> names_in(const fs::path& folder) {
  std::vector<std::string> names;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder)) names.push_back(entry.path().filename());
  std::sort(names.begin(), names.end());
  return names;
}

template <typename Work>
std::string refusal(const Work& work) {
  try {
    work();
  } catch (const OutputError& error) {
    return error.what();
  }
  return "accepted";
}

bool says(const std::string& sentence, const std::string& what) {
  const bool right = sentence.find(what) != std::string::npos && sentence.find("; ") != std::string::npos;
  if (!right) MESSAGE(sentence);
  return right;
}

void make_result(const fs::path& folder, const std::string& content, bool overwrite) {
  OutputFolder out(folder, overwrite);
  out.write("result.json", content);
  out.write("report.html", content);
  out.write("demo/scan.stl", content);
  out.publish();
}

// Runs `work` in a child and kills it after `nanoseconds`. True when the child was faster.
template <typename Work>
bool killed_after(long nanoseconds, const Work& work) {
  const pid_t child = ::fork();
  if (child == 0) {
    work();
    ::_exit(0);
  }
  const timespec pause{nanoseconds / 1'000'000'000, nanoseconds % 1'000'000'000};
  ::nanosleep(&pause, nullptr);
  ::kill(child, SIGKILL);
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status);
}

}  // namespace

TEST_CASE("a folder appears when it is published, with the folders above it") {
  const TemporaryFolder folder;
  const fs::path target = folder.path / "a" / "b" / "result";
  {
    OutputFolder out(target, false);
    out.write("result.json", "{}");
    CHECK_FALSE(fs::exists(target));
    out.write("demo/deep/x.txt", std::string("\0y", 2));
    out.publish();
  }
  CHECK(names_in(target.parent_path()) == std::vector<std::string>{"result"});
  CHECK(names_in(target) == std::vector<std::string>{"demo", "result.json"});
  CHECK(content_of(target / "demo/deep/x.txt") == std::string("\0y", 2));
}

TEST_CASE("without publish nothing stays, not even the folders above") {
  const TemporaryFolder folder;
  {
    OutputFolder out(folder.path / "a" / "b", false);
    out.write("result.json", "{}");
  }
  CHECK(names_in(folder.path).empty());
}

TEST_CASE("an empty folder is filled, another one needs --overwrite and keeps what is not ours") {
  const TemporaryFolder folder;
  const fs::path target = folder.path / "out";
  fs::create_directory(target);
  make_result(target / "", "old", false);  // a slash at the end changes nothing
  CHECK(content_of(target / "report.html") == "old");
  CHECK(says(refusal([&] { OutputFolder(target, false); }), "--overwrite"));

  std::ofstream(target / "clearance.ply") << "old";
  std::ofstream(target / "notes.txt") << "mine";
  fs::create_directory(target / "photos");
  std::ofstream(target / "photos" / "left.jpg") << "mine";
  fs::create_symlink("notes.txt", target / "link");
  make_result(target, "new", true);
  // An old clearance.ply beside a new result.json would be a lie.
  CHECK(names_in(target) ==
        std::vector<std::string>{"demo", "link", "notes.txt", "photos", "report.html", "result.json"});
  CHECK(content_of(target / "report.html") == "new");
  CHECK(content_of(target / "notes.txt") == "mine");
  CHECK(content_of(target / "photos" / "left.jpg") == "mine");
  CHECK(fs::is_symlink(target / "link"));
  CHECK(names_in(folder.path) == std::vector<std::string>{"out"});
}

TEST_CASE("links, files, devices and strange names are refused") {
  const TemporaryFolder folder;
  fs::create_directory(folder.path / "real");
  fs::create_directory_symlink(folder.path / "real", folder.path / "link");
  fs::create_symlink(folder.path / "nowhere", folder.path / "dangling");
  folder.file("file", "x");
  for (bool overwrite : {false, true}) {
    CHECK(says(refusal([&] { OutputFolder(folder.path / "link", overwrite); }), "symbolic link"));
    CHECK(says(refusal([&] { OutputFolder(folder.path / "dangling", overwrite); }), "symbolic link"));
    CHECK(says(refusal([&] { OutputFolder(folder.path / "file", overwrite); }), "is not a folder"));
    CHECK(says(refusal([&] { OutputFolder("/dev/null", overwrite); }), "is not a folder"));
    CHECK(says(refusal([&] { OutputFolder("", overwrite); }), "no name"));
    CHECK(says(refusal([&] { OutputFolder("/", overwrite); }), "/"));
    CHECK(says(refusal([&] { OutputFolder(".", overwrite); }), "; "));
    CHECK(says(refusal([&] { OutputFolder(folder.path / "file" / "out", overwrite); }), "can't be written"));
    // /proc is read-only in every sense, also for root, for whom permissions mean nothing.
    CHECK(says(refusal([&] { OutputFolder("/proc/lastroom", overwrite); }), "can't be written"));
    CHECK(says(refusal([&] { OutputFolder(folder.path / std::string(300, 'n'), overwrite); }), "can't be written"));
  }
  OutputFolder out(folder.path / "out", false);
  for (const char* name : {"", "../x", "/tmp/x", "a/../../x", "a/"})
    CHECK(says(refusal([&] { out.write(name, "x"); }), "can't hold"));
  CHECK(names_in(folder.path / "real").empty());
  CHECK(content_of(folder.path / "file") == "x");
}

TEST_CASE("one file: whole or not at all") {
  const TemporaryFolder folder;
  const fs::path file = folder.path / "new" / "rules.xml";
  write_file(file, "one", false);
  CHECK(content_of(file) == "one");
  CHECK(says(refusal([&] { write_file(file, "two", false); }), "--overwrite"));
  CHECK(content_of(file) == "one");
  write_file(file, "two", true);
  CHECK(content_of(file) == "two");
  fs::create_symlink(file, folder.path / "link");
  CHECK(says(refusal([&] { write_file(folder.path / "link", "x", true); }), "symbolic link"));
  CHECK(says(refusal([&] { write_file(folder.path / "new", "x", true); }), "is a folder"));
  CHECK(says(refusal([&] { write_file("/dev/full", "x", true); }), "not an ordinary file"));
  CHECK(says(refusal([&] { write_file("/proc/x", "x", true); }), "can't be written"));
  CHECK(content_of(file) == "two");
  CHECK(names_in(folder.path / "new") == std::vector<std::string>{"rules.xml"});
}

TEST_CASE("a disk that takes no more leaves nothing behind") {
  // A limit on the size of files stands for the full disk: the same failing write, with another reason.
  const TemporaryFolder folder;
  const fs::path target = folder.path / "out";
  rlimit usual{};
  ::getrlimit(RLIMIT_FSIZE, &usual);
  const rlimit small{10'000, usual.rlim_max};
  const auto usual_signal = ::signal(SIGXFSZ, SIG_IGN);
  ::setrlimit(RLIMIT_FSIZE, &small);
  const std::string sentence = refusal([&] {
    OutputFolder out(target, false);
    out.write("small.txt", "x");
    out.write("large.txt", std::string(20'000, 'x'));
    out.publish();
  });
  const std::string file_sentence = refusal([&] { write_file(target, std::string(20'000, 'x'), false); });
  ::setrlimit(RLIMIT_FSIZE, &usual);
  ::signal(SIGXFSZ, usual_signal);
  CHECK(says(sentence, "make room"));
  CHECK(says(file_sentence, "make room"));
  CHECK(names_in(folder.path).empty());
}

TEST_CASE("a process killed at any moment leaves the old result or the new one, and no rubbish after the next run") {
  const TemporaryFolder folder;
  const fs::path target = folder.path / "out";
  const std::string large(300'000, 'n');
  int old_ones = 0, new_ones = 0;
  for (int round = 0; round < 20; ++round) {
    CAPTURE(round);
    make_result(target, "old", true);
    REQUIRE(names_in(folder.path) == std::vector<std::string>{"out"});
    killed_after(100'000L * round * round / 2, [&] { make_result(target, large, true); });
    REQUIRE(names_in(target) == std::vector<std::string>{"demo", "report.html", "result.json"});
    const std::string content = content_of(target / "result.json");
    const bool is_old = content == "old";
    CHECK((is_old || content == large));
    CHECK(content_of(target / "report.html") == content);
    CHECK(content_of(target / "demo" / "scan.stl") == content);
    ++(is_old ? old_ones : new_ones);
  }
  CHECK(old_ones > 0);  // else the children were never hit early, and nothing was tested
}

TEST_CASE("a killed first run leaves no folder or a whole one") {
  const TemporaryFolder folder;
  const fs::path target = folder.path / "out";
  for (int round = 0; round < 20; ++round) {
    CAPTURE(round);
    fs::remove_all(target);
    killed_after(60'000L * round * round / 2, [&] { make_result(target, "new", false); });
    if (fs::exists(target)) REQUIRE(names_in(target) == std::vector<std::string>{"demo", "report.html", "result.json"});
  }
  fs::remove_all(target);
  make_result(target, "last", false);
  CHECK(names_in(folder.path) == std::vector<std::string>{"out"});
}

TEST_CASE("two live runs into the same folder do not disturb each other's staging folder") {
  const TemporaryFolder folder;
  const fs::path target = folder.path / "out";
  OutputFolder first(target, false);
  first.write("result.json", "first");
  OutputFolder second(target, false);
  second.write("result.json", "second");
  first.publish();
  CHECK(says(refusal([&] { second.publish(); }), "--overwrite"));
  CHECK(content_of(target / "result.json") == "first");
}

TEST_CASE("a result that a dead process had moved aside comes back") {
  // So it looks when a process is killed between the two renames of a disk that can't exchange folders.
  const TemporaryFolder folder;
  const fs::path target = folder.path / "out";
  std::string staging_folder;
  {
    const OutputFolder out(target, false);
    staging_folder = names_in(folder.path).at(0);
  }
  const pid_t dead = ::fork();
  if (dead == 0) ::_exit(0);
  ::waitpid(dead, nullptr, 0);
  const std::string of_target = staging_folder.substr(0, staging_folder.find('-', staging_folder.find('-') + 1) + 1);
  REQUIRE(of_target.rfind(".lastroom-", 0) == 0);
  const fs::path aside = folder.path / (of_target + std::to_string(dead) + "-0-old");
  make_result(aside, "old", false);

  CHECK(says(refusal([&] { make_result(target, "new", false); }), "--overwrite"));
  CHECK(names_in(folder.path) == std::vector<std::string>{"out"});
  CHECK(content_of(target / "result.json") == "old");
  make_result(aside, "older", false);
  make_result(target, "new", true);
  CHECK(names_in(folder.path) == std::vector<std::string>{"out"});
  CHECK(content_of(target / "result.json") == "new");
}
