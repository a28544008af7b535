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
  CHECK(has(text, "not usable or without a verdict: 1;"));
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
