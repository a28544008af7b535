#include <doctest/doctest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "mesh_io/read_clearance.h"
#include "near.h"
#include "report/colour_scale.h"
#include "report/field_picture.h"
#include "report/worn.h"
#include "report_sample.h"

using namespace lastroom;
using test::WithinMm;
using Json = nlohmann::ordered_json;

namespace {

std::vector<std::string> keys(const Json& object) {
  std::vector<std::string> names;
  for (const auto& [key, value] : object.items()) names.push_back(key);
  return names;
}

/// The first keys of `object`, in order: the contract's, to which more may be added behind.
void check_begins_with(const Json& object, const std::vector<std::string>& contract) {
  const std::vector<std::string> found = keys(object);
  REQUIRE(found.size() >= contract.size());
  CHECK(std::vector<std::string>(found.begin(), found.begin() + static_cast<std::ptrdiff_t>(contract.size())) ==
        contract);
}

Vec3 point(const Json& p) { return {p[0].get<double>(), p[1].get<double>(), p[2].get<double>()}; }

Motion motion(const Json& rows) {
  Motion m;
  for (int r = 0; r < 4; ++r) {
    for (int c = 0; c < 4; ++c) m.matrix()(r, c) = rows[r][c].get<double>();
  }
  return m;
}

}  // namespace

TEST_CASE("result.json has the contract's keys in the contract's order") {
  const Json result = Json::parse(result_json(test::sample_fitting()));
  check_begins_with(result, {"schema", "tool", "inputs", "wearer", "side", "side_from", "sock_mm", "foot", "last",
                             "registration", "zones", "toe_room", "tightening", "findings", "verdict", "timing_s"});
  check_begins_with(result["tool"], {"version", "rules", "rules_sha256"});
  check_begins_with(result["inputs"], {"scan", "last"});
  for (const char* input : {"scan", "last"}) {
    check_begins_with(result["inputs"][input],
                      {"file", "sha256", "vertices", "triangles", "units", "units_from", "repairs"});
  }
  check_begins_with(result["foot"], {"length_mm", "joint_girth_mm", "joint_width_mm", "instep_girth_mm",
                                     "heel_width_mm", "heel_to_joint_mm", "big_toe_height_mm", "landmarks"});
  for (const char* mark : {"heel", "first_joint", "fifth_joint", "big_toe_tip", "second_toe_tip", "fifth_toe_tip"}) {
    CHECK(result["foot"]["landmarks"][mark].size() == 3);
  }
  check_begins_with(result["last"], {"length_mm", "joint_girth_mm", "heel_height_mm", "toe_spring_mm"});
  check_begins_with(result["registration"],
                    {"converged", "scan_to_last", "last_file_to_last", "flex", "rear_rms_mm", "uncertainty"});
  check_begins_with(result["registration"]["flex"], {"point_mm", "axis", "angle_deg"});
  check_begins_with(result["registration"]["uncertainty"], {"position_mm", "angle_deg"});
  check_begins_with(result["zones"][0],
                    {"zone", "verdict", "min_mm", "p05_mm", "median_mm", "limit_mm", "uncertainty_mm",
                     "chance_of_pinch", "area_mm2", "area_below_limit_mm2", "at_mm"});
  check_begins_with(result["toe_room"], {"tip_mm", "headroom_mm", "allowance_mm"});
  CHECK(keys(result["toe_room"]["headroom_mm"]) ==
        std::vector<std::string>{"big", "second", "third", "fourth", "fifth"});
  check_begins_with(result["tightening"], {"joint_girth_mm", "why", "effects", "regions"});
  check_begins_with(result["tightening"]["regions"][0], {"class", "area_mm2"});
  check_begins_with(result["findings"][0], {"rule", "verdict", "zone", "measured_mm", "limit_mm", "uncertainty_mm",
                                            "at_mm", "advice", "source"});
  check_begins_with(result["timing_s"], {"read", "prepare", "register", "clearance", "assess", "report", "total"});
}

TEST_CASE("result.json has the contract's words and types") {
  const Json result = Json::parse(result_json(test::sample_fitting()));
  CHECK(result["schema"] == "lastroom.result/1");
  CHECK(result["tool"]["version"] == std::string(tool_version()));
  CHECK(result["wearer"] == "standard");
  CHECK(result["side"] == "right");
  CHECK(result["side_from"] == "guess");
  CHECK(result["inputs"]["last"]["units"] == "cm");
  CHECK(result["inputs"]["last"]["units_from"] == "option");
  CHECK(result["inputs"]["scan"]["vertices"].is_number_unsigned());
  CHECK(result["inputs"]["scan"]["repairs"].is_array());
  CHECK(result["registration"]["converged"].is_boolean());
  CHECK(result["zones"][2]["zone"] == "fifth_toe_side");
  CHECK(result["zones"][2]["verdict"] == "pinch");
  CHECK(result["toe_room"]["headroom_mm"]["fifth"].is_null());  // not measured
  CHECK(result["findings"][2]["zone"].is_null());
  CHECK(result["tightening"]["regions"][3]["class"] == "free_to_style");
  CHECK(result["verdict"] == "pinch");
}

TEST_CASE("what is not a number is null, and bytes that are not UTF-8 do not break the JSON") {
  Fitting fitting = test::sample_fitting();
  fitting.foot_measures.length_mm = std::numeric_limits<double>::quiet_NaN();
  fitting.registration.rear_rms_mm = std::numeric_limits<double>::infinity();
  fitting.assessment.zones[0].clearance.at_mm.x() = -std::numeric_limits<double>::infinity();
  fitting.foot.facts.file = "scan\xff\xfe\".stl";
  const std::string text = result_json(fitting);
  const Json result = Json::parse(text);
  CHECK(result["foot"]["length_mm"].is_null());
  CHECK(result["registration"]["rear_rms_mm"].is_null());
  CHECK(result["zones"][0]["at_mm"][0].is_null());
  CHECK(result["inputs"]["scan"]["file"] == "scan\xEF\xBF\xBD\xEF\xBF\xBD\".stl");
  CHECK(text.find("NaN") == std::string::npos);
  CHECK(text.find("inf") == std::string::npos);
}

TEST_CASE("scan_to_last takes the scan's points to the posed skin, for either side") {
  for (const Side side : {Side::right, Side::left}) {
    CAPTURE(static_cast<int>(side));
    Fitting fitting = test::sample_fitting(side);
    const Motion turn(Eigen::AngleAxisd(0.3, Vec3(1.0, 2.0, 3.0).normalized()));
    fitting.registration.last_from_foot = turn;
    fitting.registration.last_from_foot.translation() = Vec3(4.0, -2.0, 7.0);
    fitting.foot.foot_from_scan = Motion(Eigen::AngleAxisd(-1.1, Vec3(0.0, 1.0, 1.0).normalized()));
    fitting.foot.foot_from_scan.translation() = Vec3(100.0, 50.0, -20.0);
    const Json registration = Json::parse(result_json(fitting))["registration"];
    // A point behind the joint, by the long way: scan -> foot as worn -> right form -> last -> as worn.
    const Vec3 in_right_form(40.0, 11.0, 25.0);
    const Vec3 in_scan = fitting.foot.foot_from_scan.inverse() * as_worn(side, in_right_form);
    const Vec3 expected = as_worn(side, fitting.registration.last_from_foot * in_right_form);
    CHECK((motion(registration["scan_to_last"]) * in_scan - expected).norm() == WithinMm{0.0, 1e-9});
    CHECK(motion(registration["scan_to_last"]).linear().determinant() == WithinMm{1.0, 1e-12});  // no mirror
  }
}

TEST_CASE("a positive flex lifts the toes, and turns a toe tip to where the skin was posed, for either side") {
  for (const Side side : {Side::right, Side::left}) {
    CAPTURE(static_cast<int>(side));
    Fitting fitting = test::sample_fitting(side);
    fitting.registration.hinge = hinge_in_foot(fitting.foot.landmarks);
    fitting.registration.hinge.angle_deg = 12.0;
    const Json result = Json::parse(result_json(fitting));
    const Json& flex = result["registration"]["flex"];
    const Vec3 axis = point(flex["axis"]), centre = point(flex["point_mm"]);
    CHECK(axis.norm() == WithinMm{1.0, 1e-9});
    const Eigen::AngleAxisd turn(flex["angle_deg"].get<double>() * 3.14159265358979323846 / 180.0, axis);
    const Vec3 tip_in_scan = fitting.foot.foot_from_scan.inverse() * as_worn(side, fitting.foot.landmarks.toe_tips[1]);
    const Vec3 straight = motion(result["registration"]["scan_to_last"]) * tip_in_scan;
    const Vec3 bent = centre + turn * (straight - centre);
    CHECK(bent.z() > straight.z() + 10.0);  // 70 mm before the hinge, sin 12 degrees: about 15 mm
    // The printed numbers are rounded to 0.0001.
    CHECK((bent - point(result["foot"]["landmarks"]["second_toe_tip"])).norm() == WithinMm{0.0, 0.001});
    // The wrong guess, that an axis is mirrored like a point, would land elsewhere on a left foot.
    const Eigen::AngleAxisd mirrored(turn.angle(),
                                     Vec3(fitting.registration.hinge.axis.x(), -fitting.registration.hinge.axis.y(),
                                          fitting.registration.hinge.axis.z()));
    const Vec3 wrong = centre + mirrored * (straight - centre);
    if (side == Side::left) CHECK((wrong - bent).norm() > 5.0);
  }
}

TEST_CASE("a left foot's result is the right foot's mirrored") {
  const Json right = Json::parse(result_json(test::sample_fitting(Side::right)));
  const Json left = Json::parse(result_json(test::sample_fitting(Side::left)));
  const Vec3 a = point(right["findings"][0]["at_mm"]), b = point(left["findings"][0]["at_mm"]);
  CHECK(a.y() == -b.y());
  CHECK(a.x() == b.x());
  CHECK(left["side"] == "left");
  CHECK(right["zones"][2]["p05_mm"] == left["zones"][2]["p05_mm"]);
}

TEST_CASE("timing is all that may differ between two runs") {
  const Fitting fitting = test::sample_fitting();
  Json a = Json::parse(result_json(fitting)), b = Json::parse(result_json(fitting, {{1, 2, 3, 4, 5, 6}, 21}));
  CHECK(a != b);
  a.erase("timing_s");
  b.erase("timing_s");
  CHECK(a == b);
}

TEST_CASE("clearance.ply holds every vertex with its clearance, as worn") {
  const Fitting fitting = test::sample_fitting(Side::left);
  const std::string ply = clearance_ply(fitting);
  const std::string header = ply.substr(0, ply.find("end_header"));
  CHECK(header.find("property float clearance") != std::string::npos);
  CHECK(header.find("element vertex " + std::to_string(fitting.foot.mesh.vertices.size())) != std::string::npos);
}

TEST_CASE("clearance.ply says where the skin is judged: nowhere without a verdict") {
  Fitting fitting = test::sample_fitting(Side::left);
  fitting.skin.sole_missing = true;
  const auto read = [&] {
    const std::string ply = clearance_ply(fitting);
    return parse_clearance_ply(ply, "clearance.ply");
  };
  const ClearanceMesh mesh = read();
  std::size_t known = 0, on_rim = 0, under_the_foot = 0;
  for (std::size_t v = 0; v < mesh.clearance_mm.size(); ++v) {
    known += std::isfinite(mesh.clearance_mm[v]);
    CHECK(std::isfinite(mesh.clearance_mm[v]) == is_judged(fitting.clearance, fitting.skin, v));
    on_rim += fitting.clearance.on_rim[v] != 0;
    under_the_foot += fitting.skin.zone[v] == Zone::tread;
  }
  CHECK(known > 1000);
  CHECK(on_rim > 0);  // else the sample tells nothing
  CHECK(under_the_foot > 0);
  fitting.assessment.verdict = Verdict::none;
  for (const double mm : read().clearance_mm) CHECK_FALSE(std::isfinite(mm));
}

TEST_CASE("a sole that was not scanned is judged in no picture") {
  Fitting fitting = test::sample_fitting();
  const auto judged = [&] {
    const std::vector<std::uint8_t> triangles = judged_triangles(fitting);
    return std::ranges::count(triangles, 1);
  };
  const auto with_sole = judged();
  fitting.skin.sole_missing = true;
  CHECK(judged() < with_sole);
  CHECK(judged() > 0);
}

TEST_CASE("the colour scale: zero in the middle, tight red, room blue, both ends dark") {
  CHECK(hex(clearance_colour(0.0)) ==
        "#ece5e1");  // vik's middle stop 236,229,225 (Crameri, doi 10.5281/zenodo.8035877)
  CHECK(hex(clearance_colour(-10.0)) == "#590008");  // its red end 89,0,8
  CHECK(hex(clearance_colour(10.0)) == "#001261");   // its blue end 0,18,97
  CHECK(hex(clearance_colour(-50.0)) == hex(clearance_colour(-10.0)));
  CHECK(clearance_colour(-1.0).red > clearance_colour(-1.0).blue);
  CHECK(clearance_colour(1.0).blue > clearance_colour(1.0).red);
}

TEST_CASE("a day in the shoe stands in result.json and in the report; where none was judged there is none") {
  Fitting fitting = test::sample_fitting();
  CHECK(Json::parse(result_json(fitting))["day"].is_null());
  CHECK(report_html(fitting, {}).find("A day in the shoe") == std::string::npos);
  FootAtATime morning, late;
  morning.verdict = Verdict::clear;
  late.swelling_ratio = 0.0355;
  late.sock_mm = 1.0;
  late.grown_mm = 0.5;
  late.verdict = Verdict::pinch;
  late.worst = fitting.assessment.findings.front();
  late.worst->zone = Zone::fifth_toe_side;
  fitting.day = Day{{morning, late}, {"day.fits_then_pinches", {{"place", Message{"zone.fifth_toe_side"}}}}};
  const Json day = Json::parse(result_json(fitting))["day"];
  CHECK(keys(day) == std::vector<std::string>{"sentence", "times", "sentence_key"});
  CHECK(day["sentence"] == "Fits in the morning, pinches late in the day. Place: Fifth toe, side.");
  CHECK(day["times"][0]["worst"].is_null());
  CHECK(day["times"][1]["worst"]["zone"] == "fifth_toe_side");
  CHECK(day["times"][1]["swelling_ratio"] == 0.0355);
  CHECK(day["times"][1]["verdict"] == "pinch");
  CHECK(report_html(fitting, {}).find("Fits in the morning, pinches late in the day. Place: Fifth toe, side.") !=
        std::string::npos);
  CHECK(report_html(fitting, {.client = {}, .date = {}, .language = "de"})
            .find("Passt am Morgen, drückt spät am Tag. Stelle: Kleinzehe, Seite.") != std::string::npos);
}
