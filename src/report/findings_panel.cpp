#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/panels.h"
#include "report/text.h"

namespace lastroom {
namespace {

/// A ruler with the limit (of a difference, the one on its side), the number and its doubt: thick one standard
/// deviation, thin two.
void add_gauge(pugi::xml_node parent, const Page& facts, const Finding& finding) {
  if (!finding.measured_mm || !finding.limit_mm) return;
  const Words& words = facts.words;
  const double value = *finding.measured_mm, doubt = finding.sigma_mm.value_or(0.0);
  const bool either_way = traits_of(finding.rule).two_sided;
  const double limit = either_way ? std::copysign(*finding.limit_mm, value) : *finding.limit_mm;
  if (!std::isfinite(value) || !std::isfinite(limit) || !std::isfinite(doubt)) return;
  const double low_mm = std::floor(std::min({value - 2.0 * doubt, limit, 0.0}) - 1.0);
  const double high_mm = std::ceil(std::max({value + 2.0 * doubt, limit, 0.0}) + 1.0);
  constexpr double kWidth = 100.0;  // picture units, not millimetres of the foot
  const auto at = [&](double mm) { return kWidth * (mm - low_mm) / (high_mm - low_mm); };
  Drawing drawing =
      add_drawing(parent, "gauge", {-6.0, -9.0}, {kWidth + 6.0, 11.0},
                  words("findings.gauge", {{"value", with_doubt(words, value, finding.sigma_mm)},
                                           {"limit", limit_words(words, finding.rule, *finding.limit_mm)}}));
  add_line(drawing, "axis", {0.0, 0.0}, {kWidth, 0.0});
  add_line(drawing, "tick", {at(0.0), -1.5}, {at(0.0), 1.5});
  add_text(drawing, "small", {at(0.0), -7.0}, "middle", "0");
  add_line(drawing, "limit", {at(limit), -3.0}, {at(limit), 5.0});
  add_text(drawing, "small", {at(limit), 6.5}, "middle", words("findings.limit_short"));
  add_line(drawing, "whisker", {at(value - 2.0 * doubt), 0.0}, {at(value + 2.0 * doubt), 0.0});
  add_line(drawing, "whisker-thick", {at(value - doubt), 0.0}, {at(value + doubt), 0.0});
  pugi::xml_node dot = drawing.svg.append_child("circle");
  dot.append_attribute("class").set_value("value");
  dot.append_attribute("cx").set_value(coordinate(at(value)).c_str());
  dot.append_attribute("r").set_value("2");
}

/// The source without the provenance that stands before it in the report's own language ("Our choice. A heel is ...").
std::string without_label(const Finding& finding) {
  const std::string_view label = provenance_name(finding.provenance);
  std::string source = finding.source;
  constexpr std::string_view kEnds = ".:;";
  if (source.size() <= label.size() || kEnds.find(source[label.size()]) == std::string_view::npos) return source;
  for (std::size_t i = 1; i < label.size(); ++i) {
    if (source[i] != label[i]) return source;  // the first letter may be a capital
  }
  source.erase(0, label.size() + 1);
  source.erase(0, source.find_first_not_of(' '));
  if (!source.empty() && source[0] >= 'a' && source[0] <= 'z') source[0] = static_cast<char>(source[0] - 'a' + 'A');
  return source;
}

void add_finding(pugi::xml_node list, const Page& facts, const Place& place) {
  const Words& words = facts.words;
  const Finding& finding = *place.finding;
  pugi::xml_node item = add(list, "li", "finding");
  pugi::xml_node title = add(item, "h3");
  add(title, "span", "number", std::to_string(place.number));
  add(title, "span", "", subject(words, finding));
  pugi::xml_node tag = add(title, "span", fmt::format("tag {}", verdict_name(finding.verdict)));
  add_verdict_sign(tag, finding.verdict);
  add(tag, "span", "", verdict_word(words, finding.verdict));
  pugi::xml_node body = add(item, "div", "finding-body");
  pugi::xml_node numbers = add(body, "div");
  pugi::xml_node list_of_numbers = add(numbers, "dl");
  const auto entry = [&](const char* key, const std::string& value) {
    pugi::xml_node pair = add(list_of_numbers, "div");
    add(pair, "dt", "", words(key));
    add(pair, "dd", "", value);
  };
  if (finding.measured_mm) entry("findings.measured", with_doubt(words, finding.measured_mm, finding.sigma_mm));
  if (finding.limit_mm)
    entry("findings.limit", limit_words(words, finding.rule, *finding.limit_mm) + " " + words.length_unit());
  if (place.at_mm) {
    entry("findings.at", fmt::format("{} / {} / {}", words.length_number(place.at_mm->x(), 0),
                                     words.length_number(place.at_mm->y(), 0), words.length(place.at_mm->z(), 0)));
  }
  const std::string minus = meaning_of_minus(words, finding.rule);
  if (!minus.empty()) add(numbers, "p", "quiet", minus);
  add_gauge(numbers, facts, finding);
  pugi::xml_node what = add(body, "div");
  if (!finding.advice.empty()) add_message(what, "p", "advice", finding.advice, words);
  pugi::xml_node source = add(what, "p", "source");
  const char* const provenance[] = {"provenance.published", "provenance.common_practice", "provenance.our_choice"};
  add(source, "b", "", words(provenance[static_cast<std::size_t>(finding.provenance)]));
  const std::string origin = without_label(finding);
  if (!origin.empty()) {
    source.append_child(pugi::node_pcdata).set_value(" ");
    const Message built_in{fmt::format("source.{}", rule_name(finding.rule))};
    const bool ours = english(built_in) == finding.source;
    if (ours && words.language() != "en")
      add_message(source, "span", "", built_in, words);  // without the label, in the other catalogues
    else if (ours)
      add(source, "span", "", origin);
    else
      add_message(source, "span", "", own_text(origin), words);
  }
}

void add_zone_table(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  Table table{
      words("findings.zones_caption"),
      {words("findings.zone"), words("findings.verdict"), words("findings.p05"), words("findings.limit"),
       words("findings.chance"), words("findings.median"), words("findings.least"), words("findings.area_below")},
      {}};
  for (const ZoneVerdict& z : facts.fitting.assessment.zones) {
    const std::string verdict = verdict_word(words, z.verdict) + (z.undecided ? " " + words("findings.undecided") : "");
    table.rows.push_back({words(fmt::format("zone.{}", zone_name(z.clearance.zone))), verdict,
                          with_doubt(words, z.clearance.p05_mm, z.clearance.sigma_mm), words.length(z.limit_mm),
                          words.number(100.0 * z.chance_of_pinch, 0) + " %", words.length(z.clearance.median_mm),
                          words.length(z.clearance.min_mm), words.area(z.area_below_limit_mm2)});
  }
  add_table(parent, table);
}

}  // namespace

void findings_panel(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  add(page, "p", "kicker", words("maker.heading"));
  pugi::xml_node section = add_section(page, words, "findings");
  add(section, "p", "intro", words("findings.intro"));
  if (facts.places.empty()) add(section, "p", "", words("findings.none"));
  if (!facts.places.empty()) {
    pugi::xml_node list = add(section, "ol", "findings");
    for (const Place& place : facts.places) add_finding(list, facts, place);
  }
  if (!facts.fitting.assessment.zones.empty()) add_zone_table(section, facts);
}

}  // namespace lastroom
