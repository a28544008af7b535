// Many lasts, many feet: screen, compare, batch.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "command_bench.h"
#include "near.h"

using namespace command_bench;

TEST_CASE("screen ranks a shelf, tells why, and writes full reports of the best") {
  const DemoFiles files;
  for (const char* folder : {"lasts", "pairs"}) fs::create_directories(files.folder / folder);
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
  SUBCASE("a last is the fellow of one other, however many are like it") {
    files.put("pairs/left.stl", stl_binary(mirrored_y(files.made_last.mesh)));
    files.put("pairs/left_too.stl", stl_binary(scaled(mirrored_y(files.made_last.mesh), 1.001)));  // 0.3 mm longer
    files.put("pairs/right.stl", stl_binary(files.made_last.mesh));
    const std::string pairs = "screen '" + files.scan + "' --quiet --shelf '" + files.path("pairs");
    REQUIRE(lastroom_run(files, pairs + "' -o '" + files.path("paired") + "'").status == 0);
    int mirrored = 0, fellows = 0;
    const auto paired = nlohmann::json::parse(slurp(files.path("paired/shelf.json")));
    for (const auto& last : paired["lasts"])
      mirrored += last["mirrored"] == true, fellows += last["fate"] == "other_side";
    CHECK(mirrored == 1);
    CHECK(fellows == 1);
  }
  SUBCASE("no last that could be judged is status 4, an empty shelf status 3") {
    const std::string only = "screen '" + files.scan + "' --quiet ";
    const std::string left = "'" + files.path("lasts/left.stl") + "' -o '";
    const Run none = lastroom_run(files, only + "--no-mirror " + left + files.path("none") + "'");
    CHECK(none.status == 4);
    REQUIRE(lastroom_run(files, only + left + files.path("alone") + "'").status == 0);
    const auto alone = nlohmann::json::parse(slurp(files.path("alone/shelf.json")))["lasts"][0];
    CHECK(alone["mirrored"] == true);
    // The file is the mirror image of the one that fits: the same room, but for what mirroring rounds.
    CHECK(alone["margin_mm"].get<double>() == test::WithinMm{row.at("again.stl")["margin_mm"].get<double>(), 0.05});
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

TEST_CASE("a shelf's table names its lasts, and heel and model are asked for apart from the fit") {
  const DemoFiles files;
  fs::create_directories(files.folder / "lasts");
  files.put("lasts/a.stl", stl_binary(files.made_last.mesh));
  LastShape longer;
  longer.allowance_mm = 25.0;
  files.put("lasts/b.stl", stl_binary(make_last(files.foot, longer).mesh));
  files.put("lasts/shelf.csv",
            "file,model,size,width,heel\na.stl,Derby,42,wide,25\nb.stl,Boot,43,,60\nc.stl,Derby,44,,\n");
  const std::string screen =
      "screen '" + files.scan + "' --shelf '" + files.path("lasts") + "' --quiet --date 2026-01-02 ";
  const auto fates = [&](const std::string& asked, const std::string& out) {
    const Run run = lastroom_run(files, screen + asked + "-o '" + files.path(out) + "'");
    CAPTURE(run.err);
    CHECK(run.status == 0);
    std::map<std::string, std::string> fate;
    const auto shelf = nlohmann::json::parse(slurp(files.path(out) + "/shelf.json"));
    for (const auto& last : shelf["lasts"]) fate[last["last"]] = last["fate"];
    return fate;
  };
  using Fates = std::map<std::string, std::string>;
  CHECK(fates("--heel-height-mm 20 30 ", "low") == Fates{{"a.stl", "judged"}, {"b.stl", "not_asked"}});
  CHECK(fates("--only model=boot ", "boot") == Fates{{"a.stl", "not_asked"}, {"b.stl", "judged"}});
  const std::string page = slurp(files.path("low/shelf.html"));
  CHECK(page.find("size ") != std::string::npos);
  CHECK(page.find("c.stl") != std::string::npos);  // in the table, and not on the shelf
  files.put("lasts/shelf.csv", "file,heel\na.stl,high\n");
  const Run refused = lastroom_run(files, screen + "-o '" + files.path("no") + "'");
  CHECK(refused.status == 3);
  CHECK(refused.err.find("shelf.csv, line 2") != std::string::npos);
}

TEST_CASE("a pair of feet has the verdict of the foot that is worse off, as each foot alone is judged") {
  const DemoFiles files;
  fs::create_directories(files.folder / "lasts");
  files.put("lasts/a-42.stl", stl_binary(files.made_last.mesh));
  LastShape shorter;
  shorter.allowance_mm = 8.0;
  files.put("lasts/a-41.stl", stl_binary(make_last(files.foot, shorter).mesh));
  FootShape fuller;
  fuller.joint_width_mm = 103.0;
  fuller.joint_girth_mm = 255.0;
  const std::string left = files.put("left.ply", ply_binary(mirrored_y(make_foot(fuller).mesh)));
  const auto lasts = [&](const std::string& feet, const std::string& out) {
    const Run run = lastroom_run(files, "screen " + feet + " --shelf '" + files.path("lasts") +
                                            "' --all --quiet --date 2026-01-02 -o '" + files.path(out) + "'");
    CAPTURE(run.err);
    REQUIRE(run.status == 0);
    std::map<std::string, nlohmann::json> row;
    const auto shelf = nlohmann::json::parse(slurp(files.path(out) + "/shelf.json"));
    for (const auto& last : shelf["lasts"]) row[last["last"]] = last;
    return row;
  };
  const auto of_left = lasts("'" + left + "'", "left"), of_right = lasts("'" + files.scan + "'", "right"),
             pairs = lasts("--left '" + left + "' --right '" + files.scan + "'", "pair");
  for (const std::string name : {"a-41.stl", "a-42.stl"}) {
    CAPTURE(name);
    const auto &l = of_left.at(name), &r = of_right.at(name), &pair = pairs.at(name);
    const std::vector<std::string> order = {"clear", "slack", "watch", "pinch"};
    const auto grade = [&](const nlohmann::json& row) {
      return std::pair(std::ranges::find(order, row["verdict"].get<std::string>()) - order.begin(),
                       -row["margin_mm"].get<double>());
    };
    CHECK(grade(pair) == std::max(grade(l), grade(r)));
    CHECK(pair["decides"] == (grade(l) > grade(r) ? "left" : "right"));
  }
  for (const std::string name : {"report.html", "client.html", "result.left.json", "result.right.json"})
    CHECK(fs::exists(files.folder / "pair" / pairs.at("a-42.stl")["report"].get<std::string>() / name));
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
  const std::string overview = slurp(files.path("whole/overview.html"));
  for (const std::string told : {"href=\"jobs/0001/report.html\"", "href=\"jobs/0002/shelf.html\"", "nowhere.stl",
                                 "2 of 3 jobs are done. One could not be done."})
    CHECK(overview.find(told) != std::string::npos);
  for (const std::string name : {"batch.csv", "batch.json", "overview.html", "jobs/0001/report.html",
                                 "jobs/0001/result.json", "jobs/0001/job.json", "jobs/0002/shelf.json"})
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

TEST_CASE("a line of batch may be a pair of feet: its folder is what check writes of both") {
  const DemoFiles files;
  const std::string left = files.put("left.ply", ply_binary(mirrored_y(files.foot.mesh))),
                    left_last = files.put("left.stl", stl_binary(mirrored_y(files.made_last.mesh)));
  fs::create_directories(files.folder / "lasts");
  files.put("lasts/fits.stl", stl_binary(files.made_last.mesh));
  const Vec3 spot = files.foot.mesh.vertices.front();
  files.put("marks.json", fmt::format(R"({{"right": {{"never_press": [{{"at": [{}, {}, {}], "what": "ulcer"}}]}}}})",
                                      spot.x(), spot.y(), spot.z()));
  files.put("jobs.csv",
            "left_scan,left_last,right_scan,right_last,shelf,landmarks,wearer\n"
            "left.ply,left.stl,foot.ply,last.stl,,marks.json,standard\nleft.ply,,foot.ply,,lasts,,standard\n"
            "left.ply,left.stl,foot.ply,nowhere.stl,,,\nleft.ply,left.stl,foot.ply,last.stl,,no.json,\n"
            "left.ply,left.stl,last.stl,last.stl,,,\n");
  const std::string batch = "batch '" + files.path("jobs.csv") + "' --quiet --date 2026-01-02 -o '";
  CHECK(lastroom_run(files, batch + files.path("out") + "'").out.starts_with("2 of 5 jobs done, 3 failed, 0 waiting."));
  const auto jobs = nlohmann::json::parse(slurp(files.path("out/batch.json")))["jobs"];
  CHECK(jobs[0]["scan"] == "left.ply, foot.ply");
  CHECK(jobs[0]["side"] == "both");
  CHECK(jobs[0]["wearer"] == "at-risk");  // by the mark on the right foot
  CHECK(jobs[1]["best_last"] == "fits.stl");
  CHECK(jobs[2]["problem"].get<std::string>().starts_with("nowhere.stl"));
  CHECK(jobs[3]["problem"].get<std::string>().starts_with("no.json"));
  CHECK(fs::exists(files.path("out/jobs/0002/shelf.html")));
  CHECK(fs::exists(files.path("out/jobs/0005/refusal.html")));  // a last as the right foot's scan

  REQUIRE(lastroom_run(files, "check --left '" + left + "' '" + left_last + "' --right " + files.pair +
                                  "--landmarks '" + files.path("marks.json") +
                                  "' --wearer standard --quiet --date 2026-01-02 -o '" + files.path("alone") + "'")
              .status == 0);
  for (const std::string name : {"report.html", "client.html", "referral.left.html", "clearance.right.ply"}) {
    CAPTURE(name);
    CHECK(slurp(files.path("out/jobs/0001/" + name)) == slurp(files.path("alone/" + name)));
  }
  const std::vector<std::string> order = {"clear", "slack", "watch", "pinch"};
  const auto grade = [&](const nlohmann::json& verdict) {
    return std::ranges::find(order, verdict.get<std::string>()) - order.begin();
  };
  for (const std::string side : {"left", "right"}) {
    const auto alone = nlohmann::json::parse(slurp(files.path("alone/result." + side + ".json")));
    CHECK(jobs[0][side + "_verdict"] == alone["verdict"]);
    CHECK(grade(jobs[0]["verdict"]) >= grade(alone["verdict"]));
  }
  CHECK(slurp(files.path("out/overview.html")).find("Right foot: ") != std::string::npos);

  const auto written = [&] { return fs::last_write_time(files.path("out/jobs/0001/report.html")); };
  const auto before = written();
  lastroom_run(files, batch + files.path("out") + "'");
  CHECK(written() == before);  // not done again
  files.put("marks.json", "{}");
  lastroom_run(files, batch + files.path("out") + "'");
  CHECK(written() != before);  // other marks, another result
}
