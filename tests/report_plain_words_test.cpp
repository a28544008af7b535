// What a client is told, in a report's first part.
#include <doctest/doctest.h>

#include <map>

#include "report/plain_words.h"
#include "report_page.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

const ReportSettings kSettings{"Anna Beispiel", "2026-11-24", "en"};

/// How each catalogue tells a limit: at least, at most.
const std::map<std::string, std::pair<std::string, std::string>> kLimits = {{"en", {"at least ", "at most "}},
                                                                            {"de", {"mindestens ", "höchstens "}},
                                                                            {"fr", {"au moins ", "au plus "}},
                                                                            {"it", {"almeno ", "al massimo "}}};

}  // namespace

TEST_CASE("a client never reads of a negative room") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    for (const char* rule : {"toe_room", "headroom", "toe_width_room"}) {
      CAPTURE(rule);
      Fitting fitting = sample_fitting();
      fitting.assessment.findings.resize(1);
      fitting.assessment.findings[0].rule = *find_rule(rule);
      fitting.assessment.findings[0].zone.reset();
      const auto told = [&](double mm) {
        fitting.assessment.findings[0].measured_mm = mm;
        return in_plain_words(lay_out(fitting, kSettings, words), fitting.assessment.findings[0]);
      };
      CHECK(told(-1.04).find("−") == std::string::npos);
      CHECK(told(-1.04).find(words.number(1.0)) != std::string::npos);
      CHECK(told(-1.04) != told(1.04));
    }
  }
}

TEST_CASE("too much room is told with an upper limit, and a spot that could not be measured without a number") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    Fitting fitting = sample_fitting();
    fitting.assessment.findings.resize(1);
    Finding& finding = fitting.assessment.findings[0];
    finding.zone.reset();
    finding.limit_mm = 20.0;
    const auto told = [&](const char* rule, std::optional<double> mm, Verdict verdict) {
      finding.rule = *find_rule(rule);
      finding.measured_mm = mm;
      finding.sigma_mm = mm ? std::optional(1.2) : std::nullopt;
      finding.verdict = verdict;
      return in_plain_words(lay_out(fitting, kSettings, words), finding);
    };
    const auto& [at_least, at_most] = kLimits.at(language);
    for (const char* rule : {"toe_room", "headroom", "toe_width_room", "allowance", "marked_spot"}) {
      CAPTURE(rule);
      const std::string loose = told(rule, 25.4, Verdict::slack);
      CHECK(loose.find(words.number(25.4)) != std::string::npos);
      CHECK(loose.find(at_most + words.number(20.0)) != std::string::npos);
      CHECK(loose.find(at_least) == std::string::npos);
    }
    CHECK(told("toe_room", 8.0, Verdict::watch).find(at_least + words.number(20.0)) != std::string::npos);
    const std::string unmeasured = told("marked_spot", {}, Verdict::watch);
    CHECK(unmeasured == words("plain_rule.marked_spot.unmeasured"));
    CHECK(unmeasured.find(" mm") == std::string::npos);
    finding.zone = Zone::fifth_toe_side;
    CHECK(told("zone_not_measured", {}, Verdict::watch) == words("plain_rule.zone_not_measured"));
  }
}

TEST_CASE("what a report says first follows from what is to be watched") {
  Fitting fitting = sample_fitting();
  fitting.assessment.verdict = Verdict::watch;
  fitting.rules = default_rules();
  const auto with = [&](std::vector<std::pair<const char*, Verdict>> rules) {
    const Finding like = sample_fitting().assessment.findings[0];
    fitting.assessment.findings.clear();
    for (const auto& [rule, verdict] : rules) {
      fitting.assessment.findings.push_back(like);
      fitting.assessment.findings.back().rule = *find_rule(rule);
      fitting.assessment.findings.back().verdict = verdict;
    }
    return tidings_of(fitting);
  };
  CHECK(with({{"at_risk_wearer", Verdict::watch}}) == Tidings::facts);
  CHECK(with({{"joint_girth", Verdict::watch}, {"sole_missing", Verdict::watch}}) == Tidings::facts);
  CHECK(with({{"at_risk_wearer", Verdict::watch}, {"toe_room", Verdict::slack}}) == Tidings::slack);
  CHECK(with({{"seat", Verdict::slack}, {"marked_spot", Verdict::clear}}) == Tidings::slack);
  CHECK(with({{"toe_tops", Verdict::watch}, {"seat", Verdict::slack}}) == Tidings::watch);
  CHECK(with({{"marked_spot", Verdict::watch}}) == Tidings::watch);

  with({{"at_risk_wearer", Verdict::watch}});
  for (const std::string& language : report_languages()) {
    const Words words(language);
    const std::string html = report_html(fitting, {"", "", language});
    for (const char* key : {"headline.facts", "lead.facts", "next.facts.1"}) {
      CAPTURE(key);
      CHECK(html.find(words(key)) != std::string::npos);
    }
    CHECK(html.find(words("lead.watch")) == std::string::npos);
    Fitting left = sample_fitting(Side::left);
    left.assessment = fitting.assessment;
    CHECK(pair_report_html(left, fitting, {"", "", language}).find(words("pair.headline.facts")) != std::string::npos);
  }
}

TEST_CASE("the list of places counts as the picture does, also when a finding is left out of it") {
  Fitting fitting = sample_fitting();
  Finding again = fitting.assessment.findings[0];  // of the same zone
  again.rule = RuleId::headroom;
  fitting.assessment.findings.insert(fitting.assessment.findings.begin() + 1, again);
  ReadPage page;
  REQUIRE(read_page(report_html(fitting, kSettings), page));
  std::vector<std::string> shown, counted;
  for (const pugi::xml_node element : page.elements) {
    if (attribute(element, "class") != "places") continue;
    for (const pugi::xml_node item : element.children("li")) {
      shown.push_back(text_of(item.child("span")));
      counted.push_back(attribute(item, "value"));
    }
  }
  CHECK(shown == std::vector<std::string>{"1", "3", "4"});
  CHECK(counted == shown);
}
