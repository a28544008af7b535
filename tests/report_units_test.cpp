// Lengths in inches. Outside source: one inch is 25.4 mm exactly (international yard and pound agreement of 1959; NIST
// Special Publication 811, appendix B.8).
#include <doctest/doctest.h>

#include <regex>

#include "report/shelf.h"
#include "report_page.h"
#include "words/words.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

const ReportSettings kInInches{"", "", "en", {}, Lengths::inches, Paper::letter};

Fitting with_rules() {
  Fitting fitting = sample_fitting();
  fitting.rules = default_rules();
  fitting.settings.assessment.wearer = Wearer::unknown;  // asks for the sheet of the professional, too
  return fitting;
}

/// All pages of one check and its mail.
std::vector<std::string> pages_of(const Fitting& fitting, const ReportSettings& settings) {
  ShelfRow row;
  row.file = "derby.stl";
  fill_in(row, fitting);
  const std::string client = client_html(fitting, settings);
  return {report_html(fitting, settings), client, referral_html(fitting, settings),
          pair_report_html(fitting, fitting, settings),
          shelf_html({row}, {}, settings, [](const ShelfRow&) { return ""; })};
}

/// What a reader sees: without the limits' sources, which are told as they were published, and without the style.
void drop_sources(pugi::xml_node node) {
  for (pugi::xml_node child = node.first_child(); child;) {
    const pugi::xml_node next = child.next_sibling();
    const std::string_view name = child.name(), kind = child.attribute("class").value();
    if (kind == "source" || name == "style")
      node.remove_child(child);
    else
      drop_sources(child);
    child = next;
  }
}

std::string seen_on(const std::string& html) {
  ReadPage page;
  REQUIRE(read_page(html, page));
  drop_sources(page.document);
  std::string text = text_of(page.document);
  for (const pugi::xml_node element : page.elements)
    if (element.attribute("aria-label")) text += "\n" + attribute(element, "aria-label");
  return text;
}

/// Every number right before the unit; a true minus is a minus.
std::vector<double> lengths_in(const std::string& text, const std::string& unit) {
  const std::regex length("(\u2212?)([0-9]+(?:\\.[0-9]+)?) " + unit + "(?![a-z\u00B2])");
  std::vector<double> found;
  for (std::sregex_iterator it(text.begin(), text.end(), length), end; it != end; ++it)
    found.push_back(((*it)[1].length() > 0 ? -1.0 : 1.0) * std::stod((*it)[2]));
  return found;
}

}  // namespace

TEST_CASE("a length in inches is the length in mm over 25.4, to 0.01 inch") {
  const Words words("en", Lengths::inches);
  CHECK(words.length(254.0) == "10.00 inch");
  CHECK(words.length(262.0, 0) == "10.31 inch");  // 10.3150
  CHECK(words.length_number(-2.3) == "\u22120.09");
  CHECK(words.signed_length(6.35) == "+0.25 inch");
  CHECK(words.area(645.16) == "1.00 inch\u00B2");
  CHECK(Words("de", Lengths::inches).length(6.0) == "0,24 Zoll");
  CHECK(words(Message{"repair.leg_cut", {{"height_mm", Quantity{127.0, 0}}}}) ==
        "The leg was cut off 5.00 inch above the floor.");
  CHECK(words("caution.all.2").find("\u00B1 0.04 inch") != std::string::npos);
  CHECK(Words("en")("caution.all.2").find("\u00B1 1 mm") != std::string::npos);
}

TEST_CASE("no text of any catalogue says mm to a reader of inches") {
  const std::regex mm("\\bmm\\b");
  for (const std::string& language : report_languages()) {
    const Words words(language, Lengths::inches);
    for (const std::string_view key : words.keys()) {
      // Sources are told as published; the template is 1:1 in mm, and so are the browser's entries; two refusals list
      // the units that there are.
      const bool as_it_is = key.starts_with("source.") || key.starts_with("template.") || key.starts_with("app.") ||
                            key == "unit.mm" || key == "last.no_size" || key == "scan.no_size";
      if (as_it_is) continue;
      CAPTURE(std::string(key));
      CHECK_FALSE(std::regex_search(std::regex_replace(words(key), std::regex("\\{[a-z_]+\\}"), ""), mm));
    }
  }
}

TEST_CASE("every length of every page is told in inches, each the same length as in mm") {
  const Fitting fitting = with_rules();
  const std::vector<std::string> in_mm = pages_of(fitting, {}), in_inches = pages_of(fitting, kInInches);
  for (std::size_t page = 0; page < in_mm.size(); ++page) {
    CAPTURE(page);
    const std::string of_mm = seen_on(in_mm[page]), of_inches = seen_on(in_inches[page]);
    const std::vector<double> mm = lengths_in(of_mm, "mm"), inches = lengths_in(of_inches, "inch");
    CHECK(lengths_in(of_inches, "mm").empty());
    if (page == 0) REQUIRE(mm.size() > 10);  // the whole report has lengths to be read
    REQUIRE(mm.size() == inches.size());
    for (std::size_t i = 0; i < mm.size(); ++i) {
      if (mm[i] == 100.0 || mm[i] == 50.0) continue;  // the scale bars, which are 4 and 2 inches long
      // Half of the last digit of either: at most 0.5 mm and 0.005 inch.
      CHECK(std::abs(25.4 * inches[i] - mm[i]) <= 0.5 + 0.127 + 1e-9);
    }
  }
}

TEST_CASE("the mail is told in inches too; result.json and the template never are") {
  const Fitting fitting = with_rules();
  CHECK(mail_draft(fitting, {}, Attached::client_page, "") !=
        mail_draft(fitting, kInInches, Attached::client_page, ""));
  CHECK(template_svg(fitting, kInInches) == template_svg(fitting, {}));
}

TEST_CASE("a page is laid out for A4, or for Letter where that was asked for") {
  const Fitting fitting = with_rules();
  const std::regex letter("@page\\{size:letter;"), a4("@page\\{size:A4;");
  for (const std::string& page : pages_of(fitting, {})) CHECK(std::regex_search(page, a4));
  for (const std::string& page : pages_of(fitting, kInInches)) {
    CHECK(std::regex_search(page, letter));
    CHECK_FALSE(std::regex_search(page, a4));
  }
}
