// The page over a table of jobs.
#include <doctest/doctest.h>

#include "report/overview.h"
#include "report_page.h"
#include "words/words.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

using State = OverviewLine::State;

const Rules kBuiltIn = default_rules();

OverviewLine line_of(std::size_t number, State state, Verdict verdict, const char* page) {
  OverviewLine line{number, "", "foot.ply", "derby.stl", state, verdict};
  line.page = page;
  return line;
}

}  // namespace

TEST_CASE("an overview counts verdicts, tells why a job failed and links every page, in every language") {
  std::vector<OverviewLine> lines = {line_of(1, State::done, Verdict::pinch, "jobs/0001/report.html"),
                                     line_of(2, State::done, Verdict::pinch, "jobs/0002/report.html"),
                                     line_of(3, State::done, Verdict::clear, "jobs/0003/shelf.html"),
                                     line_of(4, State::failed, Verdict::none, "jobs/0004/refusal.html"),
                                     line_of(5, State::waiting, Verdict::none, "")};
  lines[0].client = "<b>\u202EAnna";
  lines[3].problem = about_file("scan.no_toes", "hand.ply");
  for (const std::string& language : report_languages()) {
    const Words words(language);
    ReadPage page;
    REQUIRE(read_page(overview_html(lines, kBuiltIn, {"", "2026-01-02", language}), page));
    const std::string text = text_of(page.document);
    const auto has = [&](const std::string& piece) { return text.find(piece) != std::string::npos; };
    CHECK(has("2 \u00D7 " + words("verdict.pinch") + ", 1 \u00D7 " + words("verdict.clear")));
    CHECK(has(words(lines[3].problem)));
    CHECK(has(words("overview_waiting.heading")));
    CHECK(has("<b>\uFFFDAnna"));  // as text, and without what turns its direction
    std::vector<std::string> links;
    for (const pugi::xml_node element : page.elements)
      if (std::string_view(element.name()) == "a") links.push_back(attribute(element, "href"));
    CHECK(links == std::vector<std::string>{"jobs/0004/refusal.html", "jobs/0001/report.html", "jobs/0002/report.html",
                                            "jobs/0003/shelf.html"});
  }
}

TEST_CASE("an overview tells the verdict of each foot of a pair") {
  std::vector<OverviewLine> lines = {line_of(1, State::done, Verdict::pinch, "")};
  CHECK(overview_html(lines, kBuiltIn, {}).find("Left foot") == std::string::npos);
  lines[0].of_feet = {Verdict::clear, Verdict::pinch};
  const std::string page = overview_html(lines, kBuiltIn, {});
  CHECK(page.find("Left foot: clear") != std::string::npos);
  CHECK(page.find("Right foot: pinch") != std::string::npos);
}

TEST_CASE("an overview with a wearer at risk has the graver caution, and one of nobody at risk the referral") {
  std::vector<OverviewLine> lines = {line_of(1, State::done, Verdict::clear, "")};
  const Words words("en");
  lines[0].wearer = Wearer::standard;
  CHECK(overview_html(lines, kBuiltIn, {}).find("caution grave") == std::string::npos);
  CHECK(overview_html(lines, kBuiltIn, {}).find("podiatrist") != std::string::npos);
  lines.push_back(line_of(2, State::done, Verdict::clear, ""));
  CHECK(overview_html(lines, kBuiltIn, {}).find("class=\"caution grave\"") != std::string::npos);
}

TEST_CASE("an overview's headline tells of nothing that there is none of") {
  const auto headline = [](std::vector<State> states) {
    std::vector<OverviewLine> lines;
    for (const State state : states) lines.push_back(line_of(lines.size() + 1, state, Verdict::clear, ""));
    const std::string page = overview_html(lines, kBuiltIn, {});
    const std::size_t open = page.find("<h1>");
    return page.substr(open + 4, page.find("</h1>") - open - 4);
  };
  CHECK(headline({State::done}) == "The job is done.");
  CHECK(headline({State::done, State::done}) == "All 2 jobs are done.");
  CHECK(headline({State::failed, State::failed}) == "None of the 2 jobs could be done.");
  CHECK(headline({State::done, State::failed}) == "One of 2 jobs is done. One could not be done.");
  CHECK(headline({State::failed, State::waiting, State::waiting}) == "One could not be done. 2 are still waiting.");
  CHECK(headline({State::done, State::done, State::failed, State::waiting}) ==
        "2 of 4 jobs are done. One could not be done. One is still waiting.");
}
