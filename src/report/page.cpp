#include "report/page.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/text.h"

namespace lastroom {
namespace {

constexpr double kOutlineTolerance_mm = 0.08;  // a ninth of a pixel: no corners on a figure of a page's height

void set(pugi::xml_node node, const char* name, std::string_view value) {
  node.append_attribute(name).set_value(std::string(value).c_str());
}

}  // namespace

const Seen& Views::from(Look look) const {
  return drawn_[static_cast<std::size_t>(look)].by([&] {
    Seen seen{look_at(body_, view_of(look, side_)), {}};
    seen.outline = path_data(simplified(superlevel_loops(outline_grid(seen.raster), 0.5), kOutlineTolerance_mm, 4.0));
    return seen;
  });
}

const Relief& Page::relief_from_above() const {
  return relief.by([&] { return relief_of(skin_from(Look::above).raster, light_from_above()); });
}

Grid Page::light_from_above() const {
  std::vector<Vec3> normals;
  for (const Vec3& normal : fitting.clearance.skin_normal) normals.push_back(as_worn(fitting.foot.side, normal));
  return light_on(skin, normals, skin_from(Look::above).raster, view_of(Look::above, fitting.foot.side));
}

Page lay_out(const Fitting& fitting, const ReportSettings& settings, const Words& words) {
  const WornMesh skin = worn_skin(fitting), last = worn_last(fitting);
  const Side side = fitting.foot.side;
  Page page{fitting,
            settings,
            words,
            skin.mesh,
            last.mesh,
            {skin.copy, last.copy},
            worn_landmarks(fitting),
            Views(skin.mesh, side),
            Views(last.mesh, side),
            {},
            {}};
  for (const Finding& finding : fitting.assessment.findings) {
    Place place{static_cast<int>(page.places.size()) + 1, &finding, {}};
    if (finding.at_mm) place.at_mm = as_worn(side, *finding.at_mm);
    page.places.push_back(place);
  }
  return page;
}

pugi::xml_node add(pugi::xml_node parent, const char* tag, std::string_view kind) {
  pugi::xml_node node = parent.append_child(tag);
  if (!kind.empty()) set(node, "class", kind);
  return node;
}

pugi::xml_node add(pugi::xml_node parent, const char* tag, std::string_view kind, const std::string& text) {
  pugi::xml_node node = add(parent, tag, kind);
  node.text().set(text.c_str());
  return node;
}

void add_foreign(pugi::xml_node parent, const std::string& bytes, std::size_t most) {
  pugi::xml_node node = add(parent, "bdi", "", plain_text(bytes, most));
  set(node, "lang", "");
  set(node, "translate", "no");
}

pugi::xml_node add_message(pugi::xml_node parent, const char* tag, std::string_view kind, const Message& message,
                           const Words& words) {
  pugi::xml_node node = add(parent, tag, kind);
  for (const Run& run : words.runs(message)) {
    if (run.foreign)
      add_foreign(node, run.text, 4000);
    else
      node.append_child(pugi::node_pcdata).set_value(run.text.c_str());
  }
  return node;
}

pugi::xml_node add_section(pugi::xml_node parent, const Words& words, const char* id) {
  pugi::xml_node section = add(parent, "section");
  set(section, "id", id);
  set(section, "aria-labelledby", fmt::format("{}-heading", id));
  pugi::xml_node heading = add(section, "h2", "", words(fmt::format("{}.heading", id)));
  set(heading, "id", fmt::format("{}-heading", id));
  return section;
}

void add_table(pugi::xml_node parent, const Table& table) {
  const bool narrow = table.columns.size() <= 3;
  pugi::xml_node node = add(parent, "table", narrow ? "narrow" : fmt::format("wide of-{}", table.columns.size()));
  add(node, "caption", "", table.caption);
  pugi::xml_node head = add(add(node, "thead"), "tr");
  for (const std::string& column : table.columns) set(add(head, "th", "", column), "scope", "col");
  pugi::xml_node body = add(node, "tbody");
  for (const std::vector<std::string>& row : table.rows) {
    pugi::xml_node line = add(body, "tr");
    for (std::size_t cell = 0; cell < row.size(); ++cell) {
      pugi::xml_node node_of_cell = add(line, cell == 0 ? "th" : "td", "", row[cell].empty() ? "–" : row[cell]);
      if (cell == 0) set(node_of_cell, "scope", "row");
      if (cell > 0 && !narrow) set(node_of_cell, "data-column", table.columns[cell]);  // heads the cell on a phone
    }
  }
}

void add_verdict_sign(pugi::xml_node parent, Verdict verdict) {
  pugi::xml_node svg = parent.append_child("svg");
  set(svg, "class", fmt::format("sign {}", verdict_name(verdict)));
  set(svg, "viewBox", "-8 -8 16 16");
  set(svg, "aria-hidden", "true");
  svg.append_child("circle").append_attribute("r").set_value("6");
  if (verdict == Verdict::watch) set(svg.append_child("path"), "d", "M0-6A6 6 0 0 1 0 6z");
}

std::string verdict_word(const Words& words, Verdict verdict) {
  return words(fmt::format("verdict.{}", verdict_name(verdict)));
}

std::string rule_words(const Words& words, RuleId rule) {
  return words(fmt::format("{}.{}", zone_of(rule) ? "zone" : "rule", rule_name(rule)));
}

std::string subject(const Words& words, const Finding& finding) {
  if (!finding.zone) return rule_words(words, finding.rule);
  const std::string& zone = words(fmt::format("zone.{}", zone_name(*finding.zone)));
  const bool about_a_place =
      finding.rule == RuleId::marked_spot || finding.rule == RuleId::bony_point || finding.rule == RuleId::worst_patch;
  return about_a_place ? fmt::format("{}: {}", rule_words(words, finding.rule), zone) : zone;
}

std::string meaning_of_minus(const Words& words, RuleId rule) {
  return traits_of(rule).two_sided ? words(fmt::format("minus.{}", rule_name(rule))) : "";
}

std::string limit_words(const Words& words, RuleId rule, double limit_mm) {
  return (traits_of(rule).two_sided ? "± " : "") + words.length_number(limit_mm);
}

std::string with_doubt(const Words& words, const std::optional<double>& value_mm,
                       const std::optional<double>& sigma_mm) {
  if (!value_mm) return "–";
  return sigma_mm ? fmt::format("{} ± {}", words.length_number(*value_mm), words.length(*sigma_mm))
                  : words.length(*value_mm);
}

}  // namespace lastroom
