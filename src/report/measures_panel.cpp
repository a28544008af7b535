#include <fmt/format.h>

#include "measurement/named_measures.h"
#include "report/panels.h"

namespace lastroom {

void measures_panel(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  const FootMeasures& foot = facts.fitting.foot_measures;
  const LastMeasures& last = facts.fitting.last_measures;
  const ToeRoom& room = facts.fitting.toe_room;
  const auto mm = [&](double value) { return words.length(value); };
  pugi::xml_node section = add_section(page, words, "measures");
  add(section, "p", "intro", words("measures.intro"));

  Table both{words("measures.caption"),
             {words("measures.measure"), words("measures.foot"), words("measures.last"), words("measures.difference")},
             {}};
  const std::vector<NamedMeasure> of_foot = shared_measures(foot), of_last = shared_measures(last);
  for (std::size_t i = 0; i < of_foot.size(); ++i)
    both.rows.push_back({words(fmt::format("measure.{}", of_foot[i].name)), mm(of_foot[i].mm), mm(of_last[i].mm),
                         words.signed_length(of_last[i].mm - of_foot[i].mm)});
  add_table(section, both);

  Table single{words("measures.single_caption"), {words("measures.measure"), words("measures.value")}, {}};
  const auto line = [&](const std::string& key, const std::string& value) {
    single.rows.push_back({words(key), value});
  };
  line("measure.allowance", room.allowance_mm ? mm(*room.allowance_mm) : "–");
  line("measure.toe_room", with_doubt(words, room.tip_mm, room.tip_sigma_mm));
  for (const NamedMeasure& m : further_measures(last)) line(fmt::format("measure.{}", m.name), mm(m.mm));
  for (const NamedMeasure& m : further_measures(foot)) line(fmt::format("measure.{}", m.name), mm(m.mm));
  line("measure.sock", mm(facts.fitting.settings.registration.sock_mm));
  if (const auto tape = facts.fitting.settings.assessment.tape_joint_mm) line("measure.taped_joint", mm(*tape));
  add_table(section, single);
  add(section, "p", "quiet", words("measures.source"));
  for (const Message& remark : foot.outside_population) add_message(section, "p", "remark", remark, words);
}

}  // namespace lastroom
