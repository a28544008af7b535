// What README and reports/ say is held against what was printed, and the tests' own programs against what they hold.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <limits>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "held.h"

namespace {

namespace fs = std::filesystem;

std::string text_of(const fs::path& file) {
  std::ifstream in(file);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// From one heading of a page to the next of the same or a higher level.
std::string part_of(const std::string& page, const std::string& heading) {
  const std::size_t at = page.find("\n" + heading + "\n");
  REQUIRE(at != std::string::npos);
  const std::string level = heading.substr(0, heading.find(' ') + 1);
  return page.substr(at, page.find("\n" + level, at + 1) - at);
}

std::vector<std::string> all(const std::string& text, const std::string& pattern) {
  const std::regex what(pattern);
  std::vector<std::string> found;
  for (std::sregex_iterator it(text.begin(), text.end(), what), end; it != end; ++it) found.push_back((*it)[1]);
  return found;
}

/// What stands in the cells of a row of a table that begins with this.
std::vector<std::string> cells(const std::string& text, const std::string& row) {
  const std::size_t at = text.find("\n| " + row + " |");
  CAPTURE(row);
  REQUIRE(at != std::string::npos);
  return all(text.substr(at, text.find('\n', at + 1) - at), R"(\| ([^|\n]+?) (?=\|))");
}

}  // namespace

TEST_CASE("a figure that got worse, or is none, ends the program that holds it with status 1") {
  using lastroom::test::Held;
  const auto status = [](const auto& hold) {
    Held held;
    hold(held);
    return held.status();
  };
  const double nan = std::numeric_limits<double>::quiet_NaN();
  CHECK(status([](Held& h) { h.most("as stated", 1.0, 1.0, "here"), h.least("as stated", 1.0, 1.0, "here"); }) == 0);
  CHECK(status([](Held& h) { h.most("more", 1.01, 1.0, "here"); }) == 1);
  CHECK(status([](Held& h) { h.least("less", 0.99, 1.0, "here"); }) == 1);
  CHECK(status([&](Held& h) { h.most("none", nan, 1.0, "here"); }) == 1);
  CHECK(status([&](Held& h) { h.least("none", nan, 1.0, "here"); }) == 1);
  CHECK(status([](Held& h) { h.most("more", 2.0, 1.0, "here"), h.most("as stated", 1.0, 1.0, "here"); }) == 1);
}

TEST_CASE("README says no more of accuracy than reports/accuracy.md prints") {
  std::string said = part_of(text_of("README.md"), "## How accurate it is");
  said = std::regex_replace(said, std::regex(R"(([^|])\n(?=[a-z0-9]))"), "$1 ");  // a sentence goes on
  const std::string printed = text_of("reports/accuracy.md");
  const std::string settle = part_of(printed, "## Where feet settle");
  const std::pair<const char*, const char*> rows[] = {
      {"where the rear part stands (heel to joint)", "rear part, rms displacement"},
      {"where the fore part stands", "fore part, rms displacement"},
      {"of that nobody can know: rear", "what nobody can know: rear"},
      {"of that nobody can know: fore", "what nobody can know: fore"}};
  for (std::size_t family = 0; family < 3; ++family) {
    CAPTURE(family);
    const std::string of_family = std::string("### family ") + "abc"[family];
    std::vector<std::string> runs;
    for (std::size_t at = settle.find(of_family); at != std::string::npos; at = settle.find(of_family, at + 1))
      runs.push_back(settle.substr(at, settle.find("\n### ", at + 1) - at));
    REQUIRE(runs.size() == 2);
    const auto both = [&](const auto& of_run) { return of_run(runs[0]) + " and " + of_run(runs[1]); };
    for (const auto& [here, there] : rows) {
      CAPTURE(here);
      CHECK(cells(said, here).at(1 + family) == both([&, there = there](const std::string& run) {
              const std::vector<std::string> row = cells(run, there);
              return row.at(1) + " / " + row.at(2);
            }));
    }
    CHECK(cells(said, "zone values inside their stated 95 % interval").at(1 + family) ==
          both([](const std::string& run) {
            return all(run, R"(Zone values inside their 95 % interval: (\d+\.\d %))").at(0);
          }));
    const std::string pairs = all(runs[0], R"(\n(\d+) pairs, )").at(0);
    CHECK(cells(said, "pairs without a verdict").at(1 + family) ==
          both([](const std::string& run) { return all(run, R"(pairs, (\d+) without a verdict)").at(0); }) + " of " +
              pairs);
  }
  // Of the toes' rooms, and what is wrong and not told.
  const std::string stands = part_of(printed, "## Where the foot stands");
  const double inside = std::stod(cells(stands, "rooms of the toes inside theirs").at(1));
  CHECK(std::stod(all(said, R"(Of the toes' rooms \(before, along and over them\) (\d+) %)").at(0)) <= inside + 0.5);
  CHECK(all(said, R"(in (\d+) of 20 such pairs)").at(0) ==
        cells(stands, "error above 2.5 mm and doesn't say so").at(1));
  // Of feet of every kind: both runs together.
  const std::vector<std::string> feet = all(printed, R"(\n\| \*\*all\*\* (\|[^\n]*))");
  REQUIRE(feet.size() == 2);
  int taken = 0, of = 0, right = 0, groups = 0, toes = 0;
  for (const std::string& row : feet) {
    const std::vector<std::string> c = all(row, R"(\| ([^|\n]+?) (?=\|))");
    taken += std::stoi(c.at(0)), of += std::stoi(c.at(0).substr(c.at(0).find("of ") + 3));
    right += std::stoi(c.at(2)), groups += std::stoi(c.at(2).substr(c.at(2).find('/') + 1));
    toes += std::stoi(c.at(2).substr(c.at(2).find("of ") + 3));
    CHECK(c.at(2).find("**0**") != std::string::npos);
    CHECK(said.find(c.at(5)) != std::string::npos);  // the first joint
    CHECK(said.find(c.at(6)) != std::string::npos);  // the fifth
  }
  CHECK(said.find(std::to_string(taken) + " of " + std::to_string(of) + " taken") != std::string::npos);
  CHECK(said.find("of " + std::to_string(toes) + " toes " + std::to_string(right) + " are right, " +
                  std::to_string(groups) + " are told as groups and none") != std::string::npos);
}

TEST_CASE("how lasts were made or widened, and by which limits, stands above every table that judges them") {
  const std::string accuracy = text_of("reports/accuracy.md");
  const std::regex lasts(R"(room|widened|as drawn|as the family makes|reshaped|pushed)"), limits(R"(limits|[Rr]ule)");
  for (const char* heading : {"## What is found and what is alarmed", "## Feet that do not suit their last",
                              "## What is said of lasts", "## What is said of harmless lasts, and of faults in them"}) {
    CAPTURE(heading);
    const std::string part = part_of(accuracy, heading), above = part.substr(0, part.find("\n| "));
    REQUIRE(above.size() < part.size());
    CHECK(std::regex_search(above, lasts));
    CHECK(std::regex_search(above, limits));
  }
  const std::string page = text_of("reports/limits.md"), above = page.substr(0, page.find("\n| "));
  CHECK(std::regex_search(above, std::regex("[Rr]eshaped")));
  CHECK(above.find("The built-in limits") != std::string::npos);
  // By which lasts were widened, in the program itself and on the page.
  const std::vector<std::string> widened =
      all(text_of("tests/defects.cpp"), R"(std::max\(shape\.[a-z_.]+, (\d+\.\d)\))");
  CHECK(widened == std::vector<std::string>{"5.5", "5.5", "3.5", "3.5", "18.0"});
  CHECK(accuracy.find("5.5 mm over them, 3.5 beside, 18 before") != std::string::npos);
}

TEST_CASE("what is done by hand says why, and is there") {
  const std::string part = part_of(text_of("DEVELOPERS.md"), "## By hand, and why");
  for (const char* what : {"Base 64", "SHA-256", "glTF", "MIME", "PNG", "CSV"}) {
    CAPTURE(what);
    CHECK(all(part, std::string("\n- \\*\\*(") + what + ")[^*]*\\*\\* \\(`[^\n]{40}").size() == 1);
  }
  const std::vector<std::string> files = all(part, R"(`([a-z_0-9]+/?[a-z_0-9]*(?:\.cpp)?)`[,)])");
  CHECK(files.size() >= 6);
  for (const std::string& file : files) {
    CAPTURE(file);
    CHECK((fs::exists("src/" + file) || fs::exists("src/digest/" + file)));
  }
}

TEST_CASE("a loop without a condition says on its line what ends it") {
  const std::regex endless(R"(\n[^\n]*(?:for \(;;\)|while \((?:true|1)\))([^\n]*))");
  for (const auto& entry : fs::recursive_directory_iterator("src")) {
    if (entry.path().extension() != ".cpp" && entry.path().extension() != ".h") continue;
    const std::string source = text_of(entry.path());
    for (std::sregex_iterator it(source.begin(), source.end(), endless), end; it != end; ++it) {
      CAPTURE(entry.path().string());
      CHECK((*it)[1].str().find("//") != std::string::npos);
    }
  }
}
