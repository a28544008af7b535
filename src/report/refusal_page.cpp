#include <fmt/format.h>

#include "preparation/other_body.h"
#include "report/client_parts.h"
#include "report/document.h"
#include "report/found_body.h"

namespace lastroom {
namespace {

void add_refused(pugi::xml_node section, const Refused& refused, const std::string& what, const Words& words) {
  const std::optional<FoundBody> body = found_as_read(refused.mesh, refused.mm_per_unit);
  if (!body) {
    add(section, "p", "", words("refusal.nothing_to_draw"));
    return;
  }
  add(section, "p", "intro", words(body->in_mm ? "refusal.as_read" : "refusal.as_read_no_unit"));
  add_found_views(section, *body, what, words);
}

void add_steps(pugi::xml_node parent, const Words& words) {
  add(parent, "h2", "", words("next.heading"));
  pugi::xml_node steps = add(parent, "ol", "steps");
  for (const char* step : {"refusal.next.1", "refusal.next.2", "refusal.next.3"}) add(steps, "li", "", words(step));
}

/// The first screen: that nothing was judged, why, and what to do.
void add_first(Document& document, const ReportSettings& settings, const Words& words,
               const std::vector<Message>& reasons) {
  open_document(document, settings, words, words("refusal.name"));
  add_letterhead(document.main, words,
                 {{words("client.client"), settings.client, true}, date_entry(words, settings.date)}, "refusal.name");
  pugi::xml_node first = add(document.main, "section", "first alone");
  pugi::xml_node answer = add(first, "div", "answer");
  add(answer, "h1", "", words("refusal.headline"));
  for (const Message& reason : reasons) add_message(answer, "p", "lead", reason, words);
  add(add(answer, "div", "caution"), "p", "", first_caution(words, Wearer::standard));
  add_steps(add(first, "div", "next"), words);
}

/// Why each is refused or doubted, and what follows from both together.
std::vector<Message> reasons_of(const std::variant<ReadyFoot, Refused>& foot,
                                const std::variant<ReadyLast, Refused>& last) {
  const auto *no_foot = std::get_if<Refused>(&foot), *no_last = std::get_if<Refused>(&last);
  const Message* foot_doubt = no_foot ? nullptr : first_doubt(std::get<ReadyFoot>(foot).foot.facts);
  const Message* last_doubt = no_last ? nullptr : first_doubt(std::get<ReadyLast>(last).last.facts);
  std::vector<Message> reasons;
  if (no_foot) reasons.push_back(no_foot->why);
  if (foot_doubt) reasons.push_back({"refusal.foot_doubted", {{"doubt", *foot_doubt}}});
  if (no_last) reasons.push_back(no_last->why);
  if (last_doubt) reasons.push_back({"refusal.last_doubted", {{"doubt", *last_doubt}}});
  if ((no_foot && last_doubt) || (no_last && foot_doubt)) reasons.push_back({"refusal.swapped"});
  if (reasons.empty()) reasons.push_back({"refusal.together"});
  return reasons;
}

void add_foot(Document& document, const ReadyFoot& foot, const Words& words) {
  add_found_foot(add_section(document.main, words, "found"), foot.foot, foot.measures, words);
}

}  // namespace

std::string refusal_html(const std::variant<ReadyFoot, Refused>& foot, const std::variant<ReadyLast, Refused>& last,
                         const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  const auto *no_foot = std::get_if<Refused>(&foot), *no_last = std::get_if<Refused>(&last);
  Document document;
  add_first(document, settings, words, reasons_of(foot, last));
  if (no_foot)
    add_refused(add_section(document.main, words, "refused_foot"), *no_foot, words("refused_foot.heading"), words);
  else
    add_foot(document, std::get<ReadyFoot>(foot), words);
  pugi::xml_node section = add_section(document.main, words, no_last ? "refused_last" : "found_last");
  if (no_last)
    add_refused(section, *no_last, words("refused_last.heading"), words);
  else
    add_found_last(section, std::get<ReadyLast>(last).last, std::get<ReadyLast>(last).measures, words);
  add(document.main, "p", "quiet", words("files.privacy"));
  return text_of(document);
}

std::string refusal_html(const Refused& body, const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  Document document;
  add_first(document, settings, words, {body.why});
  add_refused(add_section(document.main, words, "refused_body"), body, words("refused_body.heading"), words);
  add(document.main, "p", "quiet", words("files.privacy"));
  return text_of(document);
}

}  // namespace lastroom
