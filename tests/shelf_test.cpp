// The parts of a shelf that need no foot: the list of jobs, the index, the journal, and how rows are ranked.
#include <doctest/doctest.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "commands/jobs_file.h"
#include "commands/journal.h"
#include "commands/shelf_files.h"
#include "demo/make_last.h"
#include "error.h"
#include "files/output_folder.h"
#include "mesh_io/write_mesh.h"
#include "report/csv.h"
#include "report/message_json.h"
#include "screening/ranking.h"
#include "shelf_index/packed_last.h"

namespace {

using namespace lastroom;
namespace fs = std::filesystem;

/// A folder of its own, removed at the end.
struct Bench {
  fs::path folder = fs::temp_directory_path() / ("lastroom_shelf_test_" + std::to_string(getpid()));
  Bench() { fs::create_directories(folder); }
  ~Bench() { fs::remove_all(folder); }
  fs::path put(const std::string& name, const std::string& bytes) const {
    std::ofstream(folder / name, std::ios::binary) << bytes;
    return folder / name;
  }
};

std::string problem_of(const std::string& jobs) {
  try {
    parse_jobs(jobs, "jobs.csv");
  } catch (const InputError& error) {
    return error.what();
  }
  return "";
}

std::string coarse_last(double heel_height_mm) {
  FootShape foot;
  foot.edge_mm = 4.0;
  LastShape last;
  last.edge_mm = 5.0;
  last.heel_height_mm = heel_height_mm;
  return stl_binary(make_last(make_foot(foot), last).mesh);
}

ShelfRow row(const char* file, Fate fate, Verdict verdict, double margin_mm, double most_mm = 1e9) {
  ShelfRow made;
  made.file = file;
  made.fate = fate;
  made.verdict = verdict;
  made.margin.mm = margin_mm;
  made.sieve.most_margin_mm = most_mm;
  return made;
}

}  // namespace

TEST_CASE("a list of jobs is read as RFC 4180 says, with a byte order mark and any order of columns") {
  const auto jobs = parse_jobs(
      "\xEF\xBB\xBFwearer,client,scan,last,shelf,side\r\n"
      "at-risk,\"Arnold, \"\"Max\"\" \",a.ply,,lasts,left\r\n"
      ",\"two\r\nlines\",b.ply,b.stl,,auto\r\n"
      "\r\n"
      ",,c.ply,\"c, d.stl\",,\n",
      "jobs.csv");
  REQUIRE(jobs.size() == 3);
  CHECK(jobs[0].client == "Arnold, \"Max\" ");
  CHECK(jobs[0].shelf == "lasts");
  CHECK(jobs[0].side == Side::left);
  CHECK(jobs[0].wearer == Wearer::at_risk);
  CHECK(jobs[1].client == "two\r\nlines");
  CHECK_FALSE(jobs[1].side);
  CHECK(jobs[2].number == 3);
  CHECK(jobs[2].feet[0].last == "c, d.stl");
}

TEST_CASE("a line of a list of jobs may be a pair of feet, in lasts of their own or on a shelf") {
  const auto jobs = parse_jobs(
      "left_scan,left_last,right_scan,right_last,scan,last,shelf,landmarks\n"
      "l.ply,l.stl,r.ply,r.stl,,,,marks.json\n"
      ",,,,a.ply,a.stl,,\n"
      "l.ply,,r.ply,,,,lasts,\n",
      "jobs.csv");
  REQUIRE(jobs.size() == 3);
  REQUIRE(jobs[0].feet.size() == 2);
  CHECK(jobs[0].feet[0].scan == "l.ply");
  CHECK(jobs[0].feet[1].last == "r.stl");
  CHECK(jobs[0].landmarks == "marks.json");
  REQUIRE(jobs[1].feet.size() == 1);
  CHECK(jobs[1].feet[0].scan == "a.ply");
  CHECK(jobs[2].feet.size() == 2);
  CHECK(jobs[2].shelf == "lasts");
}

TEST_CASE("a list of jobs that can't be used is refused with its line and a sentence") {
  const std::pair<const char*, const char*> bad[] = {
      {"", "line 1: no column is called ''"},
      {"scan,last\n", "names no job"},
      {"last,side\nb.stl,left\n", "line 1: the column 'scan' is missing"},
      {"scan,side\na.ply,left\n", "line 1: there is neither a column 'last' nor 'shelf'"},
      {"scan,last,size\na.ply,b.stl,42\n", "line 1: no column is called 'size'"},
      {"scan,last,last\na.ply,b.stl,c.stl\n", "line 1: the column 'last' is there twice"},
      {"scan;last\na.ply;b.stl\n", "line 1: the columns are parted by semicolons"},
      {"scan,last\na.ply,b.stl,c.stl\n", "line 2: has 3 fields"},
      {"scan,last\n\na.ply\n", "line 3: has 1 fields"},
      {"scan,last\na.ply,\n", "either a last or a shelf"},
      {"scan,last,shelf\na.ply,b.stl,lasts\n", "either a last or a shelf"},
      {"scan,last\n,b.stl\n", "names no scan"},
      {"left_scan,left_last,right_scan,right_last\nl.ply,l.stl,r.ply,\n", "the lasts of both feet or a shelf"},
      {"left_scan,right_scan,shelf\nl.ply,,lasts\n", "the scans of both feet"},
      {"scan,left_scan,right_scan,shelf\na.ply,l.ply,r.ply,lasts\n", "both one foot and a pair"},
      {"left_scan,right_scan,shelf,side\nl.ply,r.ply,lasts,left\n", "leave its side empty"},
      {"scan,last,side\na.ply,b.stl,middle\n", "'middle' is no side"},
      {"scan,last,wearer\na.ply,b.stl,ill\n", "'ill' is no kind of wearer"},
      {"scan,last\na.ply,\"b.stl\n", "line 2: a quote is opened"},
      {"scan,last\na.ply,\"b\".stl\n", "a quote is closed in the middle"},
      {"scan,last\na.ply,b\".stl\n", "a quote stands inside"},
      {"\xFF\xFEs", "UTF-16"},
  };
  for (const auto& [text, words] : bad) {
    CAPTURE(text);
    const std::string problem = problem_of(text);
    CAPTURE(problem);
    CHECK(problem.starts_with("jobs.csv"));
    CHECK(problem.find(words) != std::string::npos);
    CHECK(problem.find('\n') == std::string::npos);
  }
}

TEST_CASE("the index gives back a prepared last as it was kept, and nothing of another build or unit") {
  const Bench bench;
  const fs::path file = bench.put("last.stl", coarse_last(25.0));
  const ReadyLast ready = ready_last(read_mesh(file), {});
  const LastKey key{ready.last.facts.sha256, ""};
  {
    ShelfIndex index(bench.folder / "index", "build one");
    CHECK(index.state(key) == IndexState::absent);
    index.keep(key, ready);
    CHECK(index.state(key) == IndexState::ready);
    CHECK(index.is_sound());
  }
  ShelfIndex index(bench.folder / "index", "build one");
  ReadyLast found;
  REQUIRE(index.load(key, found));
  const auto& [last, measures, boxes] = found;
  CHECK(last.mesh.vertices == ready.last.mesh.vertices);
  CHECK(last.mesh.triangles == ready.last.mesh.triangles);
  CHECK(last.bottom == ready.last.bottom);
  CHECK(last.feather_edge == ready.last.feather_edge);
  CHECK(last.centre_line == ready.last.centre_line);
  CHECK(last.last_from_file.matrix() == ready.last.last_from_file.matrix());
  CHECK(last.first_joint == ready.last.first_joint);
  CHECK(last.facts.sha256 == ready.last.facts.sha256);
  CHECK(sentences(last.facts.repairs) == sentences(ready.last.facts.repairs));
  CHECK(measures.joint_girth.loop_mm == ready.measures.joint_girth.loop_mm);
  CHECK(measures.toe_spring_mm == ready.measures.toe_spring_mm);
  CHECK(boxes.triangles == ready.boxes.triangles);
  CHECK(packed(found) == packed(ready));  // boxes and all
  const auto kept = index.find(key);
  REQUIRE(kept);
  CHECK(kept->side == ready.last.side);
  CHECK(kept->measures.heel_girth.mm == ready.measures.heel_girth.mm);

  CHECK_FALSE(index.find({key.sha256, "cm"}));
  ShelfIndex other(bench.folder / "index", "build two");
  CHECK(other.state(key) == IndexState::stale);
  CHECK_FALSE(other.find(key));
  CHECK_FALSE(other.load(key, found));
}

TEST_CASE("a last that is changed after it was measured is refused, with an index and without one") {
  const Bench bench;
  const fs::path file = bench.put("last.stl", coarse_last(25.0));
  for (const fs::path& index : {fs::path(), bench.folder / "index"}) {
    CAPTURE(index);
    bench.put("last.stl", coarse_last(25.0));
    ShelfFiles shelf(index, {}, {});
    const ShelfFiles::Known known = shelf.know(file);
    CHECK(shelf.ready(file, known.sha256).last.facts.file == "last.stl");
    bench.put("last.stl", coarse_last(35.0));
    CHECK_THROWS_WITH_AS(shelf.ready(file, known.sha256),
                         "last.stl: was changed while the shelf was screened; screen it again", InputError);
  }
}

TEST_CASE("an index that lies on the shelf, its journal and a link to it are no lasts of it") {
  const Bench bench;
  const fs::path shelf = bench.folder / "lasts";
  fs::create_directories(shelf);
  for (const char* name : {"derby.stl", "my.sqlite", "my.sqlite-journal", "other.sqlite"})
    bench.put(std::string("lasts/") + name, "x");
  fs::create_symlink("my.sqlite", shelf / "link");
  const std::vector<fs::path> lasts = {shelf / "derby.stl", shelf / "other.sqlite"};
  CHECK(files_of_shelf(shelf, shelf / "my.sqlite") == lasts);
  CHECK(files_of_shelf(shelf, shelf / ".." / "lasts" / "link") == lasts);
  CHECK(files_of_shelf(shelf, "").size() == 5);
}

TEST_CASE("a result that replaces another has no job.json until its own is written") {
  const Bench bench;
  const fs::path job = bench.folder / "0001";
  fs::create_directories(job);
  bench.put("0001/job.json", "{\"key\": \"another wearer's\"}");
  bench.put("0001/notes.txt", "the maker's own");
  OutputFolder result(job, true);
  result.write("result.json", "{}");
  result.publish();
  CHECK(fs::exists(job / "result.json"));
  CHECK(fs::exists(job / "notes.txt"));
  CHECK_FALSE(fs::exists(job / "job.json"));
}

TEST_CASE("a journal goes on where it was, without a torn line, and only for the same work") {
  const Bench bench;
  const fs::path output = bench.folder / "out", file = bench.folder / "out.unfinished";
  {
    Journal journal(output, "work");
    journal.add("one", {{"margin", 0.1}});
    journal.add("two", {{"margin", -2.0}});
    CHECK_THROWS_AS(Journal(output, "work"), OutputError);  // another program is at it
  }
  std::ofstream(file, std::ios::app) << R"({"key":"three","en)";
  {
    Journal journal(output, "work");
    CHECK(journal.size() == 2);
    CHECK(journal.at("one").at("margin") == 0.1);
    CHECK_FALSE(journal.has("three"));
    journal.add("three", {{"margin", 3.0}});
  }
  {
    Journal journal(output, "work");
    CHECK(journal.at("three").at("margin") == 3.0);
    journal.done();
    CHECK_FALSE(fs::exists(file));
  }
  { Journal(output, "work").add("one", {}); }
  CHECK(Journal(output, "other work").size() == 0);
}

TEST_CASE("rows are ranked by fate, verdict, margin and name") {
  std::vector<ShelfRow> rows = {
      row("e", Fate::unusable, Verdict::none, 0.0),       row("d", Fate::left_out, Verdict::none, 0.0, -3.0),
      row("c", Fate::left_out, Verdict::none, 0.0, -1.0), row("b", Fate::judged, Verdict::pinch, 5.0),
      row("a2", Fate::judged, Verdict::watch, -1.0),      row("a1", Fate::judged, Verdict::watch, -1.0),
      row("a0", Fate::judged, Verdict::clear, 0.2)};
  rank(rows);
  std::string order;
  for (const ShelfRow& r : rows) order += r.file + " ";
  CHECK(order == "a0 a1 a2 b c d e ");
}

TEST_CASE("the search stops exactly when none of the others could come among the best") {
  // What the check will find; foretold margins are never less.
  const std::vector<std::pair<double, double>> found_and_foretold = {
      {0.5, 1e9},   {-0.5, -0.2}, {-1.0, -0.3}, {-2.0, -0.6}, {-3.0, -0.9}, {-4.0, -1.5},
      {-5.0, -2.5}, {-9.0, -3.0}, {-9.0, -4.0}, {-9.0, -5.0}, {-9.0, -6.0}};
  std::vector<ShelfRow> rows;
  for (std::size_t i = 0; i < found_and_foretold.size(); ++i)
    rows.push_back(row(std::to_string(i).c_str(), Fate::left_out, Verdict::none, 0.0, found_and_foretold[i].second));
  const auto check = [&](ShelfRow& r) {
    r.margin.mm = found_and_foretold[static_cast<std::size_t>(std::stoi(r.file))].first;
    r.verdict = r.margin.mm >= 0.0 ? Verdict::clear : Verdict::watch;
    r.fate = Fate::judged;
  };
  std::size_t checked = 0;
  check_best_first(rows, 2, check, [&](std::size_t n, std::size_t) { checked = n; });
  CHECK(checked == 8);  // one round holds eight; the second best, -0.5, beats all that follow
  for (ShelfRow& r : rows) r.fate = Fate::left_out;
  check_best_first(rows, 0, check, [&](std::size_t n, std::size_t) { checked = n; });
  CHECK(checked == rows.size());
}

TEST_CASE("a field of a table is as RFC 4180 says, and never a formula") {
  CHECK(csv_field("derby 42") == "derby 42");
  CHECK(csv_field("a,b") == "\"a,b\"");
  CHECK(csv_field("a \"b\"\nc") == "\"a \"\"b\"\"\nc\"");
  CHECK(csv_field("=SUM(A1,A2)") == "\"'=SUM(A1,A2)\"");
  CHECK(csv_field("@last") == "'@last");
  // Where lists are parted by semicolons, a cell begins after one, and quotes further left don't count.
  CHECK(csv_field("derby;=1+1") == "\"derby;'=1+1\"");
  CHECK(csv_field("derby; \"=1+1") == "\"derby; \"\"'=1+1\"");
  CHECK(csv_field("two\n-1") == "\"two\n'-1\"");
  CHECK(csv_field("a\t+1") == "\"a\t'+1\"");
  CHECK(csv_field(" =1") == " '=1");
  // The full-width forms, which spreadsheets take for the same: U+FF1D, U+FF0B, U+FF0D, U+FF20.
  for (const char* sign : {"\uFF1D", "\uFF0B", "\uFF0D", "\uFF20"})
    CHECK(csv_field(std::string(sign) + "1") == std::string("'").append(sign).append("1"));
  CHECK(csv_field("derby - 42 = good") == "derby - 42 = good");
}
