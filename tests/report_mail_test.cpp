#include <doctest/doctest.h>
#include <openssl/evp.h>
#include <png.h>

#include <array>
#include <map>
#include <regex>

#include "near.h"
#include "report_page.h"
#include "words/words.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

std::string decoded(std::string base64) {
  std::erase_if(base64, [](char c) { return c == '\r' || c == '\n'; });
  std::string bytes(base64.size(), '\0');
  const int length =
      EVP_DecodeBlock(reinterpret_cast<unsigned char*>(bytes.data()),
                      reinterpret_cast<const unsigned char*>(base64.data()), static_cast<int>(base64.size()));
  REQUIRE(length >= 0);
  bytes.resize(static_cast<std::size_t>(length));
  for (std::size_t pad = 0; pad < 2 && base64.size() > pad && base64[base64.size() - 1 - pad] == '='; ++pad)
    bytes.pop_back();
  return bytes;
}

/// Body of the part whose headers contain `type`.
std::string part(const std::string& mail, const std::string& type) {
  const std::size_t head = mail.find("Content-Type: " + type);
  REQUIRE(head != std::string::npos);
  const std::size_t body = mail.find("\r\n\r\n", head) + 4;
  return mail.substr(body, mail.find("\r\n--", body) - body + 2);
}

std::string value_of(const std::string& mail, const std::string& header) {
  std::smatch found;
  REQUIRE(std::regex_search(mail, found, std::regex("(?:^|\r\n)" + header + ": ((?:[^\r]|\r\n )*)\r\n")));
  return found[1];
}

/// The text of a header's encoded words, each of which is held to RFC 2047, section 2.
std::string text_of_words(const std::string& header) {
  std::string text;
  const std::regex word("=\\?UTF-8\\?B\\?([^?]*)\\?=");
  for (std::sregex_iterator it(header.begin(), header.end(), word), end; it != end; ++it) {
    CHECK(it->length() <= 75);  // RFC 2047, section 2
    const std::string piece = decoded((*it)[1]);
    CHECK((static_cast<unsigned char>(piece[0]) & 0xC0) != 0x80);  // begins with a whole character
    text += piece;
  }
  return text;
}

}  // namespace

TEST_CASE("the mail draft is RFC 5322 and MIME, and names nobody") {
  const Fitting fitting = sample_fitting();
  const ReportSettings settings{"Anna Beispiel\r\nBcc: all@example.org", "2026-11-24", "de"};
  const std::string html = client_html(fitting, settings);
  const std::string mail = mail_draft(fitting, settings, Attached::client_page, html);
  for (std::size_t at = 0; at < mail.size();) {  // lines end in CRLF and hold at most 78 characters (RFC 5322, 2.1.1)
    const std::size_t end = mail.find("\r\n", at);
    REQUIRE(end != std::string::npos);
    const std::string line = mail.substr(at, end - at);
    CHECK(line.size() <= 78);
    CHECK(line.find_first_of("\r\n") == std::string::npos);
    at = end + 2;
  }
  CHECK(std::all_of(mail.begin(), mail.end(), [](char c) { return static_cast<unsigned char>(c) < 0x80; }));
  const std::string headers = "\r\n" + mail.substr(0, mail.find("\r\n\r\n")) + "\r\n";
  for (const char* header : {"From:", "To:", "Cc:", "Bcc:", "Date:", "Message-ID:"})
    CHECK(headers.find(std::string("\r\n") + header) == std::string::npos);
  CHECK(value_of(mail, "MIME-Version") == "1.0");
  const std::string subject = value_of(mail, "Subject");
  CHECK(subject.substr(0, 10) == "=?UTF-8?B?");
  CHECK(text_of_words(subject) ==
        "Passform-Bericht, rechter Fuß, 24. November 2026");  // no client: it is shown on locked screens
  CHECK(decoded(part(mail, "text/html")) == html);
  const std::string body = decoded(part(mail, "text/plain"));
  CHECK(body.find("So wie er ist, würde dieser Leisten drücken.") != std::string::npos);
  CHECK(body.find("1. Seite der kleinen Zehe (drückt)") != std::string::npos);
}

TEST_CASE("the mail says first what the report says first") {
  Fitting fitting = sample_fitting();
  fitting.rules = default_rules();
  fitting.assessment.verdict = Verdict::watch;
  fitting.assessment.findings.resize(1);
  fitting.assessment.findings[0].rule = RuleId::at_risk_wearer;
  fitting.assessment.findings[0].verdict = Verdict::watch;
  const std::string body = decoded(part(mail_draft(fitting, {"", "", "en"}, Attached::client_page, ""), "text/plain"));
  CHECK(body.find("but there are points to watch.") != std::string::npos);
  CHECK(body.find("come so close") == std::string::npos);
}

TEST_CASE("the mail shows the foot in a picture that libpng reads") {
  const Fitting fitting = sample_fitting();
  const std::string bytes = decoded(part(mail_draft(fitting, {"", "", "en"}, Attached::client_page, ""), "image/png"));
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  REQUIRE(png_image_begin_read_from_memory(&image, bytes.data(), bytes.size()) != 0);
  image.format = PNG_FORMAT_RGB;
  std::vector<std::uint8_t> rgb(PNG_IMAGE_SIZE(image));
  REQUIRE(png_image_finish_read(&image, nullptr, rgb.data(), 0, nullptr) != 0);
  CHECK((image.warning_or_error & PNG_IMAGE_ERROR) == 0);
  std::map<std::array<std::uint8_t, 3>, int> colours;
  for (std::size_t i = 0; i < rgb.size(); i += 3) ++colours[{rgb[i], rgb[i + 1], rgb[i + 2]}];
  const std::array<std::uint8_t, 3> white = {255, 255, 255}, pinched = {0xC4, 0x58, 0x3C};
  CHECK(colours[white] > 0);
  CHECK(colours[pinched] > 4 * 14 * 14);  // a thumb of 14 mm radius, at least a half of it seen, four pixels a mm2
  const std::string body = decoded(part(mail_draft(fitting, {"", "", "en"}, Attached::client_page, ""), "text/plain"));
  CHECK(body.find("Red: too tight") != std::string::npos);
}

TEST_CASE("a long subject is folded between characters") {
  ReportSettings settings{"", std::string(5, '1') + "äöüäöüäöüäöüäöü", "de"};
  const std::string mail = mail_draft(sample_fitting(), settings, Attached::client_page, "");
  const std::string subject = value_of(mail, "Subject");
  CHECK(text_of_words(subject) == "Passform-Bericht, rechter Fuß, 11111äöüäöüäöüäöüäöü");
}

namespace {

/// Where the first path (`which` 0) of this kind or a later one lies on the sheet, y down: paths are in tenths.
struct Spread {
  Vec2 low = Vec2::Constant(1e9), high = Vec2::Constant(-1e9);
};
Spread spread_mm(const ReadPage& page, const std::string& kind, int which = 0) {
  Spread spread;
  for (const pugi::xml_node element : page.elements) {
    if (std::string(element.attribute("class").value()) != kind || which-- > 0) continue;
    const std::string data = element.attribute("d").value();
    Vec2 at = Vec2::Zero();
    const std::regex step("(M?)(-?[0-9]+)[ ]?(-?[0-9]+)");
    for (std::sregex_iterator it(data.begin(), data.end(), step), end; it != end; ++it) {
      const Vec2 by(std::stod((*it)[2]) / 10.0, std::stod((*it)[3]) / 10.0);
      at = (*it)[1].length() > 0 ? by : Vec2(at + by);
      spread.low = spread.low.cwiseMin(at);
      spread.high = spread.high.cwiseMax(at);
    }
    break;
  }
  return spread;
}
double breadth_mm(const Spread& spread) { return spread.high.x() - spread.low.x(); }

}  // namespace

TEST_CASE("the template is drawn 1:1, its bar is 100 mm, and the last's outline has the last's width") {
  for (const Side side : {Side::right, Side::left}) {
    Fitting fitting = sample_fitting(side);
    fitting.rules = default_rules();
    ReadPage page;
    REQUIRE(read_page(template_svg(fitting), page));
    const pugi::xml_node svg = page.document.child("svg");
    double x = 0, y = 0, width = 0, height = 0;
    REQUIRE(std::sscanf(svg.attribute("viewBox").value(), "%lf %lf %lf %lf", &x, &y, &width, &height) == 4);
    double width_mm = 0.0, height_mm = 0.0;
    REQUIRE(std::sscanf(svg.attribute("width").value(), "%lfmm", &width_mm) == 1);
    REQUIRE(std::sscanf(svg.attribute("height").value(), "%lfmm", &height_mm) == 1);
    CHECK(width_mm == width);  // one unit of the drawing is one millimetre of paper
    CHECK(height_mm == height);
    CHECK(breadth_mm(spread_mm(page, "bar")) == 100.0);
    double low = 1e9, high = -1e9;
    for (const Vec3& p : fitting.last.mesh.vertices) {
      if (p.x() < 170.0) continue;  // the tube is widest in front of the joint at 166 mm
      low = std::min(low, p.y());
      high = std::max(high, p.y());
    }
    CHECK(breadth_mm(spread_mm(page, "last-line")) == WithinMm{high - low, 0.5});  // a pixel of 0.25 mm on either side
  }
}

TEST_CASE("the template's line leaves the longest toe its room in force, and says so") {
  Fitting fitting = sample_fitting();
  fitting.rules = default_rules();
  const auto drawn = [&](ReadPage& page) {
    REQUIRE(read_page(template_svg(fitting), page));
    return text_of(page.document);
  };
  ReadPage without, standard, at_risk;
  CHECK(drawn(without).find("Not in it: the room before the toes.") != std::string::npos);  // skin without a toe
  for (std::size_t v = 0; v < fitting.skin.toe.size(); ++v)
    fitting.skin.toe[v] = fitting.clearance.skin_mm[v].x() > 240.0;
  CHECK(drawn(standard).find("In it: 10.0 mm of toe room before the longest toe.") != std::string::npos);
  fitting.settings.assessment.wearer = Wearer::at_risk;
  CHECK(drawn(at_risk).find("In it: 12.0 mm of toe room before the longest toe.") != std::string::npos);
  // The foot ends at 260 mm, the last at 278, and the sock has 1 mm. A pixel is 0.25 mm, a path's step 0.1.
  const auto before_last_end_mm = [](const ReadPage& page) {  // in the plan; the toes point up
    return spread_mm(page, "keep-out").low.y() - spread_mm(page, "last-line").low.y();
  };
  CHECK(before_last_end_mm(standard) == WithinMm{278.0 - 271.0, 0.5});
  CHECK(before_last_end_mm(at_risk) == WithinMm{278.0 - 273.0, 0.5});
  CHECK(before_last_end_mm(without) > 10.0);
  // In the profile as well, to the right in this right foot's.
  CHECK(breadth_mm(spread_mm(standard, "keep-out", 1)) > breadth_mm(spread_mm(without, "keep-out", 1)) + 6.0);
}

TEST_CASE("the template says whose it is, which side is the inside, and where the joint line lies") {
  Fitting fitting = sample_fitting();
  fitting.rules = default_rules();
  const std::string sheet = template_svg(fitting, {"<Ann & Co>", "2026-01-02", "en"});
  ReadPage page;
  REQUIRE(read_page(sheet, page));
  const std::string text = text_of(page.document);
  CHECK(text.find("<Ann & Co>") != std::string::npos);
  CHECK(text.find("2026-01-02") != std::string::npos);
  const double inside = page.document.select_node("//text[.='inside']").node().attribute("x").as_double(),
               outside = page.document.select_node("//text[.='outside']").node().attribute("x").as_double();
  CHECK(inside < outside);  // a right foot's inside is on the wearer's left
  CHECK(page.document.select_nodes("//path[contains(@class, 'change')]").size() > 0);
}

TEST_CASE("a template without a verdict says so on the sheet") {
  Fitting fitting = sample_fitting();
  fitting.rules = default_rules();
  for (const std::string& language : report_languages()) {
    const Words words(language);
    fitting.assessment.verdict = Verdict::pinch;
    CHECK(template_svg(fitting, {"", "", language}).find(words("template.no_verdict")) == std::string::npos);
    fitting.assessment.verdict = Verdict::none;
    const std::string sheet = template_svg(fitting, {"", "", language});
    CHECK(sheet.find(words("template.no_verdict")) != std::string::npos);
    CHECK(sheet.find(words("template.no_verdict_lines")) != std::string::npos);
  }
}
