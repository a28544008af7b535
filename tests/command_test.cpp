// The program as its users meet it: files in, exit status, sentences and files out (contract: commands and exit
// status).
#include <doctest/doctest.h>
#include <sys/wait.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>

#include "demo/make_last.h"
#include "mesh_io/write_mesh.h"

namespace {

using namespace lastroom;
namespace fs = std::filesystem;

/// A folder of its own, removed at the end.
struct Bench {
  fs::path folder = fs::temp_directory_path() / ("lastroom_command_test_" + std::to_string(getpid()));
  Bench() { fs::create_directories(folder); }
  ~Bench() { fs::remove_all(folder); }
  std::string put(const std::string& name, const std::string& bytes) const {
    std::ofstream(folder / name, std::ios::binary) << bytes;
    return (folder / name).string();
  }
  std::string path(const std::string& name) const { return (folder / name).string(); }
};

struct Run {
  int status = -1;
  std::string out, err;
};

std::string slurp(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// As of a wearer who was asked, unless the arguments say who it is.
Run lastroom_run(const Bench& bench, std::string arguments, const std::string& environment = "") {
  const fs::path out = bench.folder / "stdout", err = bench.folder / "stderr";
  for (const char* judges : {"check ", "screen ", "batch "})
    if (arguments.starts_with(judges) && arguments.find("--wearer") == std::string::npos &&
        arguments.find("--help") == std::string::npos)
      arguments.insert(std::string_view(judges).size(), "--wearer standard ");
  const std::string command =
      environment + LASTROOM_PROGRAM + " " + arguments + " >'" + out.string() + "' 2>'" + err.string() + "' </dev/null";
  const int status = std::system(command.c_str());
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, slurp(out), slurp(err)};
}

Mesh box_mesh(const Vec3& size) {
  Mesh mesh;
  for (int i = 0; i < 8; ++i) mesh.vertices.push_back(Vec3(i & 1, i >> 1 & 1, i >> 2 & 1).cwiseProduct(size));
  mesh.triangles = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                    {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  return mesh;
}

Mesh joined(Mesh a, const Mesh& b) {
  const auto shift = static_cast<std::uint32_t>(a.vertices.size());
  a.vertices.insert(a.vertices.end(), b.vertices.begin(), b.vertices.end());
  for (const Triangle& t : b.triangles) a.triangles.push_back({t[0] + shift, t[1] + shift, t[2] + shift});
  return a;
}

Mesh scaled(Mesh mesh, double factor) {
  for (Vec3& v : mesh.vertices) v *= factor;
  return mesh;
}

struct DemoFiles : Bench {
  MadeFoot foot = make_foot({});
  MadeLast made_last = make_last(foot, {});
  std::string scan = put("foot.ply", ply_binary(foot.mesh));
  std::string last = put("last.stl", stl_binary(made_last.mesh));
  std::string pair = "'" + scan + "' '" + last + "' ";
};

}  // namespace

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
                                      "check --left a b --right a b --eml m -o c"}) {
    CAPTURE(arguments);
    const Run run = lastroom_run(bench, arguments);
    CHECK(run.status == 2);
    CHECK(!run.err.empty());
    CHECK(run.out.empty());
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

TEST_CASE("the main job writes its three files and a verdict") {
  const DemoFiles files;
  const Run run = lastroom_run(files, "check " + files.pair + "-o '" + files.path("out") + "' --date 2026-01-02");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  CHECK(run.out.starts_with("verdict: "));
  const auto result = nlohmann::json::parse(slurp(files.path("out/result.json")));
  CHECK(result["schema"] == "lastroom.result/1");
  CHECK(result["verdict"] != "none");
  CHECK(result["side"] == "right");
  CHECK(slurp(files.path("out/report.html")).size() > 10'000);
  CHECK(slurp(files.path("out/clearance.ply")).starts_with("ply\n"));

  SUBCASE("an output folder that exists is kept unless --overwrite is given") {
    const Run again = lastroom_run(files, "check " + files.pair + "-o '" + files.path("out") + "'");
    CHECK(again.status == 5);
    CHECK(again.err.find("--overwrite") != std::string::npos);
    CHECK(lastroom_run(files, "check " + files.pair + "--overwrite -o '" + files.path("out") + "'").status == 0);
  }
  SUBCASE("the same input gives the same bytes, with one thread and with two") {
    for (const std::string threads : {"1", "2"}) {
      REQUIRE(lastroom_run(files, "check " + files.pair + "-o '" + files.path("out" + threads) +
                                      "' --date 2026-01-02 --threads " + threads)
                  .status == 0);
      CHECK(slurp(files.path("out" + threads + "/report.html")) == slurp(files.path("out/report.html")));
      CHECK(slurp(files.path("out" + threads + "/clearance.ply")) == slurp(files.path("out/clearance.ply")));
      auto other = nlohmann::json::parse(slurp(files.path("out" + threads + "/result.json"))), first = result;
      other.erase("timing_s");
      first.erase("timing_s");
      CHECK(other == first);
    }
  }
}

TEST_CASE("further files are written where they are asked for") {
  const DemoFiles files;
  LastShape pressing;
  pressing.room.fifth_toe_side = -5.0;
  const std::string last = files.put("pressing.stl", stl_binary(make_last(files.foot, pressing).mesh));
  const Run run = lastroom_run(files, "check '" + files.scan + "' '" + last + "' --quiet -o '" + files.path("out") +
                                          "' --eml '" + files.path("mail.eml") + "' --template '" +
                                          files.path("toes.svg") + "' --corrected-last '" + files.path("new.stl") +
                                          "' --pdf '" + files.path("report.pdf") + "'");
  CAPTURE(run.err);
  CHECK(run.status == 0);
  CHECK(slurp(files.path("mail.eml")).find("Subject: ") != std::string::npos);
  CHECK(slurp(files.path("toes.svg")).find("<svg") != std::string::npos);
  CHECK(slurp(files.path("new.stl")).size() == slurp(last).size());
  CHECK(slurp(files.path("report.pdf")).starts_with("%PDF-"));
}

TEST_CASE("the PDF is of the page that was written, whatever its folder is called") {
  const DemoFiles files;
  // In an address "fit#1" is a place in "fit": another client's page, if one lies there.
  files.put("fit", "<html><title>Another client</title></html>");
  const std::string check = "check " + files.pair + "--quiet --overwrite -o '" + files.path("fit#1 50%41 ü?") + "' ";
  const Run run = lastroom_run(files, check + "--pdf '" + files.path("odd.pdf") + "'");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  CHECK(slurp(files.path("odd.pdf")).size() > 50'000);  // the report has pictures; a line of words has 10 kB
  const Run no_room = lastroom_run(files, check + "--pdf '" + files.path("never.pdf") + "'", "TMPDIR=/nowhere ");
  CHECK(no_room.status == 5);
  CHECK(no_room.err.find("TMPDIR") != std::string::npos);
}

TEST_CASE("bad input ends in status 3, one sentence, no folder and never a verdict") {
  const DemoFiles files;
  const std::string good_stl = stl_binary(files.made_last.mesh);
  Mesh two_feet = joined(files.foot.mesh, moved(files.foot.mesh, Motion(Eigen::Translation3d(0, 150, 0))));
  Mesh no_triangle;
  no_triangle.vertices = {Vec3(0, 0, 0), Vec3(1, 0, 0)};
  const std::string not_a_number =
      "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
      "element face 1\nproperty list uchar int vertex_indices\nend_header\nnan nan nan\nnan 0 0\n0 nan 0\n3 0 1 2\n";
  const std::array<std::pair<const char*, std::string>, 10> scans = {{
      {"missing", files.path("nowhere.ply")},
      {"empty", files.put("empty.stl", "")},
      {"cut off", files.put("cut.stl", good_stl.substr(0, good_stl.size() / 2))},
      {"text", files.put("text.stl", "Dear maker,\nplease find my foot attached.\n")},
      {"not a number", files.put("nan.ply", not_a_number)},
      {"no triangle", files.put("points.stl", stl_binary(no_triangle))},
      {"cube", files.put("cube.stl", stl_binary(box_mesh(Vec3(250, 100, 80))))},
      {"two feet", files.put("two.ply", ply_binary(two_feet))},
      {"a last as scan", files.last},
      {"a folder", files.folder.string()},
  }};
  for (const auto& [what, scan] : scans) {
    CAPTURE(what);
    const Run run =
        lastroom_run(files, "check '" + scan + "' '" + files.last + "' --quiet -o '" + files.path("never") + "'");
    CAPTURE(run.err);
    CHECK(run.status == 3);
    CHECK(std::count(run.err.begin(), run.err.end(), '\n') == 1);
    CHECK(run.err.size() > 40);
    CHECK(run.out.empty());
    CHECK_FALSE(fs::exists(files.path("never")));
  }
  SUBCASE("a scan given as the last") {
    const Run run =
        lastroom_run(files, "check '" + files.scan + "' '" + files.scan + "' --quiet -o '" + files.path("never") + "'");
    CAPTURE(run.err);
    CHECK(run.status == 3);
    CHECK_FALSE(fs::exists(files.path("never")));
  }
}

TEST_CASE("an output folder that can't be written is status 5") {
  const DemoFiles files;
  files.put("a_file", "not a folder");
  const Run run = lastroom_run(files, "check " + files.pair + "--quiet -o '" + files.path("a_file/out") + "'");
  CHECK(run.status == 5);
  CHECK(!run.err.empty());
}

TEST_CASE("a scan without weight has wider doubts and says so") {
  const DemoFiles files;
  REQUIRE(lastroom_run(files, "check " + files.pair + "--quiet -o '" + files.path("full") + "'").status == 0);
  REQUIRE(
      lastroom_run(files, "check " + files.pair + "--quiet --scan-load none -o '" + files.path("none") + "'").status ==
      0);
  const auto full = nlohmann::json::parse(slurp(files.path("full/result.json")));
  const auto none = nlohmann::json::parse(slurp(files.path("none/result.json")));
  for (std::size_t i = 0; i < full["zones"].size(); ++i)
    CHECK(none["zones"][i]["uncertainty_mm"].get<double>() > full["zones"][i]["uncertainty_mm"].get<double>() + 2.0);
  bool said = false;
  for (const auto& finding : none["findings"]) said = said || finding["rule"] == "scan_not_loaded";
  CHECK(said);
}

TEST_CASE("a spot marked in the landmarks file is answered, and a wrong mark is refused") {
  const DemoFiles files;
  const auto checked = [&](const std::string& landmarks, const std::string& out) {
    const std::string file = files.put("points.json", landmarks);
    return lastroom_run(files,
                        "check " + files.pair + "--quiet --landmarks '" + file + "' -o '" + files.path(out) + "'");
  };
  const Vec3& at = files.foot.first_joint;
  const nlohmann::json point = {at.x(), at.y(), at.z()};
  nlohmann::json marks;
  marks["never_press"] = {point, {{"at", point}, {"what", "Überbein"}}};
  REQUIRE(checked(marks.dump(), "marked").status == 0);
  int answered = 0;
  const nlohmann::json result = nlohmann::json::parse(slurp(files.path("marked/result.json")));
  for (const auto& finding : result["findings"]) {
    if (finding["rule"] != "marked_spot") continue;
    ++answered;
    CHECK(finding["zone"] == "inside_joint");
    CHECK(finding["measured_mm"].is_number());
  }
  CHECK(answered == 2);
  CHECK(slurp(files.path("marked/report.html")).find("Überbein") != std::string::npos);
  for (const char* wrong :
       {"{\"never_press\": 3}", "{\"never_press\": [[1, 2]]}", "{\"never_press\": [{\"what\": \"nail\"}]}",
        "{\"never_press\": [{\"at\": [1, 2, 3], \"what\": 4}]}",
        "{\"never_press\": [{\"at\": [1, 2, 3], \"why\": \"nail\"}]}", "{\"never_press\": [[1e9, 0, 0]]}"}) {
    CAPTURE(wrong);
    const Run run = checked(wrong, "never");
    CHECK(run.status == 3);
    CHECK(run.err.find("never_press") != std::string::npos);
    CHECK_FALSE(fs::exists(files.path("never")));
  }
}

TEST_CASE("measure prints a table and JSON") {
  const DemoFiles files;
  const Run table = lastroom_run(files, "measure '" + files.scan + "' --as foot");
  CHECK(table.status == 0);
  CHECK(table.out.find("joint girth") != std::string::npos);
  const Run json = lastroom_run(files, "measure '" + files.last + "' --as last --json");
  CAPTURE(json.err);
  REQUIRE(json.status == 0);
  CHECK(nlohmann::json::parse(json.out)["heel_height_mm"].is_number());
}

TEST_CASE("--fail-on turns a bad verdict into status 1") {
  const DemoFiles files;
  LastShape short_last;
  short_last.allowance_mm = 2.0;
  const std::string last = files.put("short.stl", stl_binary(make_last(files.foot, short_last).mesh));
  const std::string check =
      "check '" + files.scan + "' '" + last + "' --quiet --overwrite -o '" + files.path("out") + "'";
  CHECK(lastroom_run(files, check + " --fail-on pinch").status == 1);
  CHECK(lastroom_run(files, check).status == 0);
}

TEST_CASE("both feet: one report, a result and a clearance of each, and the worse of the two in the exit status") {
  const DemoFiles files;
  FootShape larger;
  larger.length_mm = FootShape{}.length_mm + 6.0;
  MadeFoot left = make_foot(larger);
  MadeLast left_last = make_last(left, {});
  const std::string scan = files.put("left.ply", ply_binary(mirrored_y(left.mesh)));
  const std::string last = files.put("left_last.stl", stl_binary(mirrored_y(left_last.mesh)));
  const std::string left_pair = "--left '" + scan + "' '" + last + "' ";
  const std::string check = "check " + left_pair + "--right " + files.pair + "--date 2026-01-02 ";
  const Run run = lastroom_run(files, check + "-o '" + files.path("out") + "'");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  CHECK(run.out.find("left foot: verdict: ") != std::string::npos);
  CHECK(run.out.find("right foot: verdict: ") != std::string::npos);
  for (const std::string side : {"left", "right"}) {
    const auto result = nlohmann::json::parse(slurp(files.path("out/result." + side + ".json")));
    CHECK(result["schema"] == "lastroom.result/1");
    CHECK(result["side"] == side);
    CHECK(result["verdict"] != "none");
    CHECK(slurp(files.path("out/clearance." + side + ".ply")).starts_with("ply\n"));
  }
  const std::string report = slurp(files.path("out/report.html"));
  CHECK(report.find("The left foot is the longer one") != std::string::npos);
  CHECK_FALSE(fs::exists(files.path("out/result.json")));

  SUBCASE("each foot's result is that of the foot on its own") {
    REQUIRE(lastroom_run(files, "check " + files.pair + "--side right -o '" + files.path("alone") + "'").status == 0);
    auto of_pair = nlohmann::json::parse(slurp(files.path("out/result.right.json")));
    auto alone = nlohmann::json::parse(slurp(files.path("alone/result.json")));
    of_pair.erase("timing_s");
    alone.erase("timing_s");
    CHECK(of_pair == alone);
  }
  SUBCASE("one bad foot decides the status") {
    LastShape short_last;
    short_last.allowance_mm = 2.0;
    const std::string bad = files.put("short.stl", stl_binary(make_last(files.foot, short_last).mesh));
    const std::string with_bad = "check " + left_pair + "--right '" + files.scan + "' '" + bad + "' --quiet ";
    CHECK(lastroom_run(files, with_bad + "--fail-on pinch -o '" + files.path("bad") + "'").status == 1);
    // A left last for a right foot can't be judged.
    const std::string without_verdict = "check " + left_pair + "--right '" + files.scan + "' '" + last + "' --quiet ";
    const Run none = lastroom_run(files, without_verdict + "--fail-on pinch -o '" + files.path("none") + "'");
    CHECK(none.status == 4);
    CHECK(none.err.find("right foot") != std::string::npos);
  }
}

TEST_CASE("screen ranks a shelf, tells why, and writes full reports of the best") {
  const DemoFiles files;
  fs::create_directories(files.folder / "lasts");
  LastShape short_last;
  short_last.allowance_mm = 2.0;
  files.put("lasts/fits.stl", stl_binary(files.made_last.mesh));
  files.put("lasts/again.stl", stl_binary(files.made_last.mesh));
  files.put("lasts/short.stl", stl_binary(make_last(files.foot, short_last).mesh));
  files.put("lasts/left.stl", stl_binary(mirrored_y(files.made_last.mesh)));
  files.put("lasts/inches.stl", stl_binary(scaled(files.made_last.mesh, 1.0 / 25.4 * 1.001)));
  files.put("lasts/note.stl", "no last");
  const std::string screen =
      "screen '" + files.scan + "' --shelf '" + files.path("lasts") + "' --quiet --date 2026-01-02 ";
  const Run run = lastroom_run(files, screen + "-o '" + files.path("out") + "'");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  CHECK(run.err.empty());
  const auto shelf = nlohmann::json::parse(slurp(files.path("out/shelf.json")));
  CHECK(shelf["schema"] == "lastroom.shelf/1");
  std::map<std::string, nlohmann::json> row;
  for (const auto& last : shelf["lasts"]) row[last["last"]] = last;
  CHECK(row.at("again.stl")["fate"] == "judged");
  CHECK(row.at("fits.stl")["same_as"] == "again.stl");
  CHECK(row.at("left.stl")["fate"] == "other_side");
  CHECK(row.at("note.stl")["fate"] == "unusable");
  CHECK(row.at("inches.stl")["units"] == "in");
  CHECK(shelf["remarks"].size() == 1);  // mixed units
  CHECK(row.at("short.stl")["margin_mm"].get<double>() < row.at("again.stl")["margin_mm"].get<double>());
  CHECK(slurp(files.path("out/shelf.html")).find("again.stl") != std::string::npos);

  SUBCASE("the best one's report is that of check") {
    const std::string best = files.path("out/" + row.at("again.stl")["report"].get<std::string>());
    REQUIRE(lastroom_run(files, "check '" + files.scan + "' '" + files.path("lasts/again.stl") +
                                    "' --quiet --date 2026-01-02 -o '" + files.path("alone") + "'")
                .status == 0);
    CHECK(slurp(best + "/report.html") == slurp(files.path("alone/report.html")));
    CHECK(slurp(best + "/clearance.ply") == slurp(files.path("alone/clearance.ply")));
    auto of_shelf = nlohmann::json::parse(slurp(best + "/result.json")),
         alone = nlohmann::json::parse(slurp(files.path("alone/result.json")));
    CHECK(of_shelf["timing_s"]["total"].is_null());
    of_shelf.erase("timing_s");
    alone.erase("timing_s");
    CHECK(of_shelf == alone);
  }
  SUBCASE("with the index, without it and with one thread: the same bytes") {
    fs::remove(files.folder / "lasts" / "lastroom-index.sqlite");
    REQUIRE(lastroom_run(files, screen + "--threads 1 -o '" + files.path("one") + "'").status == 0);
    REQUIRE(lastroom_run(files, screen + "-o '" + files.path("kept") + "'").status == 0);
    for (const std::string name : {"shelf.json", "shelf.csv", "shelf.html"}) {
      CAPTURE(name);
      CHECK(slurp(files.path("one/" + name)) == slurp(files.path("out/" + name)));
      CHECK(slurp(files.path("kept/" + name)) == slurp(files.path("out/" + name)));
    }
  }
  SUBCASE("no last that could be judged is status 4, an empty shelf status 3") {
    const std::string only = "screen '" + files.scan + "' --quiet ";
    const Run none =
        lastroom_run(files, only + "'" + files.path("lasts/left.stl") + "' -o '" + files.path("none") + "'");
    CHECK(none.status == 4);
    CHECK(fs::exists(files.path("none/shelf.html")));
    fs::create_directories(files.folder / "empty");
    const Run empty =
        lastroom_run(files, only + "--shelf '" + files.path("empty") + "' -o '" + files.path("never") + "'");
    CHECK(empty.status == 3);
    CHECK(empty.err.find("no file lies on this shelf") != std::string::npos);
    CHECK_FALSE(fs::exists(files.path("never")));
  }
}

TEST_CASE("compare holds two results against each other, zone by zone") {
  const DemoFiles files;
  LastShape pressing;
  pressing.room.fifth_toe_side = -5.0;
  const std::string last = files.put("pressing.stl", stl_binary(make_last(files.foot, pressing).mesh));
  const std::string left_scan = files.put("left.ply", ply_binary(mirrored_y(files.foot.mesh)));
  const std::string left_last = files.put("left.stl", stl_binary(mirrored_y(files.made_last.mesh)));
  REQUIRE(lastroom_run(files, "check " + files.pair + "--quiet -o '" + files.path("a") + "'").status == 0);
  REQUIRE(
      lastroom_run(files, "check '" + files.scan + "' '" + last + "' --quiet -o '" + files.path("b") + "'").status ==
      0);
  REQUIRE(lastroom_run(files, "check '" + left_scan + "' '" + left_last + "' --quiet -o '" + files.path("c") + "'")
              .status == 0);
  const auto compared = [&](const std::string& first, const std::string& second) {
    const std::string out = files.path(first + second);
    const Run run =
        lastroom_run(files, "compare '" + files.path(first) + "' '" + files.path(second) + "' -o '" + out + "'");
    CAPTURE(run.err);
    REQUIRE(run.status == 0);
    CHECK(slurp(out + "/compare.html").find("<svg") != std::string::npos);
    return nlohmann::json::parse(slurp(out + "/compare.json"));
  };
  const auto a = nlohmann::json::parse(slurp(files.path("a/result.json"))),
             b = nlohmann::json::parse(slurp(files.path("b/result.json")));
  const auto ab = compared("a", "b");
  CHECK(ab["same_scan"] == true);
  REQUIRE(ab["zones"].size() == a["zones"].size());
  for (std::size_t i = 0; i < a["zones"].size(); ++i) {
    CHECK(ab["zones"][i]["zone"] == a["zones"][i]["zone"]);
    CHECK(ab["zones"][i]["difference_mm"].get<double>() ==
          doctest::Approx(b["zones"][i]["p05_mm"].get<double>() - a["zones"][i]["p05_mm"].get<double>()).epsilon(1e-3));
    if (ab["zones"][i]["zone"] == "fifth_toe_side") CHECK(ab["zones"][i]["change"] == "worse");
  }
  // Back again, every sign is turned; a result against itself has no change; a left foot against its mirror image none
  // that its doubt does not cover.
  const auto ba = compared("b", "a"), aa = compared("a", "a"), ac = compared("a", "c");
  for (std::size_t i = 0; i < a["zones"].size(); ++i) {
    CHECK(ba["zones"][i]["difference_mm"].get<double>() == -ab["zones"][i]["difference_mm"].get<double>());
    CHECK(aa["zones"][i]["difference_mm"] == 0.0);
    CHECK(aa["zones"][i]["change"] == "same");
    CHECK(ac["zones"][i]["change"] == "same");
  }
  CHECK(ac["same_scan"] == false);

  SUBCASE("what is no result is refused") {
    files.put("a/result.json", "{}");
    const Run run = lastroom_run(
        files, "compare '" + files.path("a") + "' '" + files.path("b") + "' -o '" + files.path("no") + "'");
    CHECK(run.status == 3);
    CHECK(run.err.find("is not one of lastroom's") != std::string::npos);
    files.put("b/clearance.ply", ply_binary(files.foot.mesh));
    CHECK(
        lastroom_run(files, "compare '" + files.path("c") + "' '" + files.path("b") + "' -o '" + files.path("no") + "'")
            .err.find("is no clearance.ply") != std::string::npos);
    CHECK_FALSE(fs::exists(files.path("no")));
  }
}

TEST_CASE("batch does every job once, in any parts, and sums up the same") {
  const DemoFiles files;
  fs::create_directories(files.folder / "lasts");
  files.put("lasts/fits.stl", stl_binary(files.made_last.mesh));
  files.put("jobs.csv",
            "scan,last,shelf,client,wearer\nfoot.ply,last.stl,,\"Brandt, \"\"E.\"\"\",\nfoot.ply,,lasts,,at-risk\n"
            "foot.ply,nowhere.stl,,,\n");
  const std::string batch = "batch '" + files.path("jobs.csv") + "' --quiet --date 2026-01-02 ";
  const Run whole = lastroom_run(files, batch + "-o '" + files.path("whole") + "'");
  CHECK(whole.status == 3);
  CHECK(whole.out.starts_with("2 of 3 jobs done, 1 failed, 0 waiting."));
  const auto summary = nlohmann::json::parse(slurp(files.path("whole/batch.json")));
  CHECK(summary["jobs"][0]["client"] == "Brandt, \"E.\"");
  CHECK(summary["jobs"][0]["verdict"] != "none");
  CHECK(summary["jobs"][1]["best_last"] == "fits.stl");
  CHECK(summary["jobs"][1]["wearer"] == "at-risk");
  CHECK(summary["jobs"][2]["problem"].get<std::string>().find("nowhere.stl") != std::string::npos);
  CHECK(fs::exists(files.path("whole/jobs/0001/report.html")));
  CHECK(fs::exists(files.path("whole/jobs/0002/shelf.html")));

  for (const std::string part : {"2/2", "1/2"})
    lastroom_run(files, batch + "--shard " + part + " -o '" + files.path("parts") + "'");
  for (const std::string name : {"batch.csv", "batch.json", "jobs/0001/report.html", "jobs/0001/result.json",
                                 "jobs/0001/job.json", "jobs/0002/shelf.json"})
    CHECK(slurp(files.path("parts/" + name)) == slurp(files.path("whole/" + name)));

  const auto before = fs::last_write_time(files.path("whole/jobs/0001/result.json"));
  CHECK(lastroom_run(files, batch + "-o '" + files.path("whole") + "'").status == 3);
  CHECK(fs::last_write_time(files.path("whole/jobs/0001/result.json")) == before);  // not done again
  lastroom_run(files, batch + "--sock 2 -o '" + files.path("whole") + "'");
  CHECK(fs::last_write_time(files.path("whole/jobs/0001/result.json")) != before);  // other options, another result
}

TEST_CASE("batch tells nothing of a job that is not of the table, the files and the options of today") {
  const DemoFiles files;
  const auto jobs = [&](const std::string& second_client) {
    files.put("jobs.csv", "scan,last,client\nfoot.ply,last.stl,Arnold\nfoot.ply,last.stl," + second_client + "\n");
  };
  const auto batch = [&](const std::string& options) {
    return lastroom_run(files,
                        "batch '" + files.path("jobs.csv") + "' --quiet -o '" + files.path("out") + "' " + options);
  };
  const auto second = [&] { return nlohmann::json::parse(slurp(files.path("out/batch.json")))["jobs"][1]; };
  jobs("Brandt");
  REQUIRE(batch("").out.starts_with("2 of 2 jobs done"));
  CHECK(second()["verdict"].is_string());

  // The other part's jobs, when the first part alone is run.
  CHECK(batch("--shard 1/2").out.starts_with("2 of 2 jobs done"));
  jobs("Castro");
  CHECK(batch("--shard 1/2").out.starts_with("1 of 2 jobs done, 0 failed, 1 waiting."));
  CHECK(second()["client"] == "Castro");
  CHECK(second()["state"] == "waiting");
  CHECK(second()["verdict"].is_null());
  CHECK(second()["folder"].is_null());
  jobs("Brandt");
  CHECK(batch("--shard 1/2 --sock 1").out.starts_with("1 of 2 jobs done, 0 failed, 1 waiting."));
  files.put("foot.ply", slurp(files.scan) + "\n");
  CHECK(batch("--shard 1/2").out.starts_with("1 of 2 jobs done, 0 failed, 1 waiting."));

  // A run that ends half-way: the summary of the one before must not speak for what it replaces.
  REQUIRE(batch("").out.starts_with("2 of 2 jobs done"));
  fs::remove_all(files.path("out/jobs/0001"));
  files.put("out/jobs/0001", "in the way");
  CHECK(batch("--sock 2 --threads 1").status == 5);
  CHECK(second()["state"] == "waiting");

  // A job.json that is damaged is as good as none.
  fs::remove(files.path("out/jobs/0001"));
  files.put("out/jobs/0002/job.json", "{\"key\": 3}");
  CHECK(batch("").out.starts_with("2 of 2 jobs done"));
}
