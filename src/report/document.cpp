#include "report/document.h"

#include <fmt/format.h>

#include <sstream>

#include "digest/digest.h"
#include "report/page.h"
#include "report/text.h"

namespace lastroom {
namespace embedded {
extern const std::string_view report_css;
}
namespace {

/// The style sheet with the printed footer, whose text the margin boxes of a page take from the style alone.
std::string style(const ReportSettings& settings, const Words& words, const std::string& name) {
  std::string left = name;
  if (!settings.client.empty()) left += " · " + plain_text(settings.client, 60);
  if (!settings.date.empty()) left += " · " + plain_text(words.date(settings.date), 30);
  const char* paper = settings.paper == Paper::letter ? "letter" : "A4";
  return fmt::format(
      "{}\n@page{{size:{};@bottom-left{{content:{}}}@bottom-right{{content:{}counter(page) \" / \" "
      "counter(pages)}}}}\n@page one-to-one{{size:{} landscape}}\n",
      embedded::report_css, paper, css_string(left), css_string(words("page.page") + " "), paper);
}

void add_meta(pugi::xml_node head, const char* attribute, const char* value, const std::string& content) {
  pugi::xml_node node = head.append_child("meta");
  node.append_attribute(attribute).set_value(value);
  if (!content.empty()) node.append_attribute("content").set_value(content.c_str());
}

void add_head(pugi::xml_node html, const ReportSettings& settings, const Words& words, const std::string& name) {
  const std::string css = style(settings, words, name);
  pugi::xml_node head = add(html, "head");
  add_meta(head, "charset", "utf-8", "");
  // Nothing may be fetched, sent, framed or run; the one style sheet is known by its hash.
  add_meta(head, "http-equiv", "Content-Security-Policy",
           fmt::format("default-src 'none'; style-src 'sha256-{}';{} base-uri 'none'; form-action 'none'",
                       base64(sha256(css)), settings.letterhead.logo.bytes.empty() ? "" : " img-src data:;"));
  add_meta(head, "name", "viewport", "width=device-width, initial-scale=1");
  add_meta(head, "name", "referrer", "no-referrer");
  std::string title = name;
  if (!settings.client.empty()) title += " · " + plain_text(settings.client, 60);
  add(head, "title", "", title);
  add(head, "style", "", css);
}

}  // namespace

void open_document(Document& document, const ReportSettings& settings, const Words& words, const std::string& name) {
  document.xml.append_child(pugi::node_doctype).set_value("html");
  pugi::xml_node html = document.xml.append_child("html");
  html.append_attribute("lang").set_value(words.language().c_str());
  add_head(html, settings, words, name);
  document.main = add(add(html, "body"), "main");
}

std::string text_of(const Document& document) {
  std::ostringstream text;
  document.xml.save(text, "", pugi::format_indent | pugi::format_no_declaration, pugi::encoding_utf8);
  return text.str();
}

}  // namespace lastroom
