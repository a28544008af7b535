#include "page/shown.h"

#include <fmt/format.h>

#include <algorithm>

#include "measurement/named_measures.h"
#include "preparation/other_body.h"
#include "report/colour_scale.h"
#include "report/found_body.h"
#include "report/plain_words.h"
#include "report/text.h"

namespace lastroom {
namespace {

using Json = nlohmann::ordered_json;

Json sentences_in(const Words& words, const std::vector<Message>& messages) {
  Json list = Json::array();
  for (const Message& message : messages) list.push_back(plain_text(words(message), 2000));
  return list;
}

/// A body's points in the frame of its mesh, for the picture.
Json points_of(const FoundBody& body) {
  Json points = Json::array();
  for (const auto* found : {&body.points, &body.toes})
    for (const FoundPoint& point : *found)
      points.push_back({{"label", point.label}, {"at", {point.at.x(), point.at.y(), point.at.z()}}});
  return points;
}

template <class Measures>
Json rows_of(const Measures& measures, const Words& words, std::initializer_list<std::string_view> names) {
  std::vector<NamedMeasure> all = shared_measures(measures);
  for (const NamedMeasure& further : further_measures(measures)) all.push_back(further);
  Json rows = Json::array();
  for (const NamedMeasure& row : all)
    if (std::find(names.begin(), names.end(), row.name) != names.end())
      rows.push_back({words(fmt::format("measure.{}", row.name)), words.number(row.mm) + " mm"});
  return rows;
}

Json shown_file(const InputFacts& facts, Side side, const Message& likeness, const Words& words) {
  const Message* doubt = first_doubt(facts);
  std::vector<Message> repairs;
  for (const Message& repair : facts.repairs)
    if (&repair != doubt) repairs.push_back(repair);
  return {{"file", plain_text(facts.file)}, {"side", side_name(side)},
          {"unit", unit_name(facts.units)}, {"unit_from", facts.units_from == Told::by_option ? "option" : "guess"},
          {"triangles", facts.triangles},   {"doubt", doubt ? Json(plain_text(words(*doubt), 2000)) : Json()},
          {"likeness", words(likeness)},    {"repairs", sentences_in(words, repairs)}};
}

/// "1, 2, 3, 4, 5"; of toes that could not be told apart "2–4".
std::string toes_found(const FoundBody& body) {
  std::string text;
  for (const FoundPoint& toe : body.toes) text += (text.empty() ? "" : ", ") + toe.label;
  return text;
}

Json shown_finding(const Place& place, const Words& words) {
  const Finding& finding = *place.finding;
  Json shown = {{"number", place.number},
                {"verdict", verdict_name(finding.verdict)},
                {"tag", verdict_word(words, finding.verdict)},
                {"what", subject(words, finding)},
                {"measured", finding.measured_mm ? with_doubt(words, finding.measured_mm, finding.sigma_mm) : ""},
                {"limit", finding.limit_mm ? limit_words(words, finding.rule, *finding.limit_mm) + " mm" : ""},
                {"minus", meaning_of_minus(words, finding.rule)},
                {"advice", plain_text(words(finding.advice), 2000)}};
  shown["at"] = place.at_mm ? Json({place.at_mm->x(), place.at_mm->y(), place.at_mm->z()}) : Json();
  return shown;
}

/// The colours from the tightest to the widest band, and where each ends (mm).
Json scale(const Words& words) {
  Json bands = Json::array();
  for (std::size_t band = 0; band <= kBandBorders_mm.size(); ++band)
    bands.push_back({{"colour", hex(band_colour(band))},
                     {"to", band < kBandBorders_mm.size() ? words.number(kBandBorders_mm[band], 0) : ""}});
  return bands;
}

/// Name and limit of every zone, by its number in the view's bytes.
Json zones_of(const Fitting& fitting, const Words& words) {
  Json zones = Json::object();
  for (const ZoneVerdict& zone : fitting.assessment.zones)
    zones[std::to_string(static_cast<int>(zone.clearance.zone))] = {
        {"name", words(fmt::format("zone.{}", zone_name(zone.clearance.zone)))},
        {"limit", words.number(zone.limit_mm) + " mm"},
        {"limit_mm", zone.limit_mm},
        {"tag", verdict_word(words, zone.verdict)}};
  return zones;
}

}  // namespace

Json shown_foot(const ReadyFoot& foot, const Words& words) {
  Json shown = shown_file(foot.foot.facts, foot.foot.side, likeness_of(foot.foot), words);
  const FoundBody body = found_on(foot.foot, foot.measures, words);
  shown["side_from"] = foot.foot.side_from == Told::by_option ? "option" : "guess";
  shown["rows"] = rows_of(foot.measures, words, {"length", "joint_girth", "joint_width", "instep_girth"});
  shown["toes"] = toes_found(body);
  shown["remarks"] = sentences_in(words, foot.measures.outside_population);
  shown["points"] = points_of(body);
  return shown;
}

Json shown_last(const ReadyLast& last, const Words& words) {
  Json shown = shown_file(last.last.facts, last.last.side, likeness_of(last.last), words);
  shown["rows"] = rows_of(last.measures, words, {"length", "joint_girth", "joint_width", "heel_height"});
  shown["straight"] = last.last.chance_of_wrong_side >= kStraightFrom;
  shown["points"] = points_of(found_on(last.last, last.measures, words));
  return shown;
}

Json shown_check(const Fitting& fitting, const ReportSettings& settings) {
  const Words words(settings.language);
  const AssessmentSettings& judged = fitting.settings.assessment;
  const Tidings tidings = tidings_of(fitting);
  const Page page = lay_out(fitting, settings, words);
  Json shown = {{"verdict", verdict_name(fitting.assessment.verdict)},
                {"tag", verdict_word(words, fitting.assessment.verdict)},
                {"headline", words(fmt::format("headline.{}", tidings_name(tidings)))},
                {"lead", words(fmt::format("lead.{}", tidings_name(tidings)))},
                {"grave", judged.wearer != Wearer::standard},
                {"wearer", plain_text(words(about_wearer(judged.wearer, judged.wearer_reason)), 500)},
                {"caution", first_caution(words, judged.wearer)},
                {"next", next_steps(words, tidings, judged.wearer)},
                {"side", words(fmt::format("side.{}", side_name(fitting.foot.side)))},
                {"left", fitting.foot.side == Side::left},
                {"scale", scale(words)},
                {"zones", zones_of(fitting, words)}};
  shown["doubts"] = Json::array();
  for (const InputFacts* facts : {&fitting.foot.facts, &fitting.last.facts})
    if (const Message* doubt = first_doubt(*facts))
      shown["doubts"].push_back(plain_text(facts->file, 120) + ": " + plain_text(words(*doubt), 2000));
  shown["findings"] = Json::array();
  for (const Place& place : page.places) shown["findings"].push_back(shown_finding(place, words));
  return shown;
}

}  // namespace lastroom
