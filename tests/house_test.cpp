// What is held to by reading the sources: who may include whom (the rooms of DEVELOPERS.md), and that what the rooms
// say in English is in the phrase books.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <string>

#include "report/words.h"

namespace {

using Names = std::set<std::string>;
namespace fs = std::filesystem;

const Names kStages = {"geometry", "mesh_io",      "preparation", "measurement",
                       "zones",    "registration", "clearance",   "assessment"};

/// The rooms that a room may include (itself and the top of src apart).
const std::map<std::string, Names> kMayInclude = {
    {"geometry", {}},
    {"open3d_door", {"geometry"}},
    {"mesh_io", {"geometry", "open3d_door"}},
    {"preparation", {"geometry", "mesh_io", "open3d_door"}},
    {"measurement", {"geometry", "preparation"}},
    {"zones", {"geometry", "preparation"}},
    {"registration", {"geometry", "preparation", "measurement", "zones"}},
    {"clearance", {"geometry", "preparation", "measurement", "zones", "registration"}},
    {"assessment", {"geometry", "preparation", "measurement", "zones", "registration", "clearance"}},
    {"shelf_index", {"geometry", "mesh_io", "preparation", "measurement"}},
    {"screening", {"geometry", "preparation", "measurement", "assessment"}},
    {"demo", {"geometry", "mesh_io"}},
    {"report",
     {"geometry", "mesh_io", "preparation", "measurement", "zones", "registration", "clearance", "assessment",
      "screening"}},
    {"commands",
     {"geometry", "mesh_io", "preparation", "measurement", "assessment", "shelf_index", "screening", "report", "demo"}},
};

/// The only rooms that may name an outside library; Eigen and fmt are everywhere.
const std::map<std::string, Names> kLibraryRooms = {
    {"open3d/", {"open3d_door"}},
    {"nanoflann", {"geometry", "preparation", "mesh_io"}},
    {"pugixml", {"assessment", "report"}},
    {"nlohmann/", {"mesh_io", "report", "commands"}},
    {"openssl/", {"mesh_io", "assessment", "report"}},
    {"tbb/", {"geometry"}},
    {"sqlite3", {"shelf_index"}},
    {"CLI/", {"commands"}},
};

Names includes_of(const fs::path& file) {
  Names found;
  std::ifstream in(file);
  for (std::string line; std::getline(in, line);) {
    if (!line.starts_with("#include ")) continue;
    const std::size_t open = line.find_first_of("\"<");
    found.insert(line.substr(open + 1, line.find_last_of("\">") - open - 1));
  }
  return found;
}

template <class Check>
void for_each_source(Check check) {
  int files = 0;
  for (const auto& entry : fs::recursive_directory_iterator("src")) {
    const std::string extension = entry.path().extension().string();
    if (extension != ".cpp" && extension != ".h") continue;
    const fs::path below_src = fs::relative(entry.path(), "src");
    if (below_src.has_parent_path()) check(below_src.begin()->string(), entry.path());
    ++files;
  }
  CHECK(files > 30);  // the test runs in the repository's root and has found the house
}

/// The sentences of a source file's InputErrors, 7 for whatever is filled in: the string literals of each statement.
std::vector<std::string> refusals_in(const fs::path& file) {
  std::ifstream in(file);
  const std::string source((std::istreambuf_iterator<char>(in)), {});
  std::vector<std::string> found;
  for (std::size_t at = 0; (at = source.find("throw InputError(", at)) != std::string::npos;) {
    at += 17;
    const bool formatted = source.find("fmt::format(", at) < source.find('"', at);
    std::string sentence;
    for (bool between = false; source[at] != ';'; ++at) {
      if (source[at] != '"') {
        if (formatted && !sentence.empty() && source[at] == ',') break;
        between = between || !std::isspace(static_cast<unsigned char>(source[at]));
        continue;
      }
      if (between && !formatted) sentence += "{}";
      for (++at; source[at] != '"'; ++at) sentence += source[at];
      between = false;
    }
    found.push_back(std::regex_replace(sentence, std::regex("\\{[^}]*\\}"), "7"));
  }
  return found;
}

}  // namespace

TEST_CASE("a room includes only the rooms before it") {
  for_each_source([](const std::string& room, const fs::path& file) {
    CAPTURE(file.string());
    REQUIRE(kMayInclude.contains(room));
    for (const std::string& name : includes_of(file)) {
      const std::string other = name.substr(0, name.find('/'));
      if (name.find('/') == std::string::npos || !kMayInclude.contains(other) || other == room) continue;
      CAPTURE(name);
      CHECK(kMayInclude.at(room).contains(other));
    }
  });
}

TEST_CASE("an outside library is named only in its rooms") {
  for_each_source([](const std::string& room, const fs::path& file) {
    CAPTURE(file.string());
    for (const std::string& name : includes_of(file))
      for (const auto& [library, rooms] : kLibraryRooms) {
        CAPTURE(name);
        if (name.starts_with(library)) CHECK(rooms.contains(room));
      }
  });
}

TEST_CASE("only fitting.cpp knows all stages") {
  for_each_source([](const std::string& room, const fs::path& file) {
    if (!kStages.contains(room)) return;
    CAPTURE(file.string());
    CHECK_FALSE(includes_of(file).contains("fitting.h"));
  });
}

TEST_CASE("every sentence with which a last is refused is in the German phrase book") {
  const lastroom::Words german("de");
  int refusals = 0;
  for_each_source([&](const std::string& room, const fs::path& file) {
    const std::string name = file.filename().string();
    const bool of_lasts = (room == "mesh_io" && name != "read_clearance.cpp") || name == "rare_format.cpp" ||
                          (room == "preparation" && name.starts_with("last"));
    if (!of_lasts) return;
    CAPTURE(name);
    for (const std::string& refusal : refusals_in(file)) {
      CAPTURE(refusal);
      CHECK(german.translated(refusal).has_value());
      ++refusals;
    }
  });
  CHECK(refusals > 40);
}
