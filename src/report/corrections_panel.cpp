#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "assessment/bench_terms.h"
#include "measurement/named_measures.h"
#include "report/field_picture.h"
#include "report/looks.h"
#include "report/panels.h"

namespace lastroom {
namespace {

std::string operation_words(const Words& words, const Correction& change) {
  return words(fmt::format("corrections.{}", operation_name(change.operation)),
               {{"mm", words.length_number(std::abs(change.height_mm))}});
}

std::string half_word(const Words& words, bool inside) {
  return words(inside ? "corrections.inside" : "corrections.outside");
}

std::string station_words(const Words& words, const NearestStation& near) {
  const std::string station = words(fmt::format("station.{}", station_name(near.station)));
  const double mm = std::round(near.before_mm);
  if (mm == 0.0) return words("corrections.at_station", {{"station", station}});
  return words(mm > 0.0 ? "corrections.before_station" : "corrections.behind_station",
               {{"mm", words.length_number(std::abs(mm), 0)}, {"station", station}});
}

std::string place_words(const Words& words, const Correction& change) {
  return words(change.place.on_bottom ? "corrections.place_on_bottom" : "corrections.place",
               {{"along", words.length_number(change.place.along_mm, 0)},
                {"up", words.length_number(change.place.up_mm, 0)},
                {"half", half_word(words, change.place.inside)},
                {"station", station_words(words, change.station)}});
}

/// As a hand takes it.
std::string size_words(const Words& words, const Correction& change) {
  const double longer = std::max(change.length_mm, change.place.across_mm),
               shorter = std::min(change.length_mm, change.place.across_mm);
  constexpr double kCoin_mm = 28.0, kThumb_mm = 60.0, kStrip = 2.2;  // our choice
  const char* like = longer <= kCoin_mm          ? "coin"
                     : longer > kStrip * shorter ? "strip"
                     : longer <= kThumb_mm       ? "thumb"
                                                 : "palm";
  return words("corrections.size", {{"like", words(fmt::format("corrections.like_{}", like))},
                                    {"length", words.length_number(change.length_mm, 0)},
                                    {"across", words.length_number(change.place.across_mm, 0)}});
}

/// Where the heights of the changes reach `mm`, as seen from there.
std::string contour(const Grid& grid, double mm) {
  constexpr double kLeast_mm2 = 15.0, kFine_mm = 0.15;
  return path_data(simplified(superlevel_loops(grid, mm), kFine_mm, kLeast_mm2));
}

/// Filled from its rim, and a line a millimetre.
void add_contours(pugi::xml_node map, const Grid& grid, const char* kind) {
  const std::string rim = contour(grid, kChangeRim_mm);
  if (rim.empty()) return;
  add_path(map, fmt::format("patch {}", kind), rim);
  const double most = *std::ranges::max_element(grid.value);
  for (double mm = 1.0; mm < most; mm += 1.0) add_path(map, fmt::format("contour {}", kind), contour(grid, mm));
}

/// The feather edge's own millimetres from the heel point, as they are marked on a last's side.
void add_edge_marks(Drawing& drawing, const Page& facts, Look look) {
  constexpr double kEvery_mm = 50.0, kTick_mm = 4.0;
  std::vector<Vec3> edge = smooth_feather_edge(facts.fitting.last);
  if (look == Look::outside) std::reverse(edge.begin() + (edge.empty() ? 0 : 1), edge.end());
  const View view = view_of(look, facts.fitting.foot.side);
  double walked = 0.0, next = kEvery_mm;
  for (std::size_t i = 1; i < edge.size() && edge[i].x() >= edge[i - 1].x() - 1.0; ++i) {
    walked += (edge[i] - edge[i - 1]).norm();
    if (walked < next) continue;
    const Vec2 at = view(as_worn(facts.fitting.foot.side, edge[i]));
    add_line(drawing, "leader", at, at + Vec2(0.0, kTick_mm));
    add_text(drawing, "small", at + Vec2(0.0, kTick_mm + 1.0), "middle", coordinate(next));
    next += kEvery_mm;
  }
}

void add_peaks(Drawing& drawing, const Page& facts, Look look) {
  const Raster& seen = facts.last_from(look).raster;
  const View view = view_of(look, facts.fitting.foot.side);
  int number = 0;
  for (const Correction& change : facts.fitting.assessment.corrections.changes) {
    ++number;
    const Vec3 peak = as_worn(facts.fitting.foot.side, change.centre_mm);
    const Vec2 at = view(peak);
    constexpr double kBehind_mm = 4.0;
    if (change.operation == Operation::lengthen || peak.dot(view.to_eye) < seen.depth_mm[seen.pixel(at)] - kBehind_mm)
      continue;
    constexpr double kAbove_mm = 9.0;  // beside the innermost lines
    add_text(drawing, "dimension", at + Vec2(0.0, kAbove_mm), "middle",
             fmt::format("{}: {}", number, facts.words.signed_length_number(change.height_mm)));
  }
}

/// The changes as one sees them on the last from there. Nothing where none can be seen.
void add_map(pugi::xml_node parent, const Page& facts, Look look) {
  const Words& words = facts.words;
  const Raster& seen = facts.last_from(look).raster;
  if (seen.size() == 0) return;
  const std::vector<double>& height_mm = facts.fitting.assessment.corrections.height_mm;
  std::vector<double> down_mm;
  for (const double mm : height_mm) down_mm.push_back(-mm);
  const Grid up = value_grid(facts.last, seen, height_mm, {}), down = value_grid(facts.last, seen, down_mm, {});
  if (contour(up, kChangeRim_mm).empty() && contour(down, kChangeRim_mm).empty()) return;
  const std::string title = words(fmt::format("look.{}", look_name(look)));
  std::string list;
  for (const Correction& change : facts.fitting.assessment.corrections.changes)
    list += (list.empty() ? "" : "; ") + operation_words(words, change);
  const bool wide = look == Look::inside || look == Look::outside;
  Drawing drawing =
      add_figure(parent, fmt::format("look {} {}", wide ? "wide" : "tall", look_name(look)), seen.low - Vec2(6.0, 4.0),
                 seen.low + seen.step_mm * Vec2(seen.columns, seen.rows) + Vec2(6.0, 4.0),
                 words("corrections.alt", {{"look", title}, {"list", list}}), title);
  const std::string &outline = facts.last_from(look).outline, id = fmt::format("changed-{}", look_name(look));
  add_path(drawing.ink, "last-fill", outline);
  pugi::xml_node clip = drawing.ink.append_child("clipPath");
  clip.append_attribute("id").set_value(id.c_str());
  clip.append_child("path").append_attribute("d").set_value(outline.c_str());
  pugi::xml_node map = drawing.ink.append_child("g");
  map.append_attribute("clip-path").set_value(fmt::format("url(#{})", id).c_str());
  add_contours(map, up, "up");
  add_contours(map, down, "down");
  add_path(drawing.ink, "last-line", outline);
  if (wide) add_edge_marks(drawing, facts, look);
  add_peaks(drawing, facts, look);
}

struct BeforeAfter {
  std::string what;
  double before_mm = 0.0, after_mm = 0.0;
  std::string verdict_before, verdict_after;
  double gained_mm() const { return after_mm - before_mm; }
};

/// What was judged before and after, what lost most first.
std::vector<BeforeAfter> before_and_after(const Page& facts) {
  const Words& words = facts.words;
  const Corrections& c = facts.fitting.assessment.corrections;
  std::vector<BeforeAfter> rows;
  for (const ZoneVerdict& after : c.zones_after)
    for (const ZoneVerdict& before : facts.fitting.assessment.zones)
      if (before.clearance.zone == after.clearance.zone)
        rows.push_back({words(fmt::format("zone.{}", zone_name(after.clearance.zone))), before.clearance.p05_mm,
                        after.clearance.p05_mm, verdict_word(words, before.verdict),
                        verdict_word(words, after.verdict)});
  const ToeRoom &was = facts.fitting.toe_room, &is = c.toe_room_after;
  if (was.tip_mm && is.tip_mm) rows.push_back({words("rule.toe_room"), *was.tip_mm, *is.tip_mm, "", ""});
  if (was.allowance_mm && is.allowance_mm)
    rows.push_back({words("rule.allowance"), *was.allowance_mm, *is.allowance_mm, "", ""});
  std::ranges::stable_sort(rows, {}, &BeforeAfter::gained_mm);
  return rows;
}

void add_before_and_after(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  Table table{words("corrections.before_after"),
              {words("findings.zone"), words("corrections.before"), words("corrections.after")},
              {}};
  const auto told = [&](double mm, const std::string& verdict) {
    return words.length(mm) + (verdict.empty() ? "" : " · " + verdict);
  };
  for (const BeforeAfter& row : before_and_after(facts))
    table.rows.push_back({row.what, told(row.before_mm, row.verdict_before), told(row.after_mm, row.verdict_after)});
  if (!table.rows.empty()) add_table(parent, table);
  Table girths{words("corrections.girths"),
               {words("measures.measure"), words("corrections.before"), words("corrections.after")},
               {}};
  const auto before = shared_measures(facts.fitting.last_measures),
             after = shared_measures(facts.fitting.assessment.corrections.measures_after);
  for (std::size_t k = 0; k < before.size(); ++k)
    if (before[k].mm > 0.0 && after[k].mm > 0.0)
      girths.rows.push_back(
          {words(fmt::format("measure.{}", before[k].name)), words.length(before[k].mm), words.length(after[k].mm)});
  if (!girths.rows.empty()) add_table(parent, girths);
}

void add_lacking(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  add(parent, "p", "", words("corrections.another_last"));
  pugi::xml_node list = add(parent, "ul", "");
  for (const Lacking& lack : facts.fitting.assessment.corrections.lacking)
    add(list, "li", "",
        words("corrections.lacks", {{"what", lack.zone ? words(fmt::format("zone.{}", zone_name(*lack.zone)))
                                                       : rule_words(words, lack.rule)},
                                    {"mm", words.length_number(lack.mm)}}));
}

}  // namespace

void add_operations(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  pugi::xml_node list = add(parent, "ol", "operations");
  for (const Correction& change : facts.fitting.assessment.corrections.changes) {
    pugi::xml_node item = add(list, "li");
    add(item, "strong", "", operation_words(words, change));
    if (change.operation == Operation::lengthen) {
      add(item, "span", "", fmt::format(" {}", words("corrections.longer_place")));
      continue;
    }
    const std::string zone =
        words("corrections.for", {{"zone", words(fmt::format("zone.{}", zone_name(change.zone)))}});
    add(item, "span", "", fmt::format(" {} {} {}", zone, place_words(words, change), size_words(words, change)));
  }
}

void corrections_panel(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  const Corrections& corrections = facts.fitting.assessment.corrections;
  pugi::xml_node section = add_section(page, words, "corrections");
  const bool untouched =
      facts.fitting.settings.assessment.wearer != Wearer::standard && !facts.fitting.foot.landmarks.never_press.empty();
  if (untouched) add(section, "p", "", words("corrections.not_over_marks"));
  if (!corrections.lacking.empty()) {
    add_lacking(section, facts);
    return;
  }
  if (corrections.changes.empty()) {
    const bool findings_remain = facts.fitting.assessment.verdict != Verdict::clear;
    add(section, "p", "", words(findings_remain ? "corrections.none_alone" : "corrections.none"));
    return;
  }
  add(section, "p", "intro", words("corrections.intro", {{"verdict", verdict_word(words, corrections.verdict_after)}}));
  add_operations(section, facts);
  pugi::xml_node looks = add(section, "div", "looks patches");
  for (const Look look : {Look::inside, Look::outside, Look::above, Look::sole, Look::toe_end})
    add_map(looks, facts, look);
  if (looks.first_child())
    add(section, "p", "note", words("corrections.key"));
  else
    section.remove_child(looks);
  add_before_and_after(section, facts);
}

}  // namespace lastroom
