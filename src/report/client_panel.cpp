#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "preparation/other_body.h"
#include "report/client_parts.h"
#include "report/looks.h"
#include "report/markers.h"
#include "report/panels.h"
#include "report/plain_words.h"
#include "report/relief.h"
#include "report/text.h"

namespace lastroom {
namespace {

/// Not negative on the skin that these places of one verdict are about, seen from above: what is nearer to the last
/// than the zone's limit, and in any case as much as a thumb covers, so that it shows round the number. None: none.
std::optional<Grid> sore_skin(const Page& facts, const std::vector<Place>& places, Verdict verdict) {
  constexpr double kThumb_mm = 14.0, kFar_mm = 20.0;
  const Fitting& fitting = facts.fitting;
  std::vector<double> inside_mm(facts.skin.vertices.size(), -kFar_mm);
  bool any = false;
  for (const Place& place : places) {
    const Finding& finding = *place.finding;
    if (!place.at_mm || finding.verdict != verdict) continue;
    any = true;
    const bool by_zone = finding.zone && finding.limit_mm && rule_of(*finding.zone) == finding.rule;
    for (std::size_t v = 0; v < inside_mm.size(); ++v) {
      double& inside = inside_mm[v];
      inside = std::max(inside, kThumb_mm - (facts.skin.vertices[v] - *place.at_mm).norm());
      const double clearance = fitting.clearance.clearance_mm[v];
      if (by_zone && fitting.skin.zone[v] == *finding.zone && clearance < *finding.limit_mm)
        inside = std::max(inside, *finding.limit_mm - clearance);
    }
  }
  if (!any) return std::nullopt;
  const Raster& foot = facts.skin_from(Look::above).raster;
  Grid grid = value_grid(facts.skin, foot, inside_mm, {});
  const Grid outline = outline_grid(foot);
  for (std::size_t i = 0; i < grid.value.size(); ++i)  // no further than the outline
    grid.value[i] = std::min(grid.value[i], outline.value[i] - 0.5F);
  return grid;
}

void add_sore_skin(Drawing& drawing, std::string_view kind, const std::optional<Grid>& sore) {
  if (sore) add_path(drawing.ink, kind, path_data(simplified(superlevel_loops(*sore, 0.0), 0.25, 12.0)));
}

/// Of the client's picture, as report.css has them; sore skin lets some of what is under it through.
enum Ink : std::uint8_t { paper, of_last, last_line, relief_0, relief_1, relief_2, relief_3, watched, pinched };
const std::vector<std::uint32_t> kInks = {0xFFFFFF, 0xEEF2EF, 0x14534A, 0xD9D3C8, 0xE3DDD2,
                                          0xEDE8DF, 0xF6F3EC, 0xE5B45C, 0xC4583C};

/// The grid's value at a place; `beside` it the same everywhere.
float value_at(const Grid& grid, const Vec2& place, float beside) {
  const Vec2 at = (place - grid.low) / grid.step_mm;
  const auto column = static_cast<int>(std::lround(at.x())), row = static_cast<int>(std::lround(at.y()));
  if (column < 0 || row < 0 || column >= grid.columns || row >= grid.rows) return beside;
  return grid.at(column, row);
}

}  // namespace

std::string figure_key(const Words& words) { return words("client.numbers") + " " + words("client.colours"); }

void add_foot_from_above(pugi::xml_node parent, const Page& facts, bool with_key) {
  const View view = view_of(Look::above, facts.fitting.foot.side);
  const Seen &seen_foot = facts.skin_from(Look::above), &seen_last = facts.last_from(Look::above);
  const Raster &foot = seen_foot.raster, &last = seen_last.raster;
  Vec2 low = foot.low, high = foot.low;
  for (const Raster* raster : {&foot, &last}) {
    low = low.cwiseMin(raster->low);
    high = high.cwiseMax(raster->low + raster->step_mm * Vec2(raster->columns, raster->rows));
  }
  const std::string side = facts.words(fmt::format("side.{}", side_name(facts.fitting.foot.side)));
  const std::vector<Place> places = places_to_show(facts);
  const bool numbered =
      std::any_of(places.begin(), places.end(), [](const Place& place) { return place.at_mm.has_value(); });
  const std::string name = facts.words("client.figure", {{"side", side}});
  const std::string whole = numbered ? name + " " + figure_key(facts.words) : name;
  Drawing drawing =
      add_figure(parent, "client-foot", low - Vec2(10.0, 6.0), high + Vec2(10.0, 4.0), whole, with_key ? whole : name);
  add_path(drawing.ink, "last-fill", seen_last.outline);
  add_relief(drawing, facts.relief_from_above());
  add_sore_skin(drawing, "sore watched", sore_skin(facts, places, Verdict::watch));
  add_sore_skin(drawing, "sore pinched", sore_skin(facts, places, Verdict::pinch));
  add_path(drawing.ink, "last-line", seen_last.outline);
  std::vector<Mark> marks;
  for (const Place& place : places) {
    if (!place.at_mm) continue;
    const Vec2 at = view(*place.at_mm);
    const std::size_t pixel = foot.pixel(at);
    const bool hidden = place.at_mm->dot(view.to_eye) < foot.depth_mm[pixel] - 8.0F;  // 8 mm: a toe's thickness
    marks.push_back({at, place.number, hidden});
  }
  add_marks(drawing, marks);
}

Picture foot_from_above(const Page& facts) {
  constexpr double kPixel_mm = 0.5, kBorder_mm = 5.0, kLine_mm = 0.75;
  const Raster &foot = facts.skin_from(Look::above).raster, &last = facts.last_from(Look::above).raster;
  const Grid outline = outline_grid(foot), last_outline = outline_grid(last), light = facts.light_from_above();
  const std::vector<Place> places = places_to_show(facts);
  const std::optional<Grid> pinch = sore_skin(facts, places, Verdict::pinch),
                            watch = sore_skin(facts, places, Verdict::watch);
  const auto is_last = [&](const Vec2& p) { return value_at(last_outline, p, 0.0F) >= 0.5F; };
  const auto ink_at = [&](const Vec2& p) {
    int inside = 0;
    for (const double x : {-kLine_mm, kLine_mm})
      for (const double y : {-kLine_mm, kLine_mm}) inside += is_last(p + Vec2(x, y)) ? 1 : 0;
    if (inside > 0 && inside < 4) return Ink::last_line;
    if (pinch && value_at(*pinch, p, -1.0F) >= 0.0F) return Ink::pinched;
    if (watch && value_at(*watch, p, -1.0F) >= 0.0F) return Ink::watched;
    if (value_at(outline, p, 0.0F) < 0.5F) return is_last(p) ? Ink::of_last : Ink::paper;
    const double facing = value_at(light, p, -1.0F);
    return static_cast<Ink>(Ink::relief_0 + std::ranges::count_if(kReliefLight, [&](double l) { return facing >= l; }));
  };
  Vec2 low = foot.low.cwiseMin(last.low) - Vec2::Constant(kBorder_mm), high = low;
  for (const Raster* raster : {&foot, &last})
    high = high.cwiseMax(raster->low + raster->step_mm * Vec2(raster->columns, raster->rows));
  Picture picture{static_cast<int>((high.x() + kBorder_mm - low.x()) / kPixel_mm),
                  static_cast<int>((high.y() + kBorder_mm - low.y()) / kPixel_mm),
                  kInks,
                  {}};
  for (int row = 0; row < picture.rows; ++row)
    for (int column = 0; column < picture.columns; ++column)
      picture.pixel.push_back(ink_at(low + kPixel_mm * Vec2(column, picture.rows - 1 - row)));
  return picture;
}

void add_places(pugi::xml_node parent, const Page& facts, const char* heading_tag) {
  const Words& words = facts.words;
  add(parent, heading_tag, "", words("client.places"));
  const std::vector<Place> shown = places_to_show(facts);
  if (shown.empty()) {
    add(parent, "p", "", words("client.no_places"));
    return;
  }
  pugi::xml_node list = add(parent, "ol", "places");
  for (const Place& place : shown) {
    pugi::xml_node item = add(list, "li");
    item.append_attribute("value").set_value(place.number);  // for who hears the list: numbers may be skipped
    add(item, "span", "number", std::to_string(place.number)).append_attribute("aria-hidden").set_value("true");
    pugi::xml_node text = add(item, "div");
    pugi::xml_node title = add(text, "p", "place");
    const Finding& finding = *place.finding;
    add(title, "strong", "", plain_subject(words, finding));
    pugi::xml_node tag = add(title, "span", fmt::format("tag {}", verdict_name(finding.verdict)));
    add_verdict_sign(tag, finding.verdict);
    add(tag, "span", "", verdict_word(words, finding.verdict));
    add(text, "p", "", in_plain_words(facts, finding));
  }
  if (facts.places.size() > shown.size()) {
    add(parent, "p", "quiet",
        words("client.more_places", {{"count", std::to_string(facts.places.size() - shown.size())}}));
  }
}

HeadEntry date_entry(const Words& words, const std::string& iso) {
  const std::string day = words.date(iso);
  return {words("client.date"), day, day == iso};
}

void add_letterhead(pugi::xml_node parent, const Words& words, const std::vector<HeadEntry>& entries,
                    const char* page_name) {
  pugi::xml_node head = add(parent, "header", "letterhead");
  add(head, "p", "name", words(page_name));
  pugi::xml_node list = add(head, "dl");
  for (const HeadEntry& entry : entries) {
    if (entry.value.empty()) continue;
    pugi::xml_node pair = add(list, "div");
    add(pair, "dt", "", entry.name);
    pugi::xml_node text = add(pair, "dd");
    if (entry.foreign) add_foreign(text, entry.value, 120);
    if (!entry.foreign) text.text().set(entry.value.c_str());
  }
}

void add_doubts(pugi::xml_node parent, const Words& words, const Fitting& fitting) {
  for (const InputFacts* facts : {&fitting.foot.facts, &fitting.last.facts}) {
    const Message* doubt = first_doubt(*facts);
    if (!doubt) continue;
    pugi::xml_node box = add(parent, "div", "caution grave");
    add_foreign(add(box, "p"), facts->file, 120);
    add_message(box, "p", "", *doubt, words);
  }
}

void add_first_caution(pugi::xml_node parent, const Words& words, Wearer wearer, const Message& reason) {
  pugi::xml_node caution = add(parent, "div", wearer == Wearer::standard ? "caution" : "caution grave");
  if (const Message told = about_wearer(wearer, reason); !told.empty()) add_message(caution, "p", "", told, words);
  add(caution, "p", "", first_caution(words, wearer));
}

void add_own_rules(pugi::xml_node parent, const Words& words, const RulesHead& rules) {
  if (rules.built_in) return;
  add_message(add(parent, "div", "caution grave"), "p", "own-rules", own_rules(rules), words);
}

void add_next_steps(pugi::xml_node parent, const Words& words, Tidings tidings, Wearer wearer) {
  add(parent, "h2", "", words("next.heading"));
  pugi::xml_node steps = add(parent, "ol", "steps");
  for (const std::string& step : next_steps(words, tidings, wearer)) add(steps, "li", "", step);
  add(parent, "p", "quiet", words("client.what_is_a_last"));
}

void client_panel(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  const Fitting& fitting = facts.fitting;
  const Tidings tidings = tidings_of(fitting);
  add_letterhead(page, words,
                 {{words("client.client"), facts.settings.client, true},
                  date_entry(words, facts.settings.date),
                  {words("client.foot"), words(fmt::format("side.{}", side_name(fitting.foot.side)))},
                  {words("client.last"), fitting.last.facts.file, true}});

  pugi::xml_node first = add(page, "section", "first");
  pugi::xml_node answer = add(first, "div", "answer");
  add_doubts(answer, words, fitting);
  add(answer, "h1", "", words(fmt::format("headline.{}", tidings_name(tidings))));
  add(answer, "p", "lead", words(fmt::format("lead.{}", tidings_name(tidings))));
  add_own_rules(answer, words, fitting.rules);
  const AssessmentSettings& judged = fitting.settings.assessment;
  add_first_caution(answer, words, judged.wearer, judged.wearer_reason);
  if (tidings != Tidings::none) add_foot_from_above(first, facts);

  pugi::xml_node next = add(first, "div", "next");
  add_places(next, facts, "h2");
  add_next_steps(next, words, tidings, judged.wearer);
}

}  // namespace lastroom
