#include <fmt/format.h>

#include "report/panels.h"

namespace lastroom {
namespace {

void add_list(pugi::xml_node parent, const Words& words, const char* prefix) {
  pugi::xml_node list = add(parent, "ul");
  for (int line = 1; words.has(fmt::format("{}.{}", prefix, line)); ++line) {
    add(list, "li", "", words(fmt::format("{}.{}", prefix, line)));
  }
}

}  // namespace

void cautions_panel(pugi::xml_node page, const Page& facts, Wearer wearer) {
  const Words& words = facts.words;
  pugi::xml_node section = add_section(page, words, "cautions");
  add_list(section, words, "caution.all");
  if (wearer == Wearer::standard) {
    add(section, "p", "", words("caution.who_is_at_risk") + " " + words("caution.if_at_risk"));
    return;
  }
  pugi::xml_node box = add(section, "div", "caution grave");
  add(box, "h3", "", words(wearer == Wearer::at_risk ? "caution.at_risk_heading" : "caution.unknown_heading"));
  add(box, "p", "", words("caution.who_is_at_risk"));
  add_list(box, words, "caution.at_risk");
  add(box, "h3", "", words("caution.urgent_heading"));
  add_list(box, words, "caution.urgent");
  add(box, "p", "quiet", words("caution.source"));
}

void cautions_panel(pugi::xml_node page, const Page& facts) {
  cautions_panel(page, facts, facts.fitting.settings.assessment.wearer);
}

}  // namespace lastroom
