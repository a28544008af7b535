#include <fmt/format.h>
#include <openssl/evp.h>

#include <array>
#include <sstream>

#include "geometry/parallel.h"
#include "report/panels.h"
#include "report/text.h"

namespace lastroom {
namespace embedded {
extern const std::string_view report_css;
}
namespace {

struct Panel {
  void (*add)(pugi::xml_node page, const Page& facts);
  bool needs_pose;  ///< shows nothing but where the foot stands: left out when that is not known
};
constexpr std::array kPanels = {
    Panel{client_panel, false},       Panel{cautions_panel, false},   Panel{findings_panel, false},
    Panel{clearance_panel, true},     Panel{sections_panel, true},    Panel{toe_box_panel, true},
    Panel{tightening_panel, true},    Panel{corrections_panel, true}, Panel{measures_panel, false},
    Panel{registration_panel, false}, Panel{files_panel, false}};

std::string base64_of_sha256(std::string_view text) {
  std::array<unsigned char, 32> hash{};
  unsigned int length = 0;
  EVP_Digest(text.data(), text.size(), hash.data(), &length, EVP_sha256(), nullptr);
  std::array<unsigned char, 45> base64{};
  EVP_EncodeBlock(base64.data(), hash.data(), static_cast<int>(length));
  return reinterpret_cast<const char*>(base64.data());
}

/// The style sheet with the printed footer, whose text the margin boxes of a page take from the style alone.
std::string style(const ReportSettings& settings, const Words& words) {
  std::string left = words("page.name");
  if (!settings.client.empty()) left += " · " + plain_text(settings.client, 60);
  if (!settings.date.empty()) left += " · " + plain_text(settings.date, 20);
  return fmt::format(
      "{}\n@page{{@bottom-left{{content:{}}}@bottom-right{{content:{}counter(page) \" / \" counter(pages)}}}}\n",
      embedded::report_css, css_string(left), css_string(words("page.page") + " "));
}

void add_meta(pugi::xml_node head, const char* attribute, const char* value, const std::string& content) {
  pugi::xml_node node = head.append_child("meta");
  node.append_attribute(attribute).set_value(value);
  if (!content.empty()) node.append_attribute("content").set_value(content.c_str());
}

void add_head(pugi::xml_node html, const ReportSettings& settings, const Words& words) {
  const std::string css = style(settings, words);
  pugi::xml_node head = add(html, "head");
  add_meta(head, "charset", "utf-8", "");
  // Nothing may be fetched, sent, framed or run; the one style sheet is known by its hash.
  add_meta(head, "http-equiv", "Content-Security-Policy",
           fmt::format("default-src 'none'; style-src 'sha256-{}'; base-uri 'none'; form-action 'none'",
                       base64_of_sha256(css)));
  add_meta(head, "name", "viewport", "width=device-width, initial-scale=1");
  add_meta(head, "name", "referrer", "no-referrer");
  std::string title = words("page.name");
  if (!settings.client.empty()) title += " · " + plain_text(settings.client, 60);
  add(head, "title", "", title);
  add(head, "style", "", css);
}

}  // namespace

std::string report_html(const Fitting& fitting, const ReportSettings& settings) {
  const Words words(settings.language);
  const Page page = lay_out(fitting, settings, words);
  pugi::xml_document document;
  document.append_child(pugi::node_doctype).set_value("html");
  pugi::xml_node html = document.append_child("html");
  html.append_attribute("lang").set_value(words.language().c_str());
  add_head(html, settings, words);
  pugi::xml_node main = add(add(html, "body"), "main");
  const bool placed = fitting.assessment.verdict != Verdict::none;
  // Each panel draws into a document of its own, so that they can be drawn side by side.
  std::array<pugi::xml_document, kPanels.size()> drawn;
  for_blocks(kPanels.size(), 1, [&](std::size_t panel, std::size_t) {
    if (placed || !kPanels[panel].needs_pose) kPanels[panel].add(drawn[panel], page);
  });
  for (const pugi::xml_document& panel : drawn)
    for (const pugi::xml_node& node : panel) main.append_copy(node);
  std::ostringstream text;
  document.save(text, "", pugi::format_indent | pugi::format_no_declaration, pugi::encoding_utf8);
  return text.str();
}

}  // namespace lastroom
