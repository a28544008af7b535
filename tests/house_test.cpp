// What is held to by reading the sources: who may include whom (the rooms of DEVELOPERS.md), and that what the rooms
// say in English is in the phrase books.
#include <doctest/doctest.h>

#include <array>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "words/words.h"

namespace {

using Names = std::set<std::string>;
namespace fs = std::filesystem;

const Names kStages = {"files", "geometry",     "mesh_io",   "preparation", "measurement",
                       "zones", "registration", "clearance", "assessment"};

std::string text_of(const fs::path& file) {
  std::ifstream in(file);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// The words of a text, split at anything that no name has in it.
Names names_in(const std::string& text) {
  static const std::regex name(R"([a-z][a-z_0-9]*)");
  Names found;
  for (std::sregex_iterator it(text.begin(), text.end(), name), end; it != end; ++it) found.insert(it->str());
  return found;
}

using Table = std::map<std::string, Names>;

/// The rooms that a room may include (itself and the top of src apart), as CMake links them.
Table may_include() {
  static const std::regex row(R"(\nroom\((\w+)[A-Z_\s]*MAY_INCLUDE([a-z0-9_\s]*)(LIBRARIES[^)]*)?\))");
  const std::string text = text_of("src/rooms.cmake");
  Table table;
  for (std::sregex_iterator it(text.begin(), text.end(), row), end; it != end; ++it)
    table[(*it)[1]] = names_in((*it)[2]);
  return table;
}

/// The only rooms that may name an outside library; Eigen and fmt are everywhere.
const std::map<std::string, Names> kLibraryRooms = {
    {"open3d/", {"open3d_adapter"}},
    {"nanoflann", {"geometry"}},
    {"pugixml", {"assessment", "report", "words"}},
    {"nlohmann/", {"mesh_io", "report", "page", "commands"}},
    {"emscripten", {"page"}},
    {"pybind11", {"python"}},
    {"openssl/", {"digest"}},
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

/// What has more lines than this says more than one thing.
constexpr std::size_t kLongest = 60;

/// The first lines of functions that are longer. As clang-format sets them, the brace that closes a function stands
/// under its first line: at the margin, or two in within a class.
std::vector<std::string> long_functions(std::istream& source) {
  struct Open {
    std::string first_line;
    std::size_t at = 0;
  };
  std::array<Open, 2> open;
  std::vector<std::string> found;
  std::size_t number = 0;
  for (std::string line; std::getline(source, line);) {
    ++number;
    const std::size_t indent = line.find_first_not_of(' ');
    if (indent != 0 && indent != 2) continue;
    Open& here = open[indent / 2];
    if (line.substr(indent) == "}" && number + 1 - here.at > kLongest) found.push_back(here.first_line);
    if (std::isalpha(static_cast<unsigned char>(line[indent]))) here = {line, number};
  }
  return found;
}

/// The keys of messages in a source: its strings of words with dots between them that are no file's name.
Names keys_in(const std::string& source) {
  static const std::regex key(R"re("([a-z][a-z_0-9]*(?:\.[a-z_0-9]+)+)")re"),
      file_name(R"(.*\.(h|xml|so|ply|html|json|csv))");
  Names found;
  for (std::sregex_iterator it(source.begin(), source.end(), key), end; it != end; ++it)
    if (!std::regex_match((*it)[1].str(), file_name)) found.insert((*it)[1]);
  return found;
}

}  // namespace

TEST_CASE("a room includes only the rooms that src/rooms.cmake lets it") {
  const Table table = may_include();
  for_each_source([&](const std::string& room, const fs::path& file) {
    CAPTURE(file.string());
    REQUIRE(table.contains(room));
    for (const std::string& name : includes_of(file)) {
      const std::string other = name.substr(0, name.find('/'));
      if (name.find('/') == std::string::npos || !table.contains(other) || other == room) continue;
      CAPTURE(name);
      CHECK(table.at(room).contains(other));
    }
  });
}

TEST_CASE("no room may include one that may include it") {
  const Table table = may_include();
  for (const auto& [room, rooms] : table)
    for (const std::string& other : rooms) {
      CAPTURE(room);
      CAPTURE(other);
      REQUIRE(table.contains(other));
      CHECK_FALSE(table.at(other).contains(room));
    }
}

TEST_CASE("DEVELOPERS.md has the rooms of src/rooms.cmake, and what they may include") {
  static const std::regex row(R"(\n\| `(\w+)` \|[^\n]*\| ([^|\n]*) \|)");
  const std::string text = text_of("DEVELOPERS.md");
  Table told;
  for (std::sregex_iterator it(text.begin(), text.end(), row), end; it != end; ++it)
    told[(*it)[1]] = names_in((*it)[2]);
  const Table table = may_include();
  CHECK(table.size() > 15);
  for (const auto& [room, rooms] : table) {
    CAPTURE(room);
    CHECK(told[room] == rooms);
  }
  CHECK(told.size() == table.size());
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

TEST_CASE("what is installed shows the standard library, Eigen and its own headers alone") {
  const Names installed = {"version.h", "mesh.h", "foot.h", "last.h", "rules.h", "result.h", "fit.h"};
  const Names standard = {"array",     "cstdint", "filesystem",  "memory",  "optional", "span",
                          "stdexcept", "string",  "string_view", "utility", "vector"};
  for (const std::string& header : installed)
    for (const std::string& name : includes_of(fs::path("src/lastroom") / header)) {
      CAPTURE(header);
      CAPTURE(name);
      const bool own = name.starts_with("lastroom/") && installed.contains(name.substr(9));
      CHECK((own || standard.contains(name) || name.starts_with("Eigen/")));
    }
}

TEST_CASE("only fitting.cpp knows all stages") {
  for_each_source([](const std::string& room, const fs::path& file) {
    if (!kStages.contains(room)) return;
    CAPTURE(file.string());
    CHECK_FALSE(includes_of(file).contains("fitting.h"));
  });
}

TEST_CASE("every fact that a room tells has its words in every catalogue") {
  std::size_t told = 0;
  for_each_source([&](const std::string& room, const fs::path& file) {
    if (!kStages.contains(room) && room != "open3d_adapter") return;
    CAPTURE(file.string());
    for (const std::string& key : keys_in(text_of(file))) {
      CAPTURE(key);
      for (const std::string& language : lastroom::report_languages()) CHECK(lastroom::Words(language).has(key));
      ++told;
    }
  });
  CHECK(told > 100);  // the test has found the keys
}

TEST_CASE("what is wrong with a mesh, a scan or a last is told by key, not by sentence") {
  const std::regex thrown(R"(throw InputError\()");
  const std::regex keyed(R"re(throw InputError\(\s*(about_file\(|\{"|Message\{|why\.empty\(\) \? Message))re");
  const auto count = [](const std::string& source, const std::regex& what) {
    return std::distance(std::sregex_iterator(source.begin(), source.end(), what), {});
  };
  for_each_source([&](const std::string& room, const fs::path& file) {
    const bool of_inputs = room == "files" || room == "open3d_adapter" || room == "preparation" ||
                           (room == "mesh_io" && file.filename() != "read_clearance.cpp");
    if (!of_inputs) return;
    CAPTURE(file.string());
    const std::string source = text_of(file);
    CHECK(count(source, keyed) == count(source, thrown));
  });
}

TEST_CASE("no function is longer than sixty lines, but the table of options") {
  std::stringstream made("int a() {\n" + std::string(58, '\n') + "}\nstruct B {\n  int c() {\n" +
                         std::string(59, '\n') + "  }\n};\n");
  CHECK(long_functions(made) == std::vector<std::string>{"  int c() {"});

  for_each_source([](const std::string&, const fs::path& file) {
    CAPTURE(file.string());
    std::ifstream source(file);
    for (const std::string& first_line : long_functions(source)) {
      CAPTURE(first_line);
      CHECK(first_line.find(" read_command_line(") != std::string::npos);  // the table of commands
    }
  });
}

TEST_CASE("a header that is private to a room is included there alone") {
  std::map<std::string, std::string> room_of;
  for_each_source([&](const std::string& room, const fs::path& file) {
    if (text_of(file).find("\n// Private to " + room) != std::string::npos)
      room_of[fs::relative(file, "src").generic_string()] = room;
  });
  CHECK(room_of.size() > 5);
  for_each_source([&](const std::string& room, const fs::path& file) {
    CAPTURE(file.string());
    for (const std::string& name : includes_of(file)) {
      CAPTURE(name);
      if (room_of.contains(name)) CHECK(room_of[name] == room);
    }
  });
}

TEST_CASE("no two types have one name") {
  const std::regex type(R"(\n(?:struct|class|enum class|enum) (?:alignas\(\d+\) )?(\w+)[^;{]*\{)");
  std::map<std::string, std::string> header_of;
  for_each_source([&](const std::string& room, const fs::path& file) {
    // Those two have namespaces of their own.
    if (file.extension() != ".h" || room == "lastroom" || file.filename() == "older_libcxx.h") return;
    const std::string text = text_of(file);
    for (std::sregex_iterator it(text.begin(), text.end(), type), end; it != end; ++it) {
      CAPTURE(it->str(1));
      CAPTURE(file.string());
      CHECK(header_of[it->str(1)] == "");
      header_of[it->str(1)] = file.string();
    }
  });
  CHECK(header_of.size() > 100);
}
