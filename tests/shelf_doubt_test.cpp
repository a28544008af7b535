// What is kept of a shelf is never believed over the files: damage at random, changed rows, damaged journals.
#include <doctest/doctest.h>
#include <sqlite3.h>
#include <unistd.h>

#include <cstring>
#include <filesystem>
#include <fstream>
#include <limits>
#include <random>

#include "build_name.h"
#include "commands/journal.h"
#include "commands/shelf_files.h"
#include "demo/make_last.h"
#include "error.h"
#include "fitting.h"
#include "mesh_io/write_mesh.h"
#include "shelf_index/packed_last.h"

namespace {

using namespace lastroom;
namespace fs = std::filesystem;

std::string bytes_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

void put(const fs::path& file, const std::string& bytes) { std::ofstream(file, std::ios::binary) << bytes; }

/// Three coarse lasts, an index of them, and what preparing them from their files gives.
struct Shelf {
  fs::path folder = fs::temp_directory_path() / ("lastroom_shelf_doubt_test_" + std::to_string(getpid()));
  fs::path index = folder / "index";
  std::vector<fs::path> files;
  std::vector<ShelfFiles::Known> known;
  std::vector<std::string> bodies;

  Shelf() {
    fs::create_directories(folder);
    FootShape foot;
    foot.edge_mm = 5.0;
    LastShape last;
    last.edge_mm = 7.0;
    ShelfFiles shelf(index, {}, {});
    for (const double heel_mm : {20.0, 30.0, 40.0}) {
      last.heel_height_mm = heel_mm;
      files.push_back(folder / (std::to_string(files.size()) + ".stl"));
      put(files.back(), stl_binary(make_last(make_foot(foot), last).mesh));
      known.push_back(shelf.know(files.back()));
      bodies.push_back(packed(shelf.ready(files.back(), known.back().sha256)));
    }
  }
  ~Shelf() { fs::remove_all(folder); }

  /// Whether this index, or none where it can't be opened, gives every last as its file does; how many doubts it told.
  std::size_t doubts_told(const fs::path& damaged) const {
    std::optional<ShelfFiles> shelf;
    std::size_t doubts = 0;
    try {
      shelf.emplace(damaged, FittingSettings{}, ReadLimits{});
    } catch (const InputError&) {  // the screening tells it, and goes on without
      ++doubts;
      shelf.emplace(fs::path(), FittingSettings{}, ReadLimits{});
    } catch (const OutputError&) {  // one sentence, and nothing is judged
      return 1;
    }
    for (std::size_t i = 0; i < files.size(); ++i) {
      const ShelfFiles::Known found = shelf->know(files[i]);
      CHECK(found.sha256 == known[i].sha256);
      CHECK(found.last.side == known[i].last.side);
      CHECK(found.last.units == known[i].last.units);
      CHECK(found.last.chance_of_wrong_side == known[i].last.chance_of_wrong_side);
      CHECK(packed_numbers(found.last.measures) == packed_numbers(known[i].last.measures));
      CHECK(packed(shelf->ready(files[i], found.sha256)) == bodies[i]);
    }
    return doubts + shelf->doubts().size();
  }
};

void change(const fs::path& index, const std::string& sql) {
  sqlite3* db = nullptr;
  REQUIRE(sqlite3_open(index.c_str(), &db) == SQLITE_OK);
  CHECK(sqlite3_exec(db, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
  sqlite3_close(db);
}

}  // namespace

TEST_CASE("48 random damages to an index change nothing of what is known of its lasts") {
  const Shelf shelf;
  const std::string whole = bytes_of(shelf.index);
  const fs::path damaged = shelf.folder / "damaged";
  std::size_t told = 0;
  for (unsigned seed = 0; seed < 48; ++seed) {
    CAPTURE(seed);
    std::mt19937 dice(seed);
    std::string bytes = whole;
    const std::size_t pieces = 1 + dice() % 8, longest = seed % 3 == 0 ? 1 : 400;
    // Half of them near the pages' beginnings, where SQLite keeps its own.
    for (std::size_t piece = 0; piece < pieces; ++piece) {
      std::size_t at = dice() % bytes.size();
      if (dice() % 2 == 0) at = at / 4096 * 4096 + dice() % 120;
      for (std::size_t i = 0, n = 1 + dice() % longest; i < n && at + i < bytes.size(); ++i)
        bytes[at + i] = static_cast<char>(dice());
    }
    put(damaged, bytes);
    told += shelf.doubts_told(damaged) > 0;
    fs::remove(damaged);
    fs::remove(damaged.string() + "-journal");
  }
  CHECK(told > 16);  // of whichever hit a row; the others hit pages or bytes that nothing is read from
}

TEST_CASE("a row of which anything was changed is doubtful, told, prepared again and then whole") {
  const Shelf shelf;
  for (const std::string set :
       {"side = 1 - side", "file_units = 2", "file_units = 77", "chance_of_wrong_side = 0.31",
        "numbers = zeroblob(104)", "numbers = 'text'", "numbers = NULL", "body = zeroblob(length(body))",
        "body = substr(body, 1, 1000)", "body = NULL", "body_sha256 = ''", "row_sha256 = 'x'", "side = 'left'",
        "chance_of_wrong_side = 9e999", "numbers = (SELECT numbers FROM last ORDER BY sha256 LIMIT 1)"}) {
    CAPTURE(set);
    const fs::path changed = shelf.folder / "changed";
    fs::copy_file(shelf.index, changed, fs::copy_options::overwrite_existing);
    change(changed, "UPDATE last SET " + set);
    CHECK(shelf.doubts_told(changed) == 1);
    CHECK(shelf.doubts_told(changed) == 0);
  }
}

TEST_CASE("a row made on purpose, its hashes right, ends no screening whatever last it holds") {
  const Shelf shelf;
  FootShape shape;
  shape.edge_mm = 5.0;
  MeshFile scan;
  scan.mesh = make_foot(shape).mesh;
  FittingSettings settings;
  settings.day = true;
  const ReadyFoot foot = ready_foot(scan, settings);
  const std::pair<const char*, void (*)(ReadyLast&)> crafts[] = {
      {"flat",
       [](ReadyLast& r) {
         for (Vec3& v : r.last.mesh.vertices) v.z() = 0.0;
       }},
      {"one point",
       [](ReadyLast& r) {
         for (Vec3& v : r.last.mesh.vertices) v = Vec3::Zero();
       }},
      {"vast",
       [](ReadyLast& r) {
         for (Vec3& v : r.last.mesh.vertices) v *= 1e200;
       }},
      {"tiny",
       [](ReadyLast& r) {
         for (Vec3& v : r.last.mesh.vertices) v *= 1e-200;
       }},
      {"inside out",
       [](ReadyLast& r) {
         for (Triangle& t : r.last.mesh.triangles) std::swap(t[0], t[1]);
       }},
      {"all corners one",
       [](ReadyLast& r) {
         std::ranges::fill(r.last.mesh.triangles, Triangle{7, 7, 7});
       }},
      {"no bottom", [](ReadyLast& r) { std::ranges::fill(r.last.bottom, std::uint8_t{0}); }},
      {"all bottom", [](ReadyLast& r) { std::ranges::fill(r.last.bottom, std::uint8_t{1}); }},
      {"edge in one point", [](ReadyLast& r) { r.last.feather_edge.assign(3, Vec3(9.0, 9.0, 9.0)); }},
      {"edge far off",
       [](ReadyLast& r) {
         for (Vec3& v : r.last.feather_edge) v *= 1e100;
       }},
      {"centre line in one point", [](ReadyLast& r) { r.last.centre_line.assign(2, Vec3::Zero()); }},
      {"centre line backwards", [](ReadyLast& r) { std::ranges::reverse(r.last.centre_line); }},
      {"joints far off", [](ReadyLast& r) { r.last.first_joint = r.last.fifth_joint = Vec3(1e300, -1e300, 1e300); }},
      {"joints in one point", [](ReadyLast& r) { r.last.first_joint = r.last.fifth_joint = r.last.heel_back; }},
      {"toe behind the heel", [](ReadyLast& r) { std::swap(r.last.toe_end, r.last.heel_back); }},
      {"of no size", [](ReadyLast& r) { r.measures = {}; }},
      {"measures of 1e300", [](ReadyLast& r) { r.measures.length_mm = r.measures.stick_length_mm = 1e300; }},
      {"boxes of nothing", [](ReadyLast& r) { r.boxes.radius_mm = 0.0; }}};
  for (const auto& [name, craft] : crafts) {
    CAPTURE(std::string(name));
    const fs::path file = shelf.folder / "crafted";
    fs::copy_file(shelf.index, file, fs::copy_options::overwrite_existing);
    const ReadLimits limits;
    ShelfFiles crafted(file, settings, limits);
    ReadyLast last = crafted.ready(shelf.files[0], shelf.known[0].sha256);
    craft(last);
    REQUIRE(ShelfIndex(file, std::string(build_name())).keep(crafted.key_of(shelf.known[0].sha256), last));
    const auto judged = [&](ReadyLast ready) { fit_foot_in_last(foot, std::move(ready), default_rules(), settings); };
    // As a screening does: what can't be worked with is prepared again, what can't be used is told.
    try {
      judged(crafted.ready(shelf.files[0], shelf.known[0].sha256));
    } catch (const std::logic_error&) {
      judged(crafted.ready_afresh(shelf.files[0], shelf.known[0].sha256));
    } catch (const InputError&) {
    }
  }
}

TEST_CASE("what a last is packed as is taken back only when it can be a last") {
  const Shelf shelf;
  const std::string& whole = shelf.bodies[0];
  ReadyLast ready;
  REQUIRE(unpack(whole, ready));
  std::string bytes = whole;
  const double nan = std::numeric_limits<double>::quiet_NaN();
  std::memcpy(bytes.data() + 8, &nan, sizeof nan);  // the first vertex, after their number
  CHECK_FALSE(unpack(bytes, ready));
  CHECK_FALSE(unpack("", ready));
  for (std::size_t size = 0; size < whole.size(); size += 997) CHECK_FALSE(unpack(whole.substr(0, size), ready));
  CHECK_FALSE(unpack(whole + "x", ready));
}

TEST_CASE("a journal with any byte changed gives what was written, or is done again") {
  const fs::path folder = fs::temp_directory_path() / ("lastroom_journal_doubt_test_" + std::to_string(getpid()));
  fs::create_directories(folder);
  const fs::path output = folder / "out", file = folder / "out.unfinished";
  {
    Journal journal(output, "work");
    journal.add("one", {{"margin", 0.125}});
    journal.add("two", {{"margin", -2.0}});
  }
  const std::string whole = bytes_of(file);
  for (std::size_t at = 0; at < whole.size(); ++at)
    for (const char other : {'0', '"', '\n', '\0', '\xFF'}) {
      CAPTURE(at);
      std::string bytes = whole;
      bytes[at] = other;
      put(file, bytes);
      const Journal journal(output, "work");
      if (journal.has("one")) CHECK(journal.at("one").at("margin") == 0.125);
      if (journal.has("two")) CHECK(journal.at("two").at("margin") == -2.0);
      const std::size_t mine = std::size_t{journal.has("one")} + std::size_t{journal.has("two")};
      CHECK(journal.size() == mine);
    }
  for (const std::string line : {"[]", "{\"key\":3}", "{\"key\":\"x\"}", "{\"key\":\"x\",\"entry\":1}", "null", "3"}) {
    put(file, "{\"run\":\"work\"}\n" + line + "\n");
    CHECK(Journal(output, "work").size() == 0);
    put(file, line + "\n");
    CHECK(Journal(output, "work").size() == 0);
  }
  fs::remove_all(folder);
}
