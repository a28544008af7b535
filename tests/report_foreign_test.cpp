// Text of the user's own (marks, client, files, rules) is data: whatever it is, the rest of the page stays as it is.
#include <doctest/doctest.h>

#include "report/message_json.h"
#include "report/shelf.h"
#include "report_page.h"
#include "words/words.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

/// A hundred names that a template, a matcher, a parser or a reader of the page could stumble over.
std::vector<std::string> hostile_names() {
  std::vector<std::string> names = {
      "Warze. Seit 2024",
      "{advice}",
      "{}",
      "{what}{what}",
      "{",
      "}",
      "{{advice}}",
      "%s %n",
      "\\",
      "\"",
      "”): Take it off. (“",
      "x): It has its room: leave it so.",
      "</bdi></p><script>alert(1)</script>",
      "<!--",
      "]]>",
      "&amp;",
      "&#8238;",
      "lang=\"en\"",
      "a\nb",
      "a\tb",
      "tab\x1b[31m",
      "\xE2\x80\xAEsdrawkcab",
      "\xFF\xFE",
      "\xC3",
      ". ",
      "...",
      "1",
      "0.5",
      "-3",
      "None",
      "null",
      "advice.seat",
      "own_text",
      "größte Zehe",
      "右足の傷",
  };
  // Whole sentences of ours, alone and beside a name, in both languages.
  for (const std::string& language : report_languages()) {
    const Words words(language);
    for (const char* key : {"advice.seat", "advice.at_risk_wearer", "finding.undecided", "finding.near_limit",
                            "finding.marked", "finding.marked_as", "finding.spot_has_room", "tightening.at_risk",
                            "repair.merged", "doubt.no_rest", "shelf.no_verdict"})
      for (const char* before : {"", "Nagel. ", "Nagel: "}) names.push_back(before + words(key));
  }
  REQUIRE(names.size() >= 100);
  return names;
}

/// A foot at risk with a marked spot, and every text of the user's own that a page shows.
Fitting with_name(const std::string& name) {
  Fitting fitting = sample_fitting();
  fitting.settings.assessment.wearer = Wearer::at_risk;
  fitting.foot.facts.file = fitting.last.facts.file = fitting.rules.name = name;
  Finding& marked = fitting.assessment.findings[0];
  marked.rule = RuleId::marked_spot;
  marked.advice = {"finding.marked_as",
                   {{"what", UserText{name}},
                    {"advice", Message{"finding.undecided", {{"advice", Message{"advice.marked_spot"}}}}}}};
  Finding& risk = fitting.assessment.findings[1];
  risk.rule = RuleId::at_risk_wearer;
  risk.zone.reset();
  risk.advice = {"advice.at_risk_wearer"};
  return fitting;
}

/// The text below a node with a dot for every foreign piece.
void add_text(const pugi::xml_node& node, std::string& text, int& foreign) {
  if (node.type() == pugi::node_pcdata) text += node.value();
  if (std::string_view(node.name()) == "bdi") {
    CHECK(std::string_view(node.attribute("translate").value()) == "no");
    CHECK(node.attribute("lang"));
    CHECK(std::string_view(node.attribute("lang").value()).empty());
    text += "•";
    ++foreign;
    return;
  }
  for (const pugi::xml_node child : node.children()) add_text(child, text, foreign);
}

struct BodyText {
  std::string text;
  int foreign = 0;
};
BodyText body_text(const std::string& html) {
  ReadPage page;
  REQUIRE(read_page(html, page));
  BodyText found;
  add_text(page.document.child("html").child("body"), found.text, found.foreign);
  return found;
}

}  // namespace

TEST_CASE("a hundred hostile names change nothing of a page but themselves") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    const BodyText plain = body_text(report_html(with_name("Nagel"), {"Nagel", "2026-11-24", language}));
    CHECK(plain.foreign >= 4);  // mark, client, both files
    for (const char* key : {"advice.at_risk_wearer", "advice.marked_spot"})
      CHECK(plain.text.find(words(key)) != std::string::npos);  // in the page's own language, whole
    for (const std::string& name : hostile_names()) {
      CAPTURE(name);
      CHECK(body_text(report_html(with_name(name), {name, "2026-11-24", language})).text == plain.text);
    }
  }
}

TEST_CASE("a refusal's hostile file name changes nothing of a shelf's page but itself") {
  for (const std::string& language : report_languages()) {
    const auto page_of = [&](const std::string& name) {
      ShelfRow row;
      row.file = name;
      row.problem = about_file("last.no_last", name, {{"why", Message{"last.width"}}});
      return body_text(shelf_html({row}, {}, {name, "", language}, [](const ShelfRow&) { return ""; }));
    };
    const BodyText plain = page_of("Nagel");
    CHECK(plain.text.find(Words(language)(Message{"last.width"})) != std::string::npos);
    for (const std::string& name : hostile_names()) {
      CAPTURE(name);
      CHECK(page_of(name).text == plain.text);
    }
  }
}

TEST_CASE("a message comes back from JSON as it was") {
  const Message message = about_file("last.length", "a {file} \"b\".stl",
                                     {{"length_mm", Quantity{12.3456, 1}},
                                      {"count", std::uint64_t{3}},
                                      {"why", Message{"finding.marked_as", {{"what", UserText{"Warze. Seit 2024"}}}}}});
  CHECK(message_json(message_from_json(message_json(message))) == message_json(message));
  CHECK(english(message_from_json(message_json(message))) == english(message));
  CHECK(message_from_json(message_json(Message{})).empty());
}

TEST_CASE("numbers of a message are told in the language's way, and a count of one in the singular") {
  const Message cut{"repair.leg_cut", {{"height_mm", Quantity{-1.5, 1}}}};
  CHECK(english(cut) == "The leg was cut off -1.5 mm above the floor.");
  CHECK(Words("de")(cut) == "Das Bein wurde −1,5 mm über dem Boden abgeschnitten.");
  const auto pieces = [](std::uint64_t count) { return english({"repair.loose_pieces", {{"count", count}}}); };
  CHECK(pieces(1) == "One loose piece was taken away.");
  CHECK(pieces(2) == "2 loose pieces were taken away.");
}
