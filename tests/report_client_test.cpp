// The client's page: plain words, and nothing of the workshop.
#include <doctest/doctest.h>

#include "report_page.h"
#include "words/words.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

bool has(const std::string& text, const std::string& piece) { return text.find(piece) != std::string::npos; }

/// The sample with five places, the gravest of them a difference of girths, which no plain words tell of.
Fitting with_many_findings() {
  Fitting fitting = sample_fitting();
  fitting.rules = default_rules();
  Finding girth = fitting.assessment.findings[0], instep = girth, tops = girth;
  girth.rule = RuleId::joint_girth;
  girth.zone.reset();
  girth.at_mm.reset();
  instep.rule = rule_of(Zone::instep);
  instep.zone = Zone::instep;
  tops.rule = rule_of(Zone::toe_tops);
  tops.zone = Zone::toe_tops;
  std::vector<Finding>& all = fitting.assessment.findings;
  all.insert(all.begin(), girth);
  all.push_back(instep);
  all.push_back(tops);
  return fitting;
}

}  // namespace

TEST_CASE("the client's page tells of at most three places, numbered from 1, none of them for the maker") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    for (const Wearer wearer : {Wearer::standard, Wearer::unknown, Wearer::at_risk}) {
      Fitting fitting = with_many_findings();
      fitting.settings.assessment.wearer = wearer;
      REQUIRE(has(report_html(fitting, {"", "", language}), words("plain_rule.other")));
      ReadPage page;
      REQUIRE(read_page(client_html(fitting, {"", "", language}), page));
      const std::string text = text_of(page.document.child("html").child("body"));
      CHECK_FALSE(has(text, words("plain_rule.other")));
      std::vector<std::string> numbers;
      for (const pugi::xml_node element : page.elements)
        if (std::string_view(element.name()) == "li" && element.attribute("value"))
          numbers.push_back(attribute(element, "value"));
      CHECK(numbers == std::vector<std::string>{"1", "2", "3"});
      CHECK(has(text, words("next.heading")));
    }
  }
}

TEST_CASE("the sore places are in colour on the client's foot, by their verdict, and what they mean stands under it") {
  Fitting fitting = with_many_findings();
  const Words words("en");
  const auto coloured = [&](const char* kind) { return has(client_html(fitting, {}), std::string("sore ") + kind); };
  for (const Verdict verdict : {Verdict::pinch, Verdict::watch, Verdict::slack}) {
    for (Finding& finding : fitting.assessment.findings) finding.verdict = verdict;
    CHECK(coloured("pinched") == (verdict == Verdict::pinch));
    CHECK(coloured("watched") == (verdict == Verdict::watch));
  }
  CHECK(has(client_html(fitting, {}), words("client.colours")));
}

TEST_CASE("nothing of the workshop stands on the client's page") {
  const Fitting fitting = with_many_findings();
  for (const std::string& language : report_languages()) {
    const Words words(language);
    const std::string html = client_html(fitting, {"Anna Beispiel", "2026-11-24", language});
    for (const std::string& piece :
         {fitting.rules.sha256, fitting.foot.facts.sha256, words("maker.heading"), words("findings.heading"),
          words("files.heading"), words("registration.heading"), std::string("<table")})
      CHECK_FALSE(has(html, piece));
    CHECK(has(html, "Anna Beispiel"));
    CHECK(html.size() < report_html(fitting, {"", "", language}).size() / 2);
  }
}

TEST_CASE("the letterhead stands on the client's page and in the mail, as text") {
  ReportSettings settings{"", "", "en"};
  const Fitting fitting = sample_fitting();
  CHECK_FALSE(has(client_html(fitting, settings), "class=\"maker\""));
  CHECK_FALSE(has(mail_draft(fitting, settings, Attached::client_page, ""), "From:"));
  settings.letterhead = {
      "Last & Sons <b>", {"1 Example Street", "Exampletown"}, "000 123", "bench@example.org", "Yours"};
  const std::string html = client_html(fitting, settings);
  for (const char* line : {"Last &amp; Sons &lt;b&gt;", "1 Example Street", "Exampletown", "000 123", "Yours"})
    CHECK(has(html, line));
  const std::string mail = mail_draft(fitting, settings, Attached::client_page, html);
  CHECK(has(mail, "\r\n <bench@example.org>\r\n"));
  CHECK(mail.starts_with("From: =?UTF-8?B?"));  // the name as RFC 2047 asks where it isn't a plain phrase
  CHECK(has(mail, "filename=\"client.html\""));
  CHECK(has(mail_draft(fitting, settings, Attached::whole_report, html), "filename=\"report.html\""));
}

TEST_CASE("which foot is fuller at the instep is told with its doubt, and only beyond twice that") {
  // The doubt of a difference: sqrt(2) times the repeat error of 1.5 mm of a scanned dimension (Lee, Lin, Wang 2014).
  Fitting left = with_many_findings(), right = with_many_findings();
  left.foot.side = Side::left;
  const auto told = [&](double more_mm) {
    left.foot_measures.instep_girth.mm = right.foot_measures.instep_girth.mm + more_mm;
    return pair_client_html(left, right, {});
  };
  CHECK(has(told(6.0), "The left foot is larger around the instep by 6.0 mm, accurate to about 2.1 mm."));
  CHECK(has(told(-6.0), "The right foot is larger around the instep by 6.0 mm"));
  CHECK_FALSE(has(told(4.0), "instep by"));
}
