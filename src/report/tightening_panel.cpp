#include <fmt/format.h>

#include <algorithm>

#include "report/looks.h"
#include "report/panels.h"

namespace lastroom {
namespace {

constexpr std::array kClasses = {Freedom::may_tighten, Freedom::keep, Freedom::never_press, Freedom::free_to_style};

std::string css_name(Freedom freedom) {
  std::string name(freedom_name(freedom));
  std::replace(name.begin(), name.end(), '_', '-');
  return name;
}

/// Each class its own texture: dots, plain, close lines, open rings. Told apart in grey print as well.
void add_textures(Drawing& drawing, std::string_view look) {
  add_hatch(drawing, fmt::format("never-{}", look), 2.4, "hatch-line");
  pugi::xml_node dots = drawing.ink.prepend_child("pattern");
  dots.append_attribute("id").set_value(fmt::format("dots-{}", look).c_str());
  dots.append_attribute("patternUnits").set_value("userSpaceOnUse");
  dots.append_attribute("width").set_value("44");
  dots.append_attribute("height").set_value("44");
  for (const char* place : {"11", "33"}) {
    pugi::xml_node dot = dots.append_child("circle");
    dot.append_attribute("class").set_value("dot");
    dot.append_attribute("cx").set_value(place);
    dot.append_attribute("cy").set_value(place);
    dot.append_attribute("r").set_value("7");
  }
}

void add_map(pugi::xml_node parent, const Page& facts, Look look) {
  const Words& words = facts.words;
  const std::vector<Freedom>& freedom = facts.fitting.assessment.tightening.freedom;
  const Raster& seen = facts.last_from(look).raster;
  if (seen.size() == 0) return;
  const std::string title = words(fmt::format("look.{}", look_name(look)));
  const bool plan = look == Look::above;
  Drawing drawing =
      add_figure(parent, fmt::format("look {} {}", plan ? "tall" : "wide", look_name(look)), seen.low - Vec2(4.0, 4.0),
                 seen.low + seen.step_mm * Vec2(seen.columns, seen.rows) + Vec2(4.0, 4.0),
                 words("tightening.alt", {{"look", title}}), title);
  const std::string id = fmt::format("class-{}", look_name(look));
  add_textures(drawing, id);
  const std::string& whole = facts.last_from(look).outline;
  add_path(drawing.ink, "keep", whole);
  pugi::xml_node clip = drawing.ink.append_child("clipPath");
  clip.append_attribute("id").set_value(id.c_str());
  clip.append_child("path").append_attribute("d").set_value(whole.c_str());
  pugi::xml_node classes = drawing.ink.append_child("g");
  classes.append_attribute("clip-path").set_value(fmt::format("url(#{})", id).c_str());
  for (const Freedom wanted : kClasses) {
    if (wanted == Freedom::keep) continue;
    std::vector<double> in_class;
    for (const Freedom f : freedom) in_class.push_back(f == wanted);
    const Grid grid = value_grid(facts.last, seen, in_class, {});
    const std::string area = path_data(simplified(superlevel_loops(grid, 0.5), 0.3, 12.0));
    if (area.empty()) continue;
    add_path(classes, css_name(wanted), area);
    const char* texture = wanted == Freedom::never_press ? "never" : wanted == Freedom::may_tighten ? "dots" : nullptr;
    if (texture)
      add_path(classes, "texture", area)
          .append_attribute("fill")
          .set_value(fmt::format("url(#{}-{})", texture, id).c_str());
  }
  add_path(drawing.ink, "last-line", whole);
}

void add_class_key(pugi::xml_node parent, const Page& facts) {
  pugi::xml_node list = add(parent, "ul", "line-key");
  for (const Freedom freedom : kClasses) {
    pugi::xml_node item = add(list, "li");
    pugi::xml_node svg = item.append_child("svg");
    svg.append_attribute("viewBox").set_value("0 0 24 12");
    svg.append_attribute("aria-hidden").set_value("true");
    svg.append_attribute("class").set_value("sample");
    add_path(svg, css_name(freedom) + " framed", "M1 1h22v10h-22z");
    if (freedom == Freedom::never_press) add_path(svg, "hatch-line", "M2 11L12 1M8 11L18 1M14 11L22 3");
    if (freedom == Freedom::may_tighten) add_path(svg, "dotted", "M3 4h18M5 8h16");
    add(item, "span", "", facts.words(fmt::format("freedom.{}", freedom_name(freedom))));
  }
}

}  // namespace

void tightening_panel(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  const Tightening& tightening = facts.fitting.assessment.tightening;
  pugi::xml_node section = add_section(page, words, "tightening");
  add(section, "p", "intro", words("tightening.intro"));
  const bool offered = tightening.joint_girth_mm > 0.0;
  add(section, "p", "answer-line",
      offered ? words("tightening.offer", {{"mm", words.length_number(tightening.joint_girth_mm)}})
              : words("tightening.no_offer"));
  if (offered)
    add(section, "p", "",
        words(tightening.sigma_mm > 0.0 ? "tightening.sides" : "tightening.sides_by_fitting",
              {{"inside", words.length_number(tightening.inside_mm)},
               {"outside", words.length_number(tightening.outside_mm)},
               {"doubt", words.length_number(tightening.sigma_mm)}}));
  if (!tightening.why.empty()) add_message(section, "p", "", tightening.why, words);
  if (tightening.freedom.size() == facts.last.vertices.size()) {
    add_class_key(section, facts);
    pugi::xml_node looks = add(section, "div", "looks three");
    for (const Look look : {Look::above, Look::inside, Look::outside}) add_map(looks, facts, look);
    Table classes{words("tightening.classes"), {words("tightening.class"), words("tightening.area")}, {}};
    for (const Freedom freedom : kClasses) {
      classes.rows.push_back({words(fmt::format("freedom.{}", freedom_name(freedom))),
                              words.area(tightening.area_mm2[static_cast<std::size_t>(freedom)], 0)});
    }
    add_table(section, classes);
  }
  if (tightening.effects.empty()) return;
  Table effects{
      words("tightening.effects"), {words("findings.zone"), words("tightening.before"), words("tightening.after")}, {}};
  for (const Tightening::Effect& effect : tightening.effects) {
    effects.rows.push_back({words(fmt::format("zone.{}", zone_name(effect.zone))), words.length(effect.before_mm),
                            words.length(effect.after_mm)});
  }
  for (const Tightening::ToeGap& gap : tightening.toe_gaps)
    effects.rows.push_back({words(fmt::format("tightening.toe_gap.{}", gap.toe)), words.length(gap.before_mm),
                            words.length(gap.after_mm)});
  add_table(section, effects);
}

}  // namespace lastroom
