#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/looks.h"
#include "report/panels.h"

namespace lastroom {
namespace {

std::string change_words(const Words& words, const Correction& change) {
  return words(change.height_mm >= 0.0 ? "corrections.build_up" : "corrections.take_down",
               {{"mm", words.number(std::abs(change.height_mm))}});
}

/// Ellipses on the last where it is to be changed: the patches that can be seen from there.
void add_patches(pugi::xml_node parent, const Page& facts, Look look) {
  const Words& words = facts.words;
  const View view = view_of(look, facts.fitting.foot.side);
  const Raster& seen = facts.last_from(look).raster;
  if (seen.size() == 0) return;
  struct Patch {
    Vec2 at;
    const Correction* change;
  };
  std::vector<Patch> patches;
  std::string list;
  for (const Correction& change : facts.fitting.assessment.corrections.changes) {
    const Vec3 centre = as_worn(facts.fitting.foot.side, change.centre_mm);
    const Vec2 at = view(centre);
    if (centre.dot(view.to_eye) < seen.depth_mm[seen.pixel(at)] - 6.0F) continue;
    patches.push_back({at, &change});
    list += (list.empty() ? "" : "; ") + words(fmt::format("zone.{}", zone_name(change.zone))) + ", " +
            change_words(words, change);
  }
  if (patches.empty()) return;
  const std::string title = words(fmt::format("look.{}", look_name(look)));
  const bool plan = look == Look::above || look == Look::sole;
  Drawing drawing =
      add_figure(parent, fmt::format("look {} {}", plan ? "tall" : "wide", look_name(look)), seen.low - Vec2(6.0, 4.0),
                 seen.low + seen.step_mm * Vec2(seen.columns, seen.rows) + Vec2(6.0, 4.0),
                 words("corrections.alt", {{"look", title}, {"list", list}}), title);
  const std::string& outline = facts.last_from(look).outline;
  add_path(drawing.ink, "last-fill", outline);
  add_path(drawing.ink, "last-line", outline);
  for (const Patch& patch : patches) {
    pugi::xml_node ellipse = drawing.svg.append_child("ellipse");
    const double along = 0.5 * patch.change->length_mm, across = 0.5 * patch.change->width_mm;
    ellipse.append_attribute("class").set_value(patch.change->height_mm >= 0.0 ? "patch up" : "patch down");
    ellipse.append_attribute("cx").set_value(coordinate(patch.at.x()).c_str());
    ellipse.append_attribute("cy").set_value(coordinate(-patch.at.y()).c_str());
    ellipse.append_attribute("rx").set_value(coordinate(plan ? across : along).c_str());
    ellipse.append_attribute("ry").set_value(coordinate(plan ? along : across).c_str());
    add_text(drawing, "dimension", patch.at - Vec2(0.0, 2.0), "middle", words.signed_number(patch.change->height_mm));
  }
}

void add_changes(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  Table table{words("corrections.caption"),
              {words("corrections.change"), words("corrections.what"), words("corrections.from_heel"),
               words("corrections.above_edge"), words("corrections.size"), words("corrections.half")},
              {}};
  for (const Correction& change : facts.fitting.assessment.corrections.changes) {
    table.rows.push_back(
        {words(fmt::format("zone.{}", zone_name(change.zone))), change_words(words, change),
         words.number(change.from_heel_mm, 0) + " mm", words.number(change.above_feather_edge_mm, 0) + " mm",
         fmt::format("{} × {} mm", words.number(change.length_mm, 0), words.number(change.width_mm, 0)),
         words(change.inside ? "corrections.inside" : "corrections.outside")});
  }
  add_table(parent, table);
}

void add_before_and_after(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  Table table{words("corrections.before_after"),
              {words("findings.zone"), words("corrections.before"), words("findings.verdict"),
               words("corrections.after"), words("findings.verdict")},
              {}};
  for (const ZoneVerdict& after : facts.fitting.assessment.corrections.zones_after) {
    for (const ZoneVerdict& before : facts.fitting.assessment.zones) {
      if (before.clearance.zone != after.clearance.zone) continue;
      table.rows.push_back({words(fmt::format("zone.{}", zone_name(after.clearance.zone))),
                            words.number(before.clearance.p05_mm) + " mm", verdict_word(words, before.verdict),
                            words.number(after.clearance.p05_mm) + " mm", verdict_word(words, after.verdict)});
    }
  }
  if (!table.rows.empty()) add_table(parent, table);
}

}  // namespace

void corrections_panel(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  const Corrections& corrections = facts.fitting.assessment.corrections;
  pugi::xml_node section = add_section(page, words, "corrections");
  const bool untouched =
      facts.fitting.settings.assessment.wearer != Wearer::standard && !facts.fitting.foot.landmarks.never_press.empty();
  if (untouched) add(section, "p", "", words("corrections.not_over_marks"));
  if (corrections.changes.empty()) {
    const bool findings_remain = facts.fitting.assessment.verdict != Verdict::clear;
    add(section, "p", "", words(findings_remain ? "corrections.none_alone" : "corrections.none"));
    return;
  }
  add(section, "p", "intro", words("corrections.intro", {{"verdict", verdict_word(words, corrections.verdict_after)}}));
  add_changes(section, facts);
  pugi::xml_node looks = add(section, "div", "looks patches");
  for (const Look look : {Look::inside, Look::outside, Look::above, Look::sole}) add_patches(looks, facts, look);
  if (!looks.first_child()) section.remove_child(looks);
  add_before_and_after(section, facts);
}

}  // namespace lastroom
