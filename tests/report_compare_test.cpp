#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <tuple>

#include "error.h"
#include "report/compare.h"
#include "report_page.h"
#include "words/words.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

FittedResult as_written(const Fitting& fitting, const char* name) {
  const std::string ply = clearance_ply(fitting);
  return {name, result_json(fitting), parse_clearance_ply(ply, name)};
}

/// As a check leaves it whose pose is in doubt; the numbers are there all the same.
Fitting without_verdict() {
  Fitting fitting = sample_fitting();
  fitting.assessment.verdict = Verdict::none;
  fitting.assessment.zones.clear();
  return fitting;
}

bool has(const std::string& text, const std::string& piece) { return text.find(piece) != std::string::npos; }

}  // namespace

TEST_CASE("a result without a verdict is compared with nothing: headline, pictures and toe room") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    const auto page = [&](const Fitting& a, const Fitting& b) {
      return compare_html(compare(as_written(a, "one"), as_written(b, "two")), {"", "", language});
    };
    const std::string both = page(sample_fitting(), sample_fitting());
    CHECK(has(both, words("compare.neither")));
    CHECK(has(both, "id=\"compare_pictures\""));
    const std::vector<std::tuple<Fitting, Fitting, const char*>> doubtful = {
        {sample_fitting(), without_verdict(), "B"},
        {without_verdict(), sample_fitting(), "A"},
        {without_verdict(), without_verdict(), "A, B"}};
    for (const auto& [a, b, which] : doubtful) {
      const std::string html = page(a, b);
      CHECK(has(html, words("compare.no_verdict", {{"which", which}})));
      CHECK_FALSE(has(html, words("compare.neither")));
      CHECK_FALSE(has(html, "<svg"));
    }
  }
  const Comparison c = compare(as_written(sample_fitting(), "one"), as_written(without_verdict(), "two"));
  for (const double mm : c.difference_mm) CHECK_FALSE(std::isfinite(mm));
  const auto json = nlohmann::json::parse(compare_json(c));
  CHECK(json["measures"]["toe_room_mm"]["a"] == 11.4);
  CHECK(json["measures"]["toe_room_mm"]["b"].is_null());
  CHECK(json["measures"]["allowance_mm"]["b"].is_null());
  CHECK(json["measures"]["last_length_mm"]["b"] == 282.0);  // that needs no pose
}

TEST_CASE("a result that lacks a part is refused in one sentence") {
  const FittedResult whole = as_written(sample_fitting(), "whole");
  for (const char* part : {"foot", "last", "toe_room", "tool", "zones", "verdict", "inputs", "registration"}) {
    nlohmann::json json = nlohmann::json::parse(whole.json);
    json.erase(part);
    FittedResult lacking = as_written(sample_fitting(), "lacking");
    lacking.json = json.dump();
    INFO(part);
    CHECK_THROWS_AS(compare(as_written(sample_fitting(), "whole"), std::move(lacking)), InputError);
  }
}

TEST_CASE("a comparison paints no skin that is not judged") {
  const Fitting fitting = sample_fitting();
  const Comparison c = compare(as_written(fitting, "one"), as_written(fitting, "two"));
  REQUIRE(c.difference_mm.size() == fitting.foot.mesh.vertices.size());
  std::size_t known = 0;
  for (std::size_t v = 0; v < c.difference_mm.size(); ++v) {
    known += std::isfinite(c.difference_mm[v]);
    CHECK(std::isfinite(c.difference_mm[v]) == is_judged(fitting.clearance, fitting.skin, v));
  }
  CHECK(known > 1000);
  CHECK(known < c.difference_mm.size());
}

TEST_CASE("a comparison says that the socks differ, and only then") {
  Fitting thick = sample_fitting();
  thick.settings.registration.sock_mm = 2.5;
  const auto page = [](const Fitting& a, const Fitting& b) {
    return compare_html(compare(as_written(a, "one"), as_written(b, "two")), {"", "", "en"});
  };
  CHECK(has(page(sample_fitting(), thick), "a sock of 1.0 mm, B with one of 2.5 mm"));
  CHECK_FALSE(has(page(thick, thick), "a sock of"));
}

TEST_CASE("judged for different wearers, no zone is said to be better in the headline") {
  Fitting standard = sample_fitting(), at_risk = sample_fitting();
  standard.settings.assessment.wearer = Wearer::standard;
  at_risk.settings.assessment.wearer = Wearer::at_risk;
  const auto page = [](const Fitting& a, const Fitting& b) {
    return compare_html(compare(as_written(a, "one"), as_written(b, "two")), {"", "", "en"});
  };
  CHECK(has(page(at_risk, standard), "<h1>A and B were judged by different limits"));
  CHECK_FALSE(has(page(standard, standard), "judged by different limits"));
  // Nor in the list: its verdicts are by other limits, its room is the same.
  for (ZoneVerdict& zone : at_risk.assessment.zones) zone.verdict = Verdict::pinch;
  for (const ZonePair& zone : compare(as_written(at_risk, "one"), as_written(standard, "two")).zones)
    CHECK(zone.change == ZoneChange::same);
}
