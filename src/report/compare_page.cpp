#include <fmt/format.h>

#include <cmath>

#include "report/client_parts.h"
#include "report/colour_scale.h"
#include "report/compare.h"
#include "report/document.h"
#include "report/field_picture.h"
#include "report/text.h"

namespace lastroom {
namespace {

constexpr PictureFineness kFine{0.2, 15.0, 60'000};  // fifteen pictures in a page of about a megabyte
/// Of a difference: within 1 mm, a scanner's repeat error (Lee, Lin, Wang 2014), it is drawn as none.
constexpr std::array<double, 6> kDifferenceBorders_mm = {-4.0, -2.0, -1.0, 1.0, 2.0, 4.0};
constexpr std::array<const char*, 2> kLetters = {"A", "B"};

/// A skin and a value on it.
struct Field {
  const Mesh& skin;
  const std::vector<double>& value;
  Side side;
  std::span<const double> borders_mm = kBandBorders_mm;
};

std::vector<std::uint8_t> known_triangles(const Field& field) {
  std::vector<std::uint8_t> known;
  for (const Triangle& t : field.skin.triangles)
    known.push_back(std::isfinite(field.value[t[0]]) && std::isfinite(field.value[t[1]]) &&
                    std::isfinite(field.value[t[2]]));
  return known;
}

void add_picture(pugi::xml_node parent, const Field& field, Look look, const std::string& caption,
                 const std::string& id) {
  const Raster seen = look_at(field.skin, view_of(look, field.side), 0.7);
  if (seen.size() == 0) return;
  const std::string outline =
      path_data(simplified(superlevel_loops(outline_grid(seen), 0.5), kFine.finest_mm, kFine.least_patch_mm2));
  const Vec2 high = seen.low + seen.step_mm * Vec2(seen.columns, seen.rows);
  Drawing drawing = add_figure(parent, fmt::format("look {}", look_name(look)), seen.low - Vec2(4, 4),
                               high + Vec2(4, 4), caption, caption);
  const FieldPaths paths =
      field_paths(field.skin, seen, outline, field.value, known_triangles(field), kFine, field.borders_mm);
  add_field(drawing, paths, id);
  add_path(drawing.ink, "outline", outline);
}

void add_pictures(pugi::xml_node page, const Comparison& c, const Words& words) {
  if (!c.both_judged()) return;
  pugi::xml_node section = add_section(page, words, "compare_pictures");
  add(section, "p", "intro", words("compare.pictures_intro"));
  add(section, "p", "intro", words(c.same_scan ? "compare.same_scan" : "compare.other_scan"));
  const auto& [a, b] = c.results;
  const std::array<Field, 3> fields = {Field{a.skin.mesh, a.skin.clearance_mm, a.side},
                                       Field{b.skin.mesh, b.skin.clearance_mm, b.side},
                                       Field{b.skin.mesh, c.difference_mm, b.side, kDifferenceBorders_mm}};
  for (const Look look : kLooks) {
    const std::string title = words(fmt::format("look.{}", look_name(look)));
    add(section, "h3", "", title);
    pugi::xml_node row = add(section, "div", fmt::format("looks compare {}", look_name(look)));
    for (std::size_t i = 0; i < fields.size(); ++i)
      add_picture(row, fields[i], look,
                  words(i < 2 ? "compare.picture" : "compare.picture_difference",
                        {{"look", title}, {"which", i < 2 ? kLetters[i] : ""}}),
                  fmt::format("skin-{}-{}", look_name(look), i));
  }
}

std::string of_zone(const Words& words, const std::optional<ZonePair::Of>& of) {
  return of ? fmt::format("{} · {}", verdict_word(words, of->verdict), with_doubt(words, of->p05_mm, of->sigma_mm))
            : "–";
}

void add_zones(pugi::xml_node page, const Comparison& c, const Words& words) {
  if (c.zones.empty()) return;
  pugi::xml_node section = add_section(page, words, "compare_zones");
  add(section, "p", "intro", words("compare.zones_intro"));
  Table table{words("compare.zones_caption"),
              {words("compare.zone"), "A", "B", words("compare.difference"), words("compare.change")},
              {}};
  for (const ZonePair& zone : c.zones)
    table.rows.push_back(
        {words(fmt::format("zone.{}", zone_name(zone.zone))), of_zone(words, zone.of[0]), of_zone(words, zone.of[1]),
         zone.difference_mm
             ? fmt::format("{} ± {}", words.signed_length_number(*zone.difference_mm), words.length(zone.sigma_mm))
             : "–",
         zone.difference_mm ? words(fmt::format("compare.{}", change_name(zone.change))) : "–"});
  add_table(section, table);
}

void add_measures(pugi::xml_node page, const Comparison& c, const Words& words) {
  pugi::xml_node section = add_section(page, words, "compare_measures");
  Table table{words("compare.measures_caption"), {words("compare.measure"), "A", "B", words("compare.difference")}, {}};
  for (const MeasurePair& measure : c.measures) {
    const auto shown = [&](const std::optional<double>& mm) { return mm ? words.length(*mm) : "–"; };
    table.rows.push_back({words("compare." + measure.name), shown(measure.mm[0]), shown(measure.mm[1]),
                          measure.mm[0] && measure.mm[1] ? words.signed_length(*measure.mm[1] - *measure.mm[0]) : "–"});
  }
  add_table(section, table);
}

std::string headline(const Comparison& c, const Words& words) {
  if (!c.both_judged()) {
    std::string without;
    for (std::size_t i = 0; i < 2; ++i)
      if (c.results[i].verdict == Verdict::none) without += (without.empty() ? "" : ", ") + std::string(kLetters[i]);
    return words("compare.no_verdict", {{"which", without}});
  }
  if (!c.same_rules) return words("compare.other_rules");  // better by other limits is no better
  int better = 0, worse = 0;
  for (const ZonePair& zone : c.zones) {
    better += zone.change == ZoneChange::better;
    worse += zone.change == ZoneChange::worse;
  }
  const char* key = better > 0 && worse > 0 ? "compare.both"
                    : better > 0            ? "compare.only_better"
                    : worse > 0             ? "compare.only_worse"
                                            : "compare.neither";
  return words(key, {{"better", std::to_string(better)}, {"worse", std::to_string(worse)}});
}

void add_changes(pugi::xml_node parent, const Comparison& c, const Words& words) {
  pugi::xml_node list;
  for (const ZoneChange change : {ZoneChange::worse, ZoneChange::better}) {
    for (const ZonePair& zone : c.zones) {
      if (zone.change != change) continue;
      if (!list) list = add(parent, "ul");
      add(list, "li", "",
          words(fmt::format("compare.line_{}", change_name(change)),
                {{"zone", words(fmt::format("plain_zone.{}", zone_name(zone.zone)))},
                 {"before", verdict_word(words, zone.of[0]->verdict)},
                 {"after", verdict_word(words, zone.of[1]->verdict)},
                 {"mm", words.signed_length_number(*zone.difference_mm)}}));
    }
  }
}

void add_head(pugi::xml_node page, const Comparison& c, const Words& words, const ReportSettings& settings) {
  add_letterhead(page, words, {{words("client.client"), settings.client, true}, date_entry(words, settings.date)});
  pugi::xml_node answer = add(add(page, "section", "first alone"), "div", "answer");
  add(answer, "h1", "", headline(c, words));
  for (std::size_t i = 0; i < 2; ++i) {
    const Comparison::One& one = c.results[i];
    pugi::xml_node line = add(answer, "p", "compared");
    add_foreign(add(line, "strong", "", fmt::format("{}: ", kLetters[i])), one.name, 80);
    add_message(line, "span", "",
                {"compare.of",
                 {{"side", Message{fmt::format("side.{}", side_name(one.side))}},
                  {"scan", UserText{plain_text(one.scan_file, 80)}},
                  {"last", UserText{plain_text(one.last_file, 80)}},
                  {"verdict", Message{fmt::format("verdict.{}", verdict_name(one.verdict))}}}},
                words);
  }
  add_changes(answer, c, words);
  const std::optional<double> sock_a = c.results[0].sock_mm, sock_b = c.results[1].sock_mm;
  if (sock_a && sock_b && *sock_a != *sock_b)
    add(answer, "p", "remark",
        words("compare.other_sock", {{"a", words.length_number(*sock_a)}, {"b", words.length_number(*sock_b)}}));
  for (std::size_t i = 0; i < 2; ++i) {
    if (c.results[i].rules.built_in) continue;
    pugi::xml_node line = add(add(answer, "div", "caution grave"), "p", "own-rules", fmt::format("{}: ", kLetters[i]));
    add_message(line, "span", "", own_rules(c.results[i].rules), words);
  }
  add_first_caution(answer, words, graver(c.results[0].wearer, c.results[1].wearer));
}

}  // namespace

std::string compare_html(const Comparison& comparison, const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  Document document;
  open_document(document, settings, words, words("compare.name"));
  add_head(document.main, comparison, words, settings);
  add_zones(document.main, comparison, words);
  add_pictures(document.main, comparison, words);
  add_measures(document.main, comparison, words);
  return text_of(document);
}

}  // namespace lastroom
