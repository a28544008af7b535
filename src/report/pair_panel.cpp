#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "measurement/named_measures.h"
#include "report/client_parts.h"
#include "report/panels.h"

namespace lastroom {
namespace {

/// Repeat error of a scanned foot dimension, the largest of six (Lee, Lin, Wang 2014: 0.73 to 1.50 mm), of two scans
/// held against each other: sqrt(2) times that.
constexpr double kDoubtOfDifference_mm = 1.5 * 1.4142135623730951;
/// A difference within twice its doubt is not called one (our choice: one in twenty would be chance).
constexpr double kTold_mm = 2.0 * kDoubtOfDifference_mm;

/// Which foot is the larger in this measure, in one sentence; empty when the scans can't tell.
std::string larger_in(const Words& words, const char* key, double left_mm, double right_mm) {
  const double more = left_mm - right_mm;
  if (std::abs(more) <= kTold_mm) return {};
  return words(key, {{"side", words(more > 0.0 ? "side.left" : "side.right")},
                     {"mm", words.length_number(std::abs(more))},
                     {"doubt", words.length_number(kDoubtOfDifference_mm)}});
}

std::string larger_foot(const Words& words, const FootMeasures& left, const FootMeasures& right) {
  const std::string longer = larger_in(words, "pair.longer", left.length_mm, right.length_mm);
  const std::string fuller = larger_in(words, "pair.fuller", left.joint_girth.mm, right.joint_girth.mm);
  const std::string higher = larger_in(words, "pair.higher", left.instep_girth.mm, right.instep_girth.mm);
  std::string text;
  for (const std::string& told : {longer, fuller, higher})
    if (!told.empty()) text += (text.empty() ? "" : " ") + told;
  return text.empty() ? words("pair.alike") : text;
}

void add_foot(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  const Verdict verdict = facts.fitting.assessment.verdict;
  pugi::xml_node foot = add(parent, "div", "one-of-two");
  pugi::xml_node title = add(foot, "h2", "place");
  add(title, "span", "", words(fmt::format("pair.{}", side_name(facts.fitting.foot.side))));
  pugi::xml_node tag = add(title, "span", fmt::format("tag {}", verdict_name(verdict)));
  add_verdict_sign(tag, verdict);
  add(tag, "span", "", verdict_word(words, verdict));
  add(foot, "p", "", words(fmt::format("headline.{}", tidings_name(tidings_of(facts.fitting)))));
  if (verdict != Verdict::none) add_foot_from_above(foot, facts, false);
  add_places(foot, facts, "h3");
}

}  // namespace

void pair_differences_panel(pugi::xml_node page, const Page& left_facts, const Page& right_facts) {
  const Words& words = left_facts.words;
  const FootMeasures &left = left_facts.fitting.foot_measures, &right = right_facts.fitting.foot_measures;
  pugi::xml_node section = add_section(page, words, "pair");
  Table table{words("pair.caption"),
              {words("measures.measure"), words("pair.left"), words("pair.right"), words("pair.difference")},
              {}};
  const auto add_rows = [&](const std::vector<NamedMeasure>& of_left, const std::vector<NamedMeasure>& of_right) {
    for (std::size_t i = 0; i < of_left.size(); ++i)
      table.rows.push_back({words(fmt::format("measure.{}", of_left[i].name)), words.length(of_left[i].mm),
                            words.length(of_right[i].mm), words.signed_length(of_left[i].mm - of_right[i].mm)});
  };
  add_rows(shared_measures(left), shared_measures(right));
  add_rows(further_measures(left), further_measures(right));
  add_table(section, table);
  add(section, "p", "quiet", words("pair.doubt", {{"doubt", words.length_number(kDoubtOfDifference_mm)}}));
}

void pair_panel(pugi::xml_node page, const Page& left, const Page& right) {
  const Words& words = left.words;
  const Tidings worst = std::max(tidings_of(left.fitting), tidings_of(right.fitting));
  add_letterhead(page, words,
                 {{words("client.client"), left.settings.client, true},
                  date_entry(words, left.settings.date),
                  {words("pair.left_last"), left.fitting.last.facts.file, true},
                  {words("pair.right_last"), right.fitting.last.facts.file, true}});

  pugi::xml_node first = add(page, "section", "first-of-two");
  add(first, "h1", "", words(fmt::format("pair.headline.{}", tidings_name(worst))));
  add(first, "p", "lead", larger_foot(words, left.fitting.foot_measures, right.fitting.foot_measures));
  add_own_rules(first, words, left.fitting.rules);
  const AssessmentSettings &left_judged = left.fitting.settings.assessment,
                           &right_judged = right.fitting.settings.assessment;
  const Wearer wearer = graver(left_judged.wearer, right_judged.wearer);
  add_first_caution(first, words, wearer,
                    left_judged.wearer_reason.empty() ? right_judged.wearer_reason : left_judged.wearer_reason);
  pugi::xml_node feet = add(first, "div", "two-feet");
  add_foot(feet, left);
  add_foot(feet, right);
  if (!feet.select_node(".//figure").node().empty()) add(first, "p", "quiet", figure_key(words));
  add_next_steps(first, words, worst, wearer);
}

}  // namespace lastroom
