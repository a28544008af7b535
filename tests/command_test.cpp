// The main job and measure.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <set>

#include "command_bench.h"

using namespace command_bench;

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

TEST_CASE("bad input ends in status 3, one sentence, no result and never a verdict") {
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
      {"a folder", files.path("a_folder")},
  }};
  std::filesystem::create_directory(files.path("a_folder"));
  for (const auto& [what, scan] : scans) {
    CAPTURE(what);
    const Run run =
        lastroom_run(files, "check '" + scan + "' '" + files.last + "' --quiet -o '" + files.path("never") + "'");
    CAPTURE(run.err);
    CHECK(run.status == 3);
    CHECK(std::count(run.err.begin(), run.err.end(), '\n') == 1);
    CHECK(run.err.size() > 40);
    CHECK(run.out.empty());
    for (const char* result : {"report.html", "client.html", "result.json", "clearance.ply"})
      CHECK_FALSE(fs::exists(fs::path(files.path("never")) / result));
  }
}

TEST_CASE("a refused check leaves a page that shows why, and no result is lost for it") {
  const DemoFiles files;
  const std::string to = " --quiet -o '" + files.path("out") + "'";
  const std::string refused = "check '" + files.scan + "' '" + files.scan + "'" + to;
  const auto names = [&] {
    std::set<std::string> found;
    for (const auto& entry : fs::directory_iterator(files.path("out"))) found.insert(entry.path().filename().string());
    return found;
  };
  const std::set<std::string> result = {"clearance.ply", "client.html", "referral.html", "report.html", "result.json"};
  Run run = lastroom_run(files, refused);
  CAPTURE(run.err);
  CHECK(run.status == 3);
  CHECK(std::count(run.err.begin(), run.err.end(), '\n') == 1);
  CHECK(names() == std::set<std::string>{"refusal.html"});
  const std::string page = slurp(files.path("out/refusal.html"));
  CHECK(page.find("this is no last") != std::string::npos);
  CHECK(page.find("If a point is wrong, give it with --landmarks") != std::string::npos);  // the foot itself was read

  // The next try needs no --overwrite, and takes the page away.
  CHECK(lastroom_run(files, refused).status == 3);
  CHECK(lastroom_run(files, "check " + files.pair + to).status == 0);
  CHECK(names() == result);
  const std::string report = slurp(files.path("out/report.html"));

  // A result is not lost for a wrong file.
  CHECK(lastroom_run(files, refused).status == 5);
  CHECK(names() == result);
  CHECK(lastroom_run(files, refused + " --overwrite").status == 3);
  CHECK(names().size() == result.size() + 1);
  CHECK(slurp(files.path("out/report.html")) == report);
  CHECK(slurp(files.path("out/refusal.html")) == page);
  CHECK(lastroom_run(files, "check " + files.pair + to + " --overwrite").status == 0);
  CHECK(names() == result);
}

TEST_CASE("measure writes a page with pictures where a folder is named, and a refusal's page") {
  const DemoFiles files;
  const std::string to = " -o '" + files.path("page") + "'";
  const Run run = lastroom_run(files, "measure '" + files.scan + "' --as foot" + to);
  REQUIRE(run.status == 0);
  CHECK(run.out.find("It is very like a bare foot") != std::string::npos);
  CHECK(run.out.find("give it with --landmarks") != std::string::npos);
  CHECK(run.out.find(files.path("page/measures.html")) != std::string::npos);
  CHECK(slurp(files.path("page/measures.html")).find("first_joint") != std::string::npos);
  CHECK(lastroom_run(files, "measure '" + files.last + "' --as foot" + to).status == 5);  // there is something
  const Run last = lastroom_run(files, "measure '" + files.last + "' --as foot -o '" + files.path("no_foot") + "'");
  CHECK(last.status == 3);
  CHECK(last.out.empty());
  CHECK(slurp(files.path("no_foot/refusal.html")).find("no toes can be told apart") != std::string::npos);
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
  CHECK(report.find("The left foot is longer") != std::string::npos);
  CHECK_FALSE(fs::exists(files.path("out/result.json")));

  SUBCASE("each foot's result is that of the foot on its own") {
    REQUIRE(lastroom_run(files, "check " + files.pair + "--side right -o '" + files.path("alone") + "'").status == 0);
    auto of_pair = nlohmann::json::parse(slurp(files.path("out/result.right.json")));
    auto alone = nlohmann::json::parse(slurp(files.path("alone/result.json")));
    of_pair.erase("timing_s");
    alone.erase("timing_s");
    CHECK(of_pair == alone);
  }
  SUBCASE("points, marks and further files are each foot's own") {
    const auto corner = [](const Mesh& mesh, double y_sign) {  // the rearmost point, right form
      const Vec3 p = *std::ranges::min_element(mesh.vertices, {}, [](const Vec3& v) { return v.x(); });
      return fmt::format("[{}, {}, {}]", p.x(), y_sign * p.y(), p.z());
    };
    const std::string marks =
        files.put("marks.json", fmt::format(R"({{"left": {{"never_press": [{{"at": {}, "what": "left spot"}}]}},
                                                "right": {{"never_press": [{{"at": {}, "what": "right spot"}}]}}}})",
                                            corner(left.mesh, -1.0), corner(files.foot.mesh, 1.0)));
    const Run whole =
        lastroom_run(files, check + "--landmarks '" + marks + "' --template '" + files.path("toes.svg") + "' --eml '" +
                                files.path("draft.eml") + "' --quiet -o '" + files.path("marked") + "'");
    CAPTURE(whole.err);
    REQUIRE(whole.status == 0);
    for (const std::string side : {"left", "right"}) {
      const std::string result = slurp(files.path("marked/result." + side + ".json"));
      CHECK((result.find("left spot") != std::string::npos) == (side == "left"));
      CHECK((result.find("right spot") != std::string::npos) == (side == "right"));
      CHECK(slurp(files.path("toes." + side + ".svg")).find("<svg") != std::string::npos);
    }
    const std::string wound = files.put(
        "wound.json",
        fmt::format(R"({{"left": {{"never_press": [{{"at": {}, "what": "open wound"}}]}}}})", corner(left.mesh, -1.0)));
    REQUIRE(lastroom_run(
                files, check + "--wearer standard --landmarks '" + wound + "' --quiet -o '" + files.path("wound") + "'")
                .status == 0);
    for (const std::string side : {"left", "right"})  // one wearer has both feet
      CHECK(nlohmann::json::parse(slurp(files.path("wound/result." + side + ".json")))["wearer"] == "at-risk");
    CHECK(slurp(files.path("draft.eml")).find("client.html") != std::string::npos);
    CHECK(slurp(files.path("marked/client.html")).find("Right foot") != std::string::npos);
    const std::string of_one = files.put("one.json", "{\"heel\": [1, 2, 3]}");
    const Run refused =
        lastroom_run(files, check + "--landmarks '" + of_one + "' --quiet -o '" + files.path("refused") + "'");
    CHECK(refused.status == 3);
    CHECK(refused.err.find("under its side") != std::string::npos);
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
