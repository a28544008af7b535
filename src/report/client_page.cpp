#include <fmt/format.h>

#include <algorithm>

#include "digest/digest.h"
#include "report/client_parts.h"
#include "report/document.h"
#include "report/panels.h"
#include "report/text.h"

namespace lastroom {
namespace {

constexpr std::size_t kMostForClient = 3;

/// Logo, name, address, telephone and mail of the maker, over everything else.
void add_maker(pugi::xml_node page, const Letterhead& letterhead) {
  if (letterhead.empty()) return;
  pugi::xml_node maker = add(page, "address", "maker");
  const auto line = [&](const char* kind, const std::string& text) {
    if (!text.empty()) add_foreign(add(maker, "p", kind), text, 200);
  };
  if (!letterhead.logo.bytes.empty()) {
    pugi::xml_node logo = add(maker, "img");
    logo.append_attribute("alt").set_value("");  // the name stands beside it
    logo.append_attribute("src").set_value(
        fmt::format("data:{};base64,{}", letterhead.logo.media_type, base64(letterhead.logo.bytes)).c_str());
  }
  line("name", letterhead.name);
  for (const std::string& text : letterhead.address) line("", text);
  line("", letterhead.telephone);
  line("", letterhead.mail);
}

void add_sign_off(pugi::xml_node page, const Letterhead& letterhead) {
  if (letterhead.sign_off.empty()) return;
  add_foreign(add(page, "p", "sign-off"), letterhead.sign_off, 200);
}

}  // namespace

Page for_client(Page page) {
  std::erase_if(page.places, [&](const Place& place) {
    // What the caution says of the wearer is not said twice.
    const bool about_wearer =
        place.finding->rule == RuleId::at_risk_wearer || place.finding->rule == RuleId::unknown_wearer;
    return about_wearer || !has_plain_words(page.words, *place.finding);
  });
  page.places = places_to_show(page);
  if (page.places.size() > kMostForClient) page.places.resize(kMostForClient);
  int number = 0;
  for (Place& place : page.places) place.number = ++number;
  return page;
}

std::string client_html(const Page& all) {
  const Page page = for_client(all);
  Document document;
  open_document(document, page.settings, page.words, page.words("page.name"));
  document.main.append_attribute("class").set_value("sheet");
  add_maker(document.main, page.settings.letterhead);
  client_panel(document.main, page);
  cautions_panel(document.main, page);
  add_sign_off(document.main, page.settings.letterhead);
  return text_of(document);
}

std::string pair_client_html(const Page& left, const Page& right) {
  const ReportSettings& settings = left.settings;
  Document document;
  open_document(document, settings, left.words, left.words("page.name"));
  document.main.append_attribute("class").set_value("sheet");
  add_maker(document.main, settings.letterhead);
  pair_panel(document.main, for_client(left), for_client(right));
  cautions_panel(document.main, left,
                 graver(left.fitting.settings.assessment.wearer, right.fitting.settings.assessment.wearer));
  add_sign_off(document.main, settings.letterhead);
  return text_of(document);
}

std::string client_html(const Fitting& fitting, const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  return client_html(lay_out(fitting, settings, words));
}

std::string pair_client_html(const Fitting& left, const Fitting& right, const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  return pair_client_html(lay_out(left, settings, words), lay_out(right, settings, words));
}

}  // namespace lastroom
