#include "report/panels.h"

namespace lastroom {

void day_panel(pugi::xml_node page, const Page& facts) {
  if (!facts.fitting.day) return;
  const Words& words = facts.words;
  const Day& day = *facts.fitting.day;
  pugi::xml_node section = add_section(page, words, "day");
  add_message(section, "p", "", day.sentence, words);
  Table table{
      words("day.caption"),
      {words("day.when"), words("day.sock"), words("findings.verdict"), words("day.worst"), words("findings.measured")},
      {}};
  for (const FootAtATime& at : day.times) {
    const std::string when = at.swelling_ratio > 0.0
                                 ? words("day.late", {{"percent", words.number(100.0 * at.swelling_ratio)}})
                                 : words("day.morning");
    table.rows.push_back({when, words.length(at.sock_mm), verdict_word(words, at.verdict),
                          at.worst ? subject(words, *at.worst) : words("day.nowhere"),
                          at.worst ? with_doubt(words, at.worst->measured_mm, at.worst->sigma_mm) : "–"});
  }
  add_table(section, table);
  add(section, "p", "quiet", words("day.how"));
}

}  // namespace lastroom
