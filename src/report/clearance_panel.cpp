#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "geometry/parallel.h"
#include "report/colour_scale.h"
#include "report/field_picture.h"
#include "report/looks.h"
#include "report/markers.h"
#include "report/panels.h"

namespace lastroom {
namespace {

constexpr double kFinest_mm = 0.15;          // a third of a pixel: the bands' borders look smooth
constexpr double kLeastPatch_mm2 = 15.0;     // smaller specks are a scan's noise; the numbers keep them
constexpr std::size_t kMostBytes = 150'000;  // five pictures and the rest stay under 1.5 MB

/// What is drawn on the skin, from one side.
struct SkinMarks {
  std::vector<std::uint8_t> judged;   ///< per triangle
  std::vector<double> over_limit_mm;  ///< per vertex: clearance less its zone's pinch limit
};

SkinMarks marks_of(const Fitting& fitting) {
  const ClearanceField& field = fitting.clearance;
  std::array<double, kZoneCount + 1> limit_mm;
  limit_mm.fill(-std::numeric_limits<double>::infinity());
  for (const ZoneVerdict& z : fitting.assessment.zones)
    limit_mm[static_cast<std::size_t>(z.clearance.zone)] = z.limit_mm;
  SkinMarks marks;
  constexpr double kFar_mm = 100.0;  // skin without a limit is far over it
  for (std::size_t v = 0; v < field.clearance_mm.size(); ++v) {
    const double over = field.clearance_mm[v] - limit_mm[static_cast<std::size_t>(fitting.skin.zone[v])];
    marks.over_limit_mm.push_back(std::min(over, kFar_mm));
  }
  marks.judged = judged_triangles(fitting);
  return marks;
}

/// The set {value < level}, as the superlevel set of the turned sign.
std::string below(Grid grid, double level) {
  for (float& v : grid.value) v = v > -1e5F ? -v : v;
  std::string data;
  for (double coarser = 1.0; coarser < 1000.0; coarser *= 2.0) {
    data = path_data(
        simplified(superlevel_loops(grid, -level + 1e-6), coarser * kFinest_mm, coarser * coarser * kLeastPatch_mm2));
    if (data.size() <= kMostBytes / 4) break;
  }
  return data;
}

/// What is seen of the skin from one side, as path data.
struct SkinPaths {
  FieldPaths field;
  std::string tight;
};

SkinPaths paths_of(const Page& facts, const SkinMarks& marks, Look look) {
  const Seen& seen = facts.skin_from(look);
  return {field_paths(facts.skin, seen.raster, seen.outline, facts.fitting.clearance.clearance_mm, marks.judged,
                      {kFinest_mm, kLeastPatch_mm2, kMostBytes}),
          below(value_grid(facts.skin, seen.raster, marks.over_limit_mm, marks.judged), 0.0)};
}

void add_skin(Drawing& drawing, const SkinPaths& paths, std::string_view look) {
  const std::string hatch = fmt::format("tight-{}", look);
  add_hatch(drawing, hatch, 2.2, "hatch-line");
  pugi::xml_node bands = add_field(drawing, paths.field, fmt::format("skin-{}", look));
  pugi::xml_node tight = add_path(bands, "tight", paths.tight);
  tight.append_attribute("fill").set_value(fmt::format("url(#{})", hatch).c_str());
  add_path(drawing.ink, "outline", paths.field.whole);
}

void add_last_lines(Drawing& drawing, const Page& facts, const View& view, Look look) {
  add_path(drawing.ink, "last-line", facts.last_from(look).outline);
  std::vector<Vec2> feather;
  for (const Vec3& p : facts.fitting.last.feather_edge) feather.push_back(view(as_worn(facts.fitting.foot.side, p)));
  add_path(drawing.ink, "feather", path_data(simplified({feather}, kFinest_mm, 0.0)));
  if (look != Look::above && look != Look::sole) return;
  add_path(drawing.ink, "joint-line",
           path_data({view(facts.landmarks.first_joint), view(facts.landmarks.fifth_joint)}, false));
}

void add_look(pugi::xml_node parent, const Page& facts, const SkinPaths& paths, Look look) {
  const Words& words = facts.words;
  const View view = view_of(look, facts.fitting.foot.side);
  const Raster &foot = facts.skin_from(look).raster, &last = facts.last_from(look).raster;
  if (foot.size() == 0) return;
  Vec2 low = last.low.cwiseMin(foot.low), high = foot.low + foot.step_mm * Vec2(foot.columns, foot.rows);
  const Vec2 last_high = last.low + last.step_mm * Vec2(last.columns, last.rows);
  high = high.cwiseMax(last_high);
  const bool plan = look == Look::above || look == Look::sole;
  if (!plan) high.y() = std::min(high.y(), last_high.y() + 12.0);  // the leg above the last is not judged
  const std::string_view name = look_name(look);
  std::string numbers;
  std::vector<Mark> markers;
  for (const Place& place : facts.places) {
    if (!place.at_mm) continue;
    const Vec2 at = view(*place.at_mm);
    if (place.at_mm->dot(view.to_eye) < foot.depth_mm[foot.pixel(at)] - 4.0F) continue;  // hidden from here
    markers.push_back({at, place.number, false});
    numbers += (numbers.empty() ? "" : ", ") + std::to_string(place.number);
  }
  const std::string title = words(fmt::format("look.{}", name));
  const std::string alt =
      words(numbers.empty() ? "clearance.alt_none" : "clearance.alt", {{"look", title}, {"numbers", numbers}});
  Drawing drawing = add_figure(parent,
                               fmt::format("look {} {}",
                                           plan                    ? "tall"
                                           : look == Look::toe_end ? "tall"
                                                                   : "wide",
                                           name),
                               low - Vec2(9.0, 14.0), high + Vec2(9.0, 6.0), alt, title);
  add_path(drawing.ink, "last-fill", facts.last_from(look).outline);
  add_skin(drawing, paths, name);
  add_last_lines(drawing, facts, view, look);
  constexpr double kBar_mm = 13.0;
  add_marks(drawing, markers, kBar_mm);
  add_scale_bar(drawing, facts.words, {low.x() + 2.0, low.y() - 11.0});
}

void add_colour_key(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  constexpr double kCell = 22.0, kHeight = 9.0;
  const std::size_t bands = kBandBorders_mm.size() + 1;
  Drawing drawing = add_figure(parent, "key", {-4.0, -12.0}, {kCell * static_cast<double>(bands) + 4.0, 34.0},
                               words("clearance.key_alt"), words("clearance.key"));
  for (std::size_t band = 0; band < bands; ++band) {
    const double x = kCell * static_cast<double>(band);
    add_path(drawing.ink, "band-cell", path_data({{x, 0}, {x + kCell, 0}, {x + kCell, kHeight}, {x, kHeight}}, true))
        .append_attribute("fill")
        .set_value(hex(band_colour(band)).c_str());
    if (band + 1 == bands) break;
    const bool zero = kBandBorders_mm[band] == 0.0;
    add_line(drawing, zero ? "zero" : "tick", {x + kCell, zero ? -3.0 : -1.5}, {x + kCell, zero ? kHeight + 3.0 : 0.0});
    add_text(drawing, zero ? "strong" : "", {x + kCell, -8.5}, "middle",
             words.signed_length_number(kBandBorders_mm[band], 0));
  }
  const double middle = 4.0 * kCell, end = kCell * static_cast<double>(bands);
  add_text(drawing, "", {0.0, kHeight + 5.0}, "start", words("clearance.presses"));
  add_text(drawing, "strong", {middle, kHeight + 16.0}, "middle", words("clearance.touches"));
  add_text(drawing, "", {end, kHeight + 5.0}, "end", words("clearance.room"));
}

void add_line_key(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  pugi::xml_node list = add(parent, "ul", "line-key");
  const auto entry = [&](const char* kind, const char* key) {
    pugi::xml_node item = add(list, "li");
    pugi::xml_node svg = item.append_child("svg");
    svg.append_attribute("viewBox").set_value("0 0 24 12");
    svg.append_attribute("aria-hidden").set_value("true");
    svg.append_attribute("class").set_value("sample");
    if (std::string_view(kind) == "tight") {
      for (int x = 0; x < 24; x += 4) add_path(svg, "hatch-line", fmt::format("M{} 12l12-12", x - 4));
    } else if (std::string_view(kind) == "not-judged") {
      add_path(svg, kind, "M1 1h22v10h-22z");
    } else {
      add_path(svg, kind, "M0 6h24");
    }
    add(item, "span", "", words(key));
  };
  entry("tight", "clearance.key_tight");
  entry("zero", "clearance.key_zero");
  entry("last-line", "clearance.key_last");
  entry("feather", "clearance.key_feather");
  entry("joint-line", "clearance.key_joint");
  entry("not-judged", "clearance.key_not_judged");
}

}  // namespace

void clearance_panel(pugi::xml_node page, const Page& facts) {
  pugi::xml_node section = add_section(page, facts.words, "clearance");
  add(section, "p", "intro", facts.words("clearance.intro"));
  add_colour_key(section, facts);
  add_line_key(section, facts);
  const SkinMarks marks = marks_of(facts.fitting);
  pugi::xml_node looks = add(section, "div", "looks");
  std::array<SkinPaths, kLooks.size()> paths;
  for_blocks(paths.size(), 1,
             [&](std::size_t look, std::size_t) { paths[look] = paths_of(facts, marks, static_cast<Look>(look)); });
  for (const Look look : kLooks) add_look(looks, facts, paths[static_cast<std::size_t>(look)], look);
}

}  // namespace lastroom
