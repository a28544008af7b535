#include <doctest/doctest.h>

#include "report/shelf.h"
#include "report_page.h"
#include "words/words.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

Fitting with_rules() {
  Fitting fitting = sample_fitting();
  fitting.rules = default_rules();
  return fitting;
}

std::string page_of(const ShelfRow& row, const char* language = "en") {
  ReadPage page;
  REQUIRE(read_page(shelf_html({row}, {}, {"", "", language}, [](const ShelfRow&) { return ""; }), page));
  return text_of(page.document);
}

bool has(const std::string& text, const std::string& piece) { return text.find(piece) != std::string::npos; }

}  // namespace

TEST_CASE("a last that was checked without a verdict is not called untried, nor counted as not usable alone") {
  Fitting fitting = with_rules();
  fitting.assessment.verdict = Verdict::none;
  fitting.registration.doubt_reason = {"doubt.not_settled"};
  ShelfRow row;
  row.file = "derby.stl";
  fill_in(row, fitting);
  CHECK(row.fate == Fate::unusable);
  const std::string text = page_of(row);
  CHECK(has(text, "It was checked in full, but no verdict could be given. The search for the pose did not settle."));
  CHECK_FALSE(has(text, "Not tried"));
  CHECK(has(text, "not usable or without a verdict: 1"));
  CHECK(has(page_of(row, "de"), "Er wurde ganz geprüft, aber ein Urteil war nicht möglich. Die Suche"));
}

TEST_CASE("a marked spot that has its room is no gravest finding") {
  Fitting fitting = with_rules();
  fitting.assessment.findings.resize(1);
  fitting.assessment.findings[0].rule = RuleId::marked_spot;
  const auto finding = [&](Verdict verdict) {
    fitting.assessment.findings[0].verdict = verdict;
    ShelfRow row;
    fill_in(row, fitting);
    return row.finding;
  };
  CHECK_FALSE(finding(Verdict::clear).has_value());
  CHECK(finding(Verdict::watch) == RuleId::marked_spot);
}

TEST_CASE("the gravest finding of a shelf's row has its rule's name and a limit with its sign") {
  ShelfRow row;
  row.fate = Fate::judged;
  row.verdict = Verdict::watch;
  row.margin = {-1.0, rule_of(Zone::seat)};
  row.finding = RuleId::joint_girth;
  row.measured_mm = -9.0;
  row.limit_mm = 6.4;
  CHECK(has(page_of(row), "Joint girth, −9.0 mm (limit ± 6.4 mm). Last less foot and sock: a minus means"));
  row.measured_mm = 9.0;
  CHECK_FALSE(has(page_of(row), "a minus means"));
  row.finding = RuleId::toe_room;
  row.limit_mm = 10.0;
  CHECK(has(page_of(row), "(limit 10.0 mm)"));
}

TEST_CASE("what is doubtful about the foot itself is told apart from what is the last's") {
  Fitting fitting = with_rules();
  Finding sole = fitting.assessment.findings[0], load = sole;
  sole.rule = RuleId::sole_missing;
  sole.advice = {"advice.sole_missing"};
  load.rule = RuleId::scan_not_loaded;
  load.advice = {"advice.scan_not_loaded"};
  fitting.assessment.findings.push_back(sole);
  fitting.assessment.findings.push_back(load);
  ShelfHead head;
  head.remarks = doubts_about_foot(fitting.assessment);
  REQUIRE(head.remarks.size() == 2);
  CHECK(head.remarks[0].key == sole.advice.key);
  CHECK(head.remarks[1].key == load.advice.key);
  const std::string html = shelf_html({}, head, {"", "", "en"}, [](const ShelfRow&) { return ""; });
  CHECK(has(html, english(sole.advice)));
}

namespace {

ShelfRow judged(const char* size, const char* width, Verdict verdict, double margin_mm, std::vector<RuleId> wrong) {
  ShelfRow row;
  row.file = std::string("derby-") + size + ".stl";
  row.name = {"Derby", size, width};
  row.fate = Fate::judged;
  row.verdict = verdict;
  row.margin = {margin_mm, wrong.empty() ? std::optional<RuleId>() : wrong.front()};
  row.wrong = std::move(wrong);
  return row;
}

std::string text_of_page(const std::vector<ShelfRow>& rows, const char* language = "en") {
  ReadPage page;
  REQUIRE(read_page(shelf_html(rows, {}, {"", "", language}, [](const ShelfRow&) { return ""; }), page));
  return text_of(page.document);
}

}  // namespace

TEST_CASE("the answer names the nearest by model, size and width, and what its neighbours would put right") {
  const std::vector<ShelfRow> rows = {
      judged("42", "wide", Verdict::pinch, -1.5, {rule_of(Zone::big_toe_tip), rule_of(Zone::instep)}),
      judged("42.5", "wide", Verdict::pinch, -2.0, {rule_of(Zone::heel_back), rule_of(Zone::instep)}),
      judged("43", "narrow", Verdict::pinch, -3.0, {rule_of(Zone::heel_back)})};
  const std::string text = text_of_page(rows);
  CHECK(has(text, "None of these lasts fits as it is. The closest is Derby, size 42, wide."));
  CHECK(has(text, "the least beyond its limits: 1.5 mm at the worst place, Big toe, tip."));
  CHECK(has(text, "Derby, size 42.5, wide would put right: Big toe, tip. It ranks lower because of: Heel back."));
  CHECK_FALSE(has(text, "Derby, size 43, narrow would"));  // neither the same size nor the same width
}

TEST_CASE("half a size that is not on the shelf is told of where length alone lacks") {
  // Half a size is 25.4 / 6 = 4.23 mm.
  const auto of = [](double margin_mm, RuleId rule) {
    ShelfRow row = judged("42", "", Verdict::pinch, margin_mm, {rule});
    row.finding = rule, row.measured_mm = margin_mm, row.limit_mm = 0.0;
    return row;
  };
  CHECK(has(text_of_page({of(-4.2, rule_of(Zone::big_toe_tip))}), "Half a size longer (4.2 mm)"));
  CHECK(has(text_of_page({of(-4.3, RuleId::toe_room)}), "A size longer (8.5 mm)"));
  for (const ShelfRow& row : {of(-8.5, RuleId::toe_room), of(1.0, RuleId::toe_room), of(-2.0, rule_of(Zone::instep))})
    CHECK_FALSE(has(text_of_page({row}), "size longer"));
  ShelfRow too_long = of(-2.0, RuleId::allowance);
  too_long.measured_mm = 32.0, too_long.limit_mm = 30.0;
  CHECK_FALSE(has(text_of_page({too_long}), "size longer"));
  std::vector<ShelfRow> with_next = {of(-2.0, RuleId::toe_room), of(-3.0, rule_of(Zone::instep))};
  with_next[0].length_mm = 270.0, with_next[1].length_mm = 274.3;
  CHECK_FALSE(has(text_of_page(with_next), "size longer"));
}

TEST_CASE("every verdict of the nearest last has its headline in every language") {
  for (const std::string& language : report_languages())
    for (const Verdict verdict : {Verdict::clear, Verdict::slack, Verdict::watch, Verdict::pinch}) {
      const std::string text = text_of_page({judged("42", "", verdict, 1.0, {})}, language.c_str());
      CHECK(has(text, "Derby"));
      CHECK(has(text, "42"));
    }
}

TEST_CASE("models are grouped once there are two, each with its nearest last") {
  std::vector<ShelfRow> rows = {judged("42", "", Verdict::clear, 1.0, {}), judged("43", "", Verdict::watch, -1.0, {})};
  CHECK_FALSE(has(text_of_page(rows), "By model"));
  rows.push_back(judged("41", "", Verdict::pinch, -2.0, {}));
  rows.back().name.model = "Oxford";
  const std::string text = text_of_page(rows);
  CHECK(has(text, "By model"));
  CHECK(has(text, "Oxford, size 41"));
}

TEST_CASE("a pair of lasts is told for each foot, and which of them decides") {
  ShelfRow pair = judged("42", "", Verdict::pinch, -2.0, {rule_of(Zone::instep)});
  pair.feet = {judged("42", "", Verdict::clear, 1.0, {}), pair};
  pair.decides = Side::right;
  const std::string text = text_of_page({pair});
  CHECK(has(text, "The right foot decides"));
  CHECK(has(text, "Left foot: clear. 1.0 mm inside its limits."));
  CHECK(has(text, "Right foot: pinch. 2.0 mm beyond its limits. Furthest beyond: Instep."));
}
