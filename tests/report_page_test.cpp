#include "report_page.h"

#include <doctest/doctest.h>
#include <openssl/evp.h>

#include <map>
#include <nlohmann/json.hpp>
#include <random>
#include <set>

#include "report/colour_scale.h"
#include "report/page.h"
#include "report/plain_words.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

const ReportSettings kSettings{"Anna Beispiel", "2026-11-24", "en"};

std::vector<Verdict> all_verdicts() {
  return {Verdict::clear, Verdict::slack, Verdict::watch, Verdict::pinch, Verdict::none};
}

}  // namespace

TEST_CASE("the page fetches nothing and runs nothing") {
  const std::string html = report_html(sample_fitting(), kSettings);
  for (const char* forbidden : {"http://", "https://", "//cdn", "<script", "<link", "<img", "<iframe", "<object",
                                "<form", "@import", "javascript:"}) {
    CAPTURE(forbidden);
    CHECK(html.find(forbidden) == std::string::npos);
  }
  ReadPage page;
  REQUIRE(read_page(html, page));
  const std::set<std::string> may_point = {"clip-path", "fill"};
  for (const pugi::xml_node element : page.elements) {
    for (const pugi::xml_attribute a : element.attributes()) {
      const std::string name = a.name(), value = a.value();
      CHECK(name.substr(0, 2) != "on");
      CHECK(name != "style");  // the policy forbids it
      CHECK(name != "src");
      CHECK(name.find("href") == std::string::npos);
      if (value.find("url(") != std::string::npos) {
        CHECK(may_point.contains(name));
        CHECK(value.substr(0, 5) == "url(#");
      }
    }
  }
}

TEST_CASE("the policy allows this one style sheet, by its hash, and nothing else") {
  ReadPage page;
  REQUIRE(read_page(report_html(sample_fitting(), kSettings), page));
  const pugi::xml_node head = page.document.child("html").child("head");
  CHECK(attribute(head.child("meta"), "charset") == "utf-8");
  const std::string policy = attribute(head.child("meta").next_sibling("meta"), "content");
  const std::string css = head.child("style").child_value();
  unsigned char hash[32];
  unsigned int length = 0;
  REQUIRE(EVP_Digest(css.data(), css.size(), hash, &length, EVP_sha256(), nullptr) == 1);
  unsigned char base64[64];
  EVP_EncodeBlock(base64, hash, static_cast<int>(length));
  CHECK(policy == "default-src 'none'; style-src 'sha256-" + std::string(reinterpret_cast<char*>(base64)) +
                      "'; base-uri 'none'; form-action 'none'");
  CHECK(css.find_first_of("<>&") == std::string::npos);  // raw text in HTML, text in XML: must read the same in both
}

TEST_CASE("a last without worked-out changes is only said to need none when nothing is left to do") {
  Fitting fitting = sample_fitting();
  fitting.assessment.corrections.changes.clear();
  for (const Verdict verdict : {Verdict::clear, Verdict::slack, Verdict::watch, Verdict::pinch}) {
    fitting.assessment.verdict = verdict;
    const std::string html = report_html(fitting, kSettings);
    CHECK((html.find("No change is proposed.") != std::string::npos) == (verdict == Verdict::clear));
    CHECK((html.find("No place can be put right by building up") != std::string::npos) == (verdict != Verdict::clear));
  }
}

TEST_CASE("every verdict, wearer and language makes a page") {
  for (const std::string& language : report_languages()) {
    for (const Verdict verdict : all_verdicts()) {
      for (const Wearer wearer : {Wearer::standard, Wearer::at_risk, Wearer::unknown}) {
        Fitting fitting = sample_fitting(Side::left);
        fitting.assessment.verdict = verdict;
        fitting.settings.assessment.wearer = wearer;
        for (Finding& finding : fitting.assessment.findings) finding.verdict = verdict;
        ReadPage page;
        CHECK(read_page(report_html(fitting, {"", "", language}), page));
        CHECK(attribute(page.document.child("html"), "lang") == language);
        CHECK(read_page(client_html(fitting, {"", "", language}), page));
        CHECK(read_page(referral_html(fitting, {"", "", language}), page));
        CHECK(read_page(pair_client_html(fitting, fitting, {"", "", language}), page));
      }
    }
  }
  CHECK_THROWS_AS(report_html(sample_fitting(), {"", "", "xx"}), std::invalid_argument);
}

TEST_CASE("the professional's sheet has every finding with its limit, the wearer's limits and room to sign") {
  Fitting fitting = sample_fitting();
  fitting.settings.assessment.wearer = Wearer::at_risk;
  const Words words("en");
  const std::string sheet = referral_html(fitting, kSettings);
  REQUIRE(fitting.assessment.findings.size() <= 12);  // of more, the sheet names the gravest twelve
  for (const Finding& finding : fitting.assessment.findings)
    if (finding.measured_mm)
      CHECK(sheet.find(with_doubt(words, finding.measured_mm, finding.sigma_mm)) != std::string::npos);
  for (const char* key : {"referral.wearer.at-risk", "referral.number", "referral.signature", "referral.not"})
    CHECK(sheet.find(words(key)) != std::string::npos);
}

TEST_CASE("without a verdict nothing is shown that rests on the pose") {
  Fitting fitting = sample_fitting();
  fitting.assessment.verdict = Verdict::none;
  fitting.registration.doubt_reason = own_text("The heel is missing.");
  const std::string html = report_html(fitting, kSettings);
  for (const char* id :
       {"id=\"clearance\"", "id=\"sections\"", "id=\"toe_box\"", "id=\"tightening\"", "id=\"corrections\""}) {
    CHECK(html.find(id) == std::string::npos);
    CHECK(report_html(sample_fitting(), kSettings).find(id) != std::string::npos);
  }
  CHECK(html.find("The heel is missing.") != std::string::npos);
}

TEST_CASE(
    "every picture has a name or is hidden; headings go down one at a time; tables have headers; ids are single") {
  ReadPage page;
  REQUIRE(read_page(report_html(sample_fitting(), kSettings), page));
  std::set<std::string> ids;
  std::vector<std::string> wanted_ids;
  int level = 0, firsts = 0, pictures = 0;
  for (const pugi::xml_node element : page.elements) {
    const std::string tag = element.name();
    if (!attribute(element, "id").empty()) CHECK(ids.insert(attribute(element, "id")).second);
    if (element.attribute("aria-labelledby")) wanted_ids.push_back(attribute(element, "aria-labelledby"));
    for (const char* name : {"clip-path", "fill"}) {
      const std::string value = attribute(element, name);
      if (value.starts_with("url(#")) wanted_ids.push_back(value.substr(5, value.size() - 6));
    }
    if (tag == "svg") {
      ++pictures;
      const bool named = attribute(element, "role") == "img" && attribute(element, "aria-label").size() > 10;
      CHECK((named || attribute(element, "aria-hidden") == "true"));
    }
    if (tag.size() == 2 && tag[0] == 'h' && tag[1] >= '1' && tag[1] <= '6') {
      CHECK(tag[1] - '0' <= level + 1);
      level = tag[1] - '0';
      firsts += level == 1;
      CHECK_FALSE(text_of(element).empty());
    }
    if (tag == "th") CHECK(element.attribute("scope"));
    if (tag == "table") CHECK(element.child("caption"));
    if (tag == "figure") CHECK_FALSE(text_of(element.child("figcaption")).empty());
    // An empty element other than the void ones would be read as an open one by HTML.
    const std::set<std::string> html_tags = {"td",      "th",     "p",   "div", "span", "li", "ul", "ol",
                                             "section", "strong", "bdi", "dd",  "dt",   "h2", "h3"};
    if (html_tags.contains(tag)) CHECK(element.first_child());
  }
  CHECK(firsts == 1);
  CHECK(pictures > 20);
  for (const std::string& id : wanted_ids) {
    CAPTURE(id);
    CHECK(ids.contains(id));
  }
}

TEST_CASE("the numbers in the page are those of result.json") {
  const Fitting fitting = sample_fitting();
  const auto result = nlohmann::json::parse(result_json(fitting));
  ReadPage page;
  REQUIRE(read_page(report_html(fitting, kSettings), page));
  const std::string text = text_of(page.document.child("html").child("body"));
  const Words words("en");
  const auto shown = [&](const nlohmann::json& value) { return words.number(value.get<double>()); };
  const auto has = [&](const std::string& piece) {
    CAPTURE(piece);
    CHECK(text.find(piece) != std::string::npos);
  };
  for (const auto& finding : result["findings"]) {
    has(shown(finding["measured_mm"]) + " ± " + shown(finding["uncertainty_mm"]) + " mm");
    has(finding["advice"].get<std::string>());
    has(finding["source"].get<std::string>());
  }
  for (const auto& zone : result["zones"]) {
    has(shown(zone["p05_mm"]) + " ± " + shown(zone["uncertainty_mm"]) + " mm");
    for (const char* key : {"limit_mm", "median_mm", "min_mm"}) has(shown(zone[key]) + " mm");
  }
  for (const char* key : {"length_mm", "joint_girth_mm", "joint_width_mm", "instep_girth_mm", "heel_girth_mm",
                          "heel_width_mm", "heel_to_joint_mm", "big_toe_height_mm"}) {
    has(shown(result["foot"][key]) + " mm");
  }
  for (const char* key : {"length_mm", "joint_girth_mm", "heel_height_mm", "toe_spring_mm"})
    has(shown(result["last"][key]) + " mm");
  has(shown(result["toe_room"]["tip_mm"]) + " ± " + shown(result["toe_room"]["tip_uncertainty_mm"]) + " mm");
  for (const char* toe : {"big", "second", "third", "fourth"})
    has(shown(result["toe_room"]["headroom_mm"][toe]) + " ± ");
  has("± " + words.number(result["registration"]["uncertainty"]["position_mm"].get<double>(), 2) + " mm");
  has(result["inputs"]["scan"]["sha256"].get<std::string>());
  has(result["tool"]["rules_sha256"].get<std::string>());
  has("lastroom " + result["tool"]["version"].get<std::string>());
}

TEST_CASE("the same fitting gives the same bytes") {
  CHECK(report_html(sample_fitting(), kSettings) == report_html(sample_fitting(), kSettings));
}

TEST_CASE("a page stays under 1.5 MB and readable for a million vertices of noise") {
  Fitting fitting = sample_fitting(Side::right, 12);
  REQUIRE(fitting.foot.mesh.vertices.size() > 1'000'000);
  std::mt19937 dice(7);
  for (double& c : fitting.clearance.clearance_mm) c += 6.0 * (static_cast<double>(dice()) / 4294967295.0 - 0.5);
  const std::string html = report_html(fitting, kSettings);
  CHECK(html.size() < 1'500'000);
  ReadPage page;
  CHECK(read_page(html, page));
}

TEST_CASE("hostile client and file names stay text") {
  const std::map<std::string, std::string> names = {
      {"markup", "</title><script>alert(1)</script><b onclick='x'>&amp;\"]]>"},
      {"style", "\"}body{display:none}</style><style>*{color:red}\\22 \n@import url(//x)"},
      {"turned", "invoice\xE2\x80\xAEgpj.stl"},
      {"no utf-8", "a\xff\xc0\xaf\xed\xa0\x80\xf5z"},
      {"controls", std::string("a\0b\x01\x1b[31m\r\nSubject: x", 22)},
      {"long", std::string(10'000, 'x')},
      {"comment", "<!-- --><![CDATA[x"},
  };
  ReadPage plain;  // what is no day is foreign too
  REQUIRE(read_page(report_html(sample_fitting(), {"Anna Beispiel", "yesterday", "en"}), plain));
  for (const auto& [what, name] : names) {
    CAPTURE(what);
    Fitting fitting = sample_fitting();
    fitting.foot.facts.file = fitting.last.facts.file = fitting.rules.name = name;
    fitting.foot.facts.repairs = {own_text(name)};
    fitting.assessment.findings[0].advice = own_text(name);
    fitting.assessment.findings[0].source = name;
    const std::string html = report_html(fitting, {name, name, "en"});
    ReadPage page;
    REQUIRE(read_page(html, page));
    CHECK(page.elements.size() == plain.elements.size());  // no element more, none less
    CHECK(html.find("<script") == std::string::npos);
    CHECK(html.find("\xE2\x80\xAE") == std::string::npos);  // U+202E turns the direction of what follows
    CHECK(html.size() < 1'500'000);
    const std::string css = page.document.child("html").child("head").child("style").child_value();
    CHECK(css.find("display:none") == std::string::npos);
    CHECK(css.find_first_of("<>&") == std::string::npos);
    CHECK(std::all_of(html.begin(), html.end(),
                      [](char c) { return static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t'; }));
    CHECK_NOTHROW(nlohmann::json(html).dump());  // it throws on what is not UTF-8
  }
}

TEST_CASE("contrast of the palette (WCAG 2.2, SC 1.4.3 and 1.4.11)") {
  const auto luminance = [](VertexColour c) {  // relative luminance, WCAG 2.2
    const auto part = [](double channel) {
      const double s = channel / 255.0;
      return s <= 0.04045 ? s / 12.92 : std::pow((s + 0.055) / 1.055, 2.4);
    };
    return 0.2126 * part(c.red) + 0.7152 * part(c.green) + 0.0722 * part(c.blue);
  };
  const auto contrast = [&](VertexColour a, VertexColour b) {
    const double la = luminance(a), lb = luminance(b);
    return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
  };
  CHECK(contrast({0, 0, 0}, {255, 255, 255}) == doctest::Approx(21.0));  // the formula's own largest value
  ReadPage page;
  REQUIRE(read_page(report_html(sample_fitting(), kSettings), page));
  const std::string css = page.document.child("html").child("head").child("style").child_value();
  const auto colour = [&](const std::string& name) {
    const std::size_t at = css.find("--" + name + ": #");
    REQUIRE(at != std::string::npos);
    const auto value = std::stoul(css.substr(at + name.size() + 5, 6), nullptr, 16);
    return VertexColour{static_cast<std::uint8_t>(value >> 16), static_cast<std::uint8_t>(value >> 8 & 255),
                        static_cast<std::uint8_t>(value & 255)};
  };
  for (const char* text : {"ink", "quiet", "accent", "alarm"}) {
    for (const char* ground : {"paper", "wash"}) {
      CAPTURE(text);
      CAPTURE(ground);
      CHECK(contrast(colour(text), colour(ground)) >= 4.5);
    }
  }
  CHECK(contrast(colour("paper"), colour("accent")) >= 4.5);  // numbers in their discs
  // A hatch is a dark line on a white one: one of the two stands out on every band.
  for (std::size_t band = 0; band <= kBandBorders_mm.size(); ++band) {
    CAPTURE(band);
    CHECK(std::max(contrast(colour("ink"), band_colour(band)), contrast({255, 255, 255}, band_colour(band))) >= 3.0);
  }
}

TEST_CASE("all catalogues have the same keys and the same names in braces, and no empty text") {
  const auto names = [](const std::string& text) {
    std::multiset<std::string> found;
    for (std::size_t at = text.find('{'); at != std::string::npos; at = text.find('{', at + 1)) {
      found.insert(text.substr(at, text.find('}', at) - at));
    }
    return found;
  };
  const Words english("en");
  for (const std::string& language : report_languages()) {
    CAPTURE(language);
    const Words words(language);
    CHECK(words.keys() == english.keys());
    for (const std::string_view key : english.keys()) {
      CAPTURE(std::string(key));
      CHECK_FALSE(words(key).empty());
      CHECK(names(words(key)) == names(english(key)));
    }
  }
}

TEST_CASE("every zone, verdict, class and rule of the default rules has its words") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    for (const Verdict v : all_verdicts()) CHECK(words.has("verdict." + std::string(verdict_name(v))));
    for (std::size_t z = 0; z < kZoneCount; ++z) CHECK(words.has(zone_message(static_cast<Zone>(z)).key));
    for (const LengthUnit unit : {LengthUnit::millimetre, LengthUnit::centimetre, LengthUnit::metre, LengthUnit::inch})
      CHECK(words.has(unit_message(unit).key));
    for (std::size_t first = 0; first < 5; ++first)
      for (std::size_t last = first; last < 5; ++last) CHECK(!words(toe_message({first, last, 1.0})).empty());
    for (const Side side : {Side::left, Side::right})
      for (const char* key : {"repair.taken_for_", "side_in_sentence."})
        CHECK(words.has(key + std::string(side_name(side))));
  }
}

TEST_CASE(
    "a German page is German whatever the built-in rules say, and shows a rules file's own words as in no language") {
  Fitting fitting = sample_fitting();
  const auto finding_with = [&](const Message& advice, const Rule& rule) {
    Finding finding = fitting.assessment.findings.front();
    finding.rule = rule.id;
    finding.advice = advice;
    finding.source = rule.source;
    finding.provenance = rule.provenance;
    return finding;
  };
  std::vector<Finding> findings;
  const Words words("de");
  for (const Rule& rule : default_rules().rules)
    for (const Message& advice : {advice_of(rule), slack_advice_of(rule)}) {
      if (advice.empty()) continue;
      CAPTURE(advice.key);
      CHECK(advice.key != "own_text");
      CHECK(words(advice) != english(advice));
      findings.push_back(finding_with(advice, rule));
    }
  fitting.assessment.findings = findings;
  fitting.foot.facts.repairs = {{"repair.taken_for_left"}, {"repair.merged", {{"count", std::uint64_t{12}}}}};
  fitting.last.facts.repairs = {};
  fitting.registration.weakest = {"weakest", {{"direction", Message{"weakest.sliding"}}, {"mm", Quantity{1.4, 1}}}};
  fitting.assessment.tightening.why = {
      "tightening.stopped_by",
      {{"zone", zone_message(Zone::inside_joint)},
       {"sides", Message{"tightening.outside_only", {{"why", Message{"tightening.closed.inside_stands_out"}}}}}}};
  const std::string html = report_html(fitting, {"", "", "de"});
  for (const Finding& finding : findings) {
    CHECK(html.find(english(finding.advice)) == std::string::npos);
    const std::string source = "source." + std::string(rule_name(finding.rule));
    CAPTURE(source);
    CHECK(english(Message{source}) == finding.source);  // so its German twin is shown
  }
  CHECK(html.find("Nach seiner Form wurde er für einen linken Fuß gehalten.") != std::string::npos);
  CHECK(html.find("Gleiten entlang des Leistens, auf 1,4 mm genau") != std::string::npos);
  CHECK(html.find("Weiter hinein käme Ballen innen zuerst an die Grenze. Nur die Außenseite wird enger") !=
        std::string::npos);

  fitting.assessment.findings.front().advice = own_text("Ask old Miller.");
  CHECK(report_html(fitting, {"", "", "de"}).find("<bdi lang=\"\" translate=\"no\">Ask old Miller.</bdi>") !=
        std::string::npos);
}

TEST_CASE("numbers are written the language's way") {
  const Words en("en"), de("de");
  CHECK(en.number(-2.34) == "−2.3");
  CHECK(de.number(-2.34) == "−2,3");
  CHECK(en.number(-0.04) == "0.0");
  CHECK(en.signed_number(0.04) == "0.0");
  CHECK(en.signed_number(1.25, 2) == "+1.25");
  CHECK(en.number(std::numeric_limits<double>::quiet_NaN()) == "–");
}

TEST_CASE("both feet in one page: ids stay single, every pointer finds its own, one first heading") {
  Fitting left = sample_fitting(Side::left), right = sample_fitting();
  left.foot_measures.length_mm = 266.0;
  ReadPage page;
  REQUIRE(read_page(pair_report_html(left, right, kSettings), page));
  std::set<std::string> ids;
  std::vector<std::string> wanted_ids;
  int level = 0, firsts = 0;
  for (const pugi::xml_node element : page.elements) {
    const std::string tag = element.name();
    if (!attribute(element, "id").empty()) CHECK(ids.insert(attribute(element, "id")).second);
    if (element.attribute("aria-labelledby")) wanted_ids.push_back(attribute(element, "aria-labelledby"));
    for (const char* name : {"clip-path", "fill"}) {
      const std::string value = attribute(element, name);
      if (value.starts_with("url(#")) wanted_ids.push_back(value.substr(5, value.size() - 6));
    }
    if (tag.size() == 2 && tag[0] == 'h' && tag[1] >= '1' && tag[1] <= '6') {
      CHECK(tag[1] - '0' <= level + 1);
      level = tag[1] - '0';
      firsts += level == 1;
    }
  }
  CHECK(firsts == 1);
  for (const std::string& id : wanted_ids) {
    CAPTURE(id);
    CHECK(ids.contains(id));
  }
  for (const char* id : {"left-clearance", "right-clearance", "left-findings", "right-findings"})
    CHECK(ids.contains(id));
}

TEST_CASE("the larger foot is named where two scans can tell, and only there") {
  // Two scans with a repeat error of 1.5 mm each (Lee, Lin, Wang 2014) differ by sqrt(2) times that; told from twice
  // that on: 4.24 mm.
  const auto page_text = [](double left_longer_mm, double right_fuller_mm, const char* language) {
    Fitting left = sample_fitting(Side::left), right = sample_fitting();
    left.foot_measures.length_mm += left_longer_mm;
    right.foot_measures.joint_girth.mm += right_fuller_mm;
    ReadPage page;
    REQUIRE(read_page(pair_report_html(left, right, {"", "", language}), page));
    return text_of(page.document.child("html").child("body"));
  };
  const auto has = [](const std::string& text, const char* piece) { return text.find(piece) != std::string::npos; };
  const std::string alike = page_text(4.2, 4.2, "en");
  CHECK(has(alike, "no clear difference in size"));
  const std::string both = page_text(4.3, 6.0, "en");
  CHECK(has(both, "The left foot is longer by 4.3 mm"));
  CHECK(has(both, "The right foot is larger around the joint by 6.0 mm"));
  CHECK_FALSE(has(both, "no clear difference in size"));
  CHECK(has(both, "+4.3 mm"));
  CHECK(has(both, "−6.0 mm"));
  CHECK(has(page_text(-5.0, 0.0, "de"), "Länger: rechter Fuß, um 5,0 mm"));
}

TEST_CASE("the limit of a difference stands on both sides of zero, and is drawn on the value's") {
  Fitting fitting = sample_fitting();
  fitting.assessment.findings.resize(1);
  Finding& finding = fitting.assessment.findings[0];
  finding.zone.reset();
  finding.sigma_mm = 1.5;
  struct Shown {
    std::string text;
    double limit_at, value_at, zero_at;
  };
  const auto shown = [&](const char* rule, double mm, double limit_mm) {
    finding.rule = *find_rule(rule);
    finding.measured_mm = mm;
    finding.limit_mm = limit_mm;
    ReadPage page;
    REQUIRE(read_page(report_html(fitting, kSettings), page));
    Shown found{text_of(page.document), 0.0, 0.0, 0.0};
    for (const pugi::xml_node gauge : page.elements) {
      if (attribute(gauge, "class") != "gauge") continue;
      for (const pugi::xml_node line : gauge.child("g").children("path")) {
        const double at = std::stod(attribute(line, "d").substr(1)) / 10.0;
        if (attribute(line, "class") == "limit") found.limit_at = at;
        if (attribute(line, "class") == "tick") found.zero_at = at;
      }
      found.value_at = std::stod(attribute(gauge.child("circle"), "cx"));
    }
    return found;
  };
  const Shown smaller = shown("joint_girth", -9.0, 6.35);
  CHECK(smaller.text.find("± 6.3 mm") != std::string::npos);  // 6.35 lies a little below, as a double
  CHECK(smaller.text.find("a minus means that the last is the smaller") != std::string::npos);
  CHECK(smaller.value_at < smaller.limit_at);
  CHECK(smaller.limit_at < smaller.zero_at);
  const Shown larger = shown("joint_girth", 9.0, 6.35);
  CHECK(larger.zero_at < larger.limit_at);
  CHECK(larger.limit_at < larger.value_at);
  const Shown heel = shown("heel_height", 25.0, 20.0);  // no heel has a negative height
  CHECK(heel.text.find("± 20.0 mm") == std::string::npos);
  CHECK(heel.text.find("a minus means") == std::string::npos);
  const Shown zone = shown("toe_tops", -3.0, 0.5);
  CHECK(zone.limit_at > zone.zero_at);
}
