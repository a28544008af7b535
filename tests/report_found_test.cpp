// What was found on foot and last, as a reader sees it: pictures, names, places; the pages of measures and refusals.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "near.h"
#include "report/found_body.h"
#include "report_page.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

/// A foot-like tube with landmarks of its own, placed in a file of centimetres.
Foot placed_foot(Side side) {
  Foot foot = sample_fitting(side).foot;
  foot.facts.units = LengthUnit::centimetre;
  foot.foot_from_scan =
      Motion(Eigen::Translation3d(12.0, -40.0, 3.0)) * Eigen::AngleAxisd(0.7, Vec3(1.0, 2.0, 3.0).normalized());
  return foot;
}

std::vector<pugi::xml_node> of_kind(const ReadPage& page, const std::string& kind) {
  std::vector<pugi::xml_node> found;
  std::ranges::copy_if(page.elements, std::back_inserter(found),
                       [&](pugi::xml_node node) { return attribute(node, "class") == kind; });
  return found;
}

std::set<std::string> letters_in(const ReadPage& page) {
  std::set<std::string> letters;
  for (const pugi::xml_node node : page.elements)
    if (std::string_view(node.name()) == "text") letters.insert(test::text_of(node));
  return letters;
}

Refused no_foot() {
  return {"box.stl", {"scan.toes_one", {{"file", UserText{"box.stl"}}}}, sample_fitting().last.mesh, 1.0};
}

}  // namespace

TEST_CASE(
    "a report shows the foot as read from three sides, with every landmark's name and what to do, in each language") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    ReadPage page;
    REQUIRE(read_page(report_html(sample_fitting(), {"", "", language}), page));
    CHECK(of_kind(page, "found above").size() == 2);  // the figure and its picture
    CHECK(of_kind(page, "found wide").size() == 4);
    const std::set<std::string> letters = letters_in(page);
    for (const char* name : {"heel", "first_joint", "fifth_joint"}) CHECK(letters.contains(name));
    const std::string text = test::text_of(page.document);
    CHECK(text.find(words("found.if_wrong")) != std::string::npos);
    // The keys of a landmarks file (check --help).
    for (const char* name : {"(heel)", "(first_joint)", "(fifth_joint)", "(big_toe_tip)", "(second_toe_tip)",
                             "(third_toe_tip)", "(fourth_toe_tip)", "(fifth_toe_tip)"})
      CHECK(text.find(name) != std::string::npos);
  }
}

TEST_CASE("a landmark's place, taken back into the foot, is where it was found") {
  for (const Side side : {Side::right, Side::left}) {
    const Foot foot = placed_foot(side);
    const std::vector<FileLandmark> rows = file_landmarks(foot);
    REQUIRE(rows.size() == 8);
    const std::array<Vec3, 8> found = {
        foot.landmarks.heel,        foot.landmarks.first_joint, foot.landmarks.fifth_joint, foot.landmarks.toe_tips[0],
        foot.landmarks.toe_tips[1], foot.landmarks.toe_tips[2], foot.landmarks.toe_tips[3], foot.landmarks.toe_tips[4]};
    for (std::size_t i = 0; i < rows.size(); ++i) {
      CAPTURE(rows[i].name);
      Vec3 in_file;
      REQUIRE(std::sscanf(rows[i].place.c_str(), "[%lf, %lf, %lf]", &in_file[0], &in_file[1], &in_file[2]) == 3);
      const Vec3 back = as_worn(side, Vec3(foot.foot_from_scan * Vec3(10.0 * in_file)));
      // Centimetres with two decimals: each coordinate off by 0.05 mm at most, the place by sqrt(3) times that.
      CHECK((back - found[i]).norm() < 0.087);
    }
  }
}

TEST_CASE("toes that could not be told apart have one number, a missing one stands in brackets") {
  Fitting fitting = sample_fitting();
  fitting.foot.landmarks.toe_borders[1].seen = fitting.foot.landmarks.toe_borders[2].seen = false;
  fitting.foot.landmarks.toe_there[4] = false;
  const FoundBody body = found_on(fitting.foot, fitting.foot_measures, Words("en"));
  std::vector<std::string> numbers;
  for (const FoundPoint& toe : body.toes) numbers.push_back(toe.label);
  CHECK(numbers == std::vector<std::string>{"1", "2–4", "(5)"});
  CHECK(body.toe_borders.size() == 2);
}

TEST_CASE("a left foot is drawn as worn: from above its big toe is on the right") {
  for (const Side side : {Side::right, Side::left}) {
    const Fitting fitting = sample_fitting(side);
    const FoundBody body = found_on(fitting.foot, fitting.foot_measures, Words("en"));
    const double across = body.points[1].at.y() - body.points[2].at.y();  // first joint less fifth
    CHECK((across > 0.0) == (side == Side::right));
    // Its skin turned with it: still outward.
    CHECK(volume_mm3(body.mesh) > 0.0);
  }
}

TEST_CASE("what can't be a foot is drawn on its longest axis, whatever its size, and nothing can't be drawn") {
  const Mesh tube = sample_fitting().last.mesh;
  for (const double scale : {1.0, 1e-9, 1e9}) {
    CAPTURE(scale);
    Mesh mesh = tube;
    for (Vec3& p : mesh.vertices) p = scale * Vec3(p.y(), p.z(), -p.x());
    const std::optional<FoundBody> body = found_as_read(mesh, {});
    REQUIRE(body);
    CHECK(bounds(body->mesh).size().x() == WithinMm{250.0, 1e-6});
    CHECK_FALSE(body->in_mm);
    // The three sides of its box keep their proportions: its own axes are nearly those of its shape. 2 %: the tube
    // bends by 6 mm in 260.
    const Vec3 was = bounds(tube).size(), is = bounds(body->mesh).size();
    CHECK(is.x() / is.y() == doctest::Approx(was.x() / was.y()).epsilon(0.02));
  }
  CHECK_FALSE(found_as_read({}, {}));
  CHECK_FALSE(found_as_read({{Vec3::Zero(), Vec3::Zero()}, {}}, {}));
  CHECK_FALSE(found_as_read({{Vec3::Zero(), Vec3::Constant(1e308), Vec3::Constant(-1e308)}, {}}, {}));
  CHECK(found_as_read({tube.vertices, {}}, 1.0)->mesh.triangles.size() == 4 * tube.vertices.size());  // bare points
}

TEST_CASE("a refusal's page says why, shows both bodies, and prints no measure of the fit") {
  const Fitting fitting = sample_fitting();
  const ReadyLast last{fitting.last, fitting.last_measures, {}};
  for (const std::string& language : report_languages()) {
    const Words words(language);
    ReadPage page;
    REQUIRE(read_page(refusal_html(no_foot(), last, {"A < B", "2026-01-02", language}), page));
    const std::string text = test::text_of(page.document);
    for (const Message& told :
         {no_foot().why, Message{"refusal.headline"}, Message{"refusal.next.2"}, Message{"refused_foot.heading"}})
      CHECK(text.find(words(told)) != std::string::npos);
    CHECK(of_kind(page, "found above").size() == 4);
    for (const char* id : {"findings", "clearance", "measures", "registration", "toe_box"})
      CHECK_FALSE(page.document.find_node([&](pugi::xml_node node) { return attribute(node, "id") == id; }));
  }
}

TEST_CASE("foot and last in each other's place are told as that") {
  Fitting fitting = sample_fitting();
  const Message doubt{"doubt.may_be_foot", {{"height_mm", Quantity{70, 0}}, {"width_mm", Quantity{60, 0}}}};
  fitting.last.facts.repairs.insert(fitting.last.facts.repairs.begin(), {"repair.look_first", {{"doubt", doubt}}});
  const ReadyLast last{fitting.last, fitting.last_measures, {}};
  const std::string page = refusal_html(no_foot(), last, {});
  CHECK(page.find(Words("en")("refusal.swapped")) != std::string::npos);
  CHECK(page.find(english(doubt)) != std::string::npos);
  // In a report, before everything else.
  ReadPage report;
  REQUIRE(read_page(report_html(fitting, {}), report));
  const std::string text = test::text_of(report.document.child("html").child("body"));
  CHECK(text.find(english(doubt)) < text.find(Words("en")("headline.pinch")));
}

TEST_CASE("a page of measures tells how like a foot or a last it is, and every measure") {
  const Fitting fitting = sample_fitting();
  const ReadyFoot foot{fitting.foot, fitting.foot_measures, fitting.skin};
  const ReadyLast last{fitting.last, fitting.last_measures, {}};
  for (const std::string& language : report_languages()) {
    const Words words(language);
    const std::string of_foot = measure_html(foot, {"", "", language}),
                      of_last = measure_html(last, {"", "", language});
    CHECK(of_foot.find(words("found.if_wrong")) != std::string::npos);
    CHECK(of_foot.find(words.number(fitting.foot_measures.joint_girth.mm) + " mm") != std::string::npos);
    CHECK(of_last.find(words.number(fitting.last_measures.joint_girth.mm) + " mm") != std::string::npos);
  }
}

TEST_CASE("a page without a verdict prints no room, no pressure and no pose") {
  Fitting fitting = sample_fitting();
  fitting.assessment.verdict = Verdict::none;
  fitting.assessment.zones.clear();
  fitting.assessment.findings.resize(1);
  fitting.assessment.findings[0].rule = RuleId::pose_in_doubt;
  fitting.assessment.findings[0].verdict = Verdict::none;
  ReadPage page;
  REQUIRE(read_page(report_html(fitting, {}), page));
  for (const char* id : {"clearance", "sections", "toe_box", "tightening", "measures"})
    CHECK_FALSE(page.document.find_node([&](pugi::xml_node node) { return attribute(node, "id") == id; }));
  CHECK(of_kind(page, "found above").size() == 4);  // foot and last
}
