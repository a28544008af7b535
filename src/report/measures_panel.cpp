#include "report/panels.h"

namespace lastroom {

void measures_panel(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  const FootMeasures& foot = facts.fitting.foot_measures;
  const LastMeasures& last = facts.fitting.last_measures;
  const ToeRoom& room = facts.fitting.toe_room;
  const auto mm = [&](double value) { return words.number(value) + " mm"; };
  pugi::xml_node section = add_section(page, words, "measures");
  add(section, "p", "intro", words("measures.intro"));

  Table both{words("measures.caption"),
             {words("measures.measure"), words("measures.foot"), words("measures.last"), words("measures.difference")},
             {}};
  const auto row = [&](const char* key, double of_foot, double of_last) {
    both.rows.push_back({words(key), mm(of_foot), mm(of_last), words.signed_number(of_last - of_foot) + " mm"});
  };
  row("measure.length", foot.length_mm, last.length_mm);
  row("measure.joint_girth", foot.joint_girth.mm, last.joint_girth.mm);
  row("measure.waist_girth", foot.waist_girth.mm, last.waist_girth.mm);
  row("measure.instep_girth", foot.instep_girth.mm, last.instep_girth.mm);
  row("measure.heel_girth", foot.heel_girth.mm, last.heel_girth.mm);
  row("measure.joint_width", foot.joint_width_mm, last.joint_width_mm);
  row("measure.heel_width", foot.heel_width_mm, last.heel_width_mm);
  row("measure.heel_to_joint", foot.heel_to_joint_mm, last.heel_to_joint_mm);
  row("measure.heel_to_fifth_joint", foot.heel_to_fifth_joint_mm, last.heel_to_fifth_joint_mm);
  add_table(section, both);

  Table single{words("measures.single_caption"), {words("measures.measure"), words("measures.value")}, {}};
  const auto line = [&](const char* key, const std::string& value) { single.rows.push_back({words(key), value}); };
  line("measure.allowance", room.allowance_mm ? mm(*room.allowance_mm) : "–");
  line("measure.toe_room", with_doubt(words, room.tip_mm, room.tip_doubt_mm));
  line("measure.stick_length", mm(last.stick_length_mm));
  line("measure.heel_height", mm(last.heel_height_mm));
  line("measure.toe_spring", mm(last.toe_spring_mm));
  line("measure.big_toe_height", mm(foot.big_toe_height_mm));
  line("measure.fifth_toe_height", mm(foot.fifth_toe_height_mm));
  line("measure.instep_height", mm(foot.instep_height_mm));
  line("measure.sock", mm(facts.fitting.settings.registration.sock_mm));
  if (const auto tape = facts.fitting.settings.assessment.tape_joint_mm) line("measure.taped_joint", mm(*tape));
  add_table(section, single);
  add(section, "p", "quiet", words("measures.source"));
  for (const std::string& remark : foot.outside_population) add_sentence(section, "p", "remark", remark, words);
}

}  // namespace lastroom
