#include <fmt/format.h>

#include "report/found_body.h"
#include "report/panels.h"

namespace lastroom {
namespace {

/// "± 2 mm along the foot", "given by hand", "missing: where the toe ends".
std::string remark_on(const FileLandmark& mark, const Words& words) {
  if (mark.by_hand) return words("found.by_hand");
  if (mark.missing) return words("found.missing");
  if (mark.sigma_along_mm <= 0.0) return {};
  return words("found.along", {{"mm", words.length_number(mark.sigma_along_mm, 0)}});
}

void add_landmarks(pugi::xml_node parent, const Foot& foot, const Words& words) {
  Table table{words("found.points", {{"unit", std::string(unit_name(foot.facts.units))}}),
              {words("found.point"), words("found.place")},
              {}};
  const std::vector<FileLandmark> rows = file_landmarks(foot);
  for (const FileLandmark& mark : rows) {
    const std::string remark = remark_on(mark, words);
    table.rows.push_back(
        {fmt::format("{} ({}){}{}", words("found." + mark.name), mark.name, remark.empty() ? "" : ", ", remark),
         mark.place});
  }
  add_table(parent, table);
}

}  // namespace

void add_found_foot(pugi::xml_node parent, const Foot& foot, const FootMeasures& measures, const Words& words) {
  const std::string what = words("found.foot", {{"side", words(fmt::format("side.{}", side_name(foot.side)))}});
  add(parent, "p", "intro", words("found.intro"));
  add_found_views(parent, found_on(foot, measures, words), what, words);
  const std::string example = fmt::format("{{\"fifth_joint\": {}}}", file_landmarks(foot)[2].place);
  add(parent, "p", "if-wrong", words("found.if_wrong") + " " + words("found.how", {{"example", example}}));
  add_landmarks(parent, foot, words);
}

void add_found_last(pugi::xml_node parent, const Last& last, const LastMeasures& measures, const Words& words) {
  add(parent, "p", "intro", words("found.last_intro"));
  add_found_views(parent, found_on(last, measures, words), words("found.last"), words);
}

void found_panel(pugi::xml_node page, const Page& facts) {
  const Fitting& fitting = facts.fitting;
  pugi::xml_node section = add_section(page, facts.words, "found");
  add_found_foot(section, fitting.foot, fitting.foot_measures, facts.words);
  if (fitting.assessment.verdict == Verdict::none)  // else its pictures stand all through the report
    add_found_last(section, fitting.last, fitting.last_measures, facts.words);
}

}  // namespace lastroom
