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
constexpr std::array kClientPanels = {Panel{client_panel, false}, Panel{cautions_panel, false}};
constexpr std::array kMakerPanels = {
    Panel{findings_panel, false}, Panel{clearance_panel, true},     Panel{sections_panel, true},
    Panel{toe_box_panel, true},   Panel{tightening_panel, true},    Panel{corrections_panel, true},
    Panel{measures_panel, false}, Panel{registration_panel, false}, Panel{files_panel, false}};

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

/// An empty page in the report's language with its head; `main` takes the panels.
struct Document {
  pugi::xml_document xml;
  pugi::xml_node main;
};
void open_document(Document& document, const ReportSettings& settings, const Words& words) {
  document.xml.append_child(pugi::node_doctype).set_value("html");
  pugi::xml_node html = document.xml.append_child("html");
  html.append_attribute("lang").set_value(words.language().c_str());
  add_head(html, settings, words);
  document.main = add(add(html, "body"), "main");
}

std::string text_of(const Document& document) {
  std::ostringstream text;
  document.xml.save(text, "", pugi::format_indent | pugi::format_no_declaration, pugi::encoding_utf8);
  return text.str();
}

/// Each panel draws into a document of its own, so that they can be drawn side by side.
template <std::size_t N>
void add_panels(pugi::xml_node main, const std::array<Panel, N>& panels, const Page& page) {
  const bool placed = page.fitting.assessment.verdict != Verdict::none;
  std::array<pugi::xml_document, N> drawn;
  for_blocks(N, 1, [&](std::size_t panel, std::size_t) {
    if (placed || !panels[panel].needs_pose) panels[panel].add(drawn[panel], page);
  });
  for (const pugi::xml_document& panel : drawn)
    for (const pugi::xml_node& node : panel) main.append_copy(node);
}

/// Makes the panels of one foot its own beside those of the other: every id and what points to it begin with the
/// side, every heading ends with it.
void name_side(pugi::xml_node node, const std::string& prefix, const std::string& side) {
  for (pugi::xml_attribute a : node.attributes()) {
    const std::string name = a.name(), value = a.value();
    if (name == "id" || name == "aria-labelledby") a.set_value((prefix + value).c_str());
    if (value.starts_with("url(#")) a.set_value(("url(#" + prefix + value.substr(5)).c_str());
  }
  const std::string kind = node.attribute("class").value();
  if (std::string_view(node.name()) == "h2" || kind == "kicker")
    node.text().set((std::string(node.text().get()) + " · " + side).c_str());
  for (const pugi::xml_node child : node.children()) name_side(child, prefix, side);
}

}  // namespace

std::string report_html(const Fitting& fitting, const ReportSettings& settings) {
  const Words words(settings.language);
  const Page page = lay_out(fitting, settings, words);
  Document document;
  open_document(document, settings, words);
  add_panels(document.main, kClientPanels, page);
  add_panels(document.main, kMakerPanels, page);
  return text_of(document);
}

std::string pair_report_html(const Fitting& left, const Fitting& right, const ReportSettings& settings) {
  const Words words(settings.language);
  const std::array pages = {lay_out(left, settings, words), lay_out(right, settings, words)};
  Document document;
  open_document(document, settings, words);
  pair_panel(document.main, pages[0], pages[1]);
  cautions_panel(document.main, pages[0]);
  for (const Page& page : pages) {
    pugi::xml_document of_one_foot;
    add_panels(of_one_foot.append_child("div"), kMakerPanels, page);
    const std::string side(side_name(page.fitting.foot.side));
    name_side(of_one_foot.first_child(), side + "-", words("side." + side));
    for (const pugi::xml_node& node : of_one_foot.first_child()) document.main.append_copy(node);
  }
  return text_of(document);
}

}  // namespace lastroom
