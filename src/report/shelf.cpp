#include "report/shelf.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>

#include "preparation/other_body.h"
#include "report/csv.h"
#include "report/field_picture.h"
#include "report/message_json.h"
#include "report/page.h"
#include "report/text.h"
#include "report/tool_json.h"
#include "report/worn.h"

namespace lastroom {
namespace {

using Json = nlohmann::ordered_json;

Json number(double value) { return std::isfinite(value) ? Json(std::round(value * 1e4) / 1e4 + 0.0) : Json(); }
Json number(const std::optional<double>& value) { return value ? number(*value) : Json(); }

/// A row's values under the names that table and JSON share; `null` is an empty field.
Json values_of(const ShelfRow& row, std::size_t rank) {
  const bool judged = row.fate == Fate::judged, sieved = judged || row.fate == Fate::left_out;
  const bool measured = row.length_mm > 0.0;
  const auto text = [](const std::string& value) { return value.empty() ? Json() : Json(plain_text(value, 1000)); };
  const auto name = [](const std::optional<RuleId>& rule) { return rule ? Json(rule_name(*rule)) : Json(); };
  const auto if_so = [](bool so, Json value) { return so ? value : Json(); };
  return {{"rank", if_so(judged, rank)},
          {"last", plain_text(row.file)},
          {"fate", fate_name(row.fate)},
          {"verdict", if_so(judged, verdict_name(row.verdict))},
          {"margin_mm", if_so(judged, number(row.margin.mm))},
          {"margin_rule", judged ? name(row.margin.rule) : Json()},
          {"finding", judged ? name(row.finding) : Json()},
          {"measured_mm", judged ? number(row.measured_mm) : Json()},
          {"limit_mm", judged ? number(row.limit_mm) : Json()},
          {"allowance_mm", if_so(judged, number(row.allowance_mm))},
          {"length_mm", if_so(measured, number(row.length_mm))},
          {"joint_girth_mm", if_so(measured, number(row.joint_girth_mm))},
          {"heel_height_mm", if_so(measured, number(row.heel_height_mm))},
          {"units", text(row.units)},
          {"most_margin_mm", if_so(sieved, number(row.sieve.most_margin_mm))},
          {"most_margin_rule", sieved ? name(row.sieve.rule) : Json()},
          {"problem", text(english(row.problem))},
          {"doubt", text(english(row.doubt))},
          {"same_as", text(row.same_as)},
          {"report", text(row.report)},
          {"sha256", text(row.sha256)},
          {"mirrored", row.mirrored},
          {"model", text(row.name.model)},
          {"size", text(row.name.size)},
          {"width", text(row.name.width)},
          {"told_heel_mm", number(row.told_heel_mm)},
          {"decides", row.decides ? Json(side_name(*row.decides)) : Json()}};
}

std::string as_field(const Json& value) {
  return value.is_null() ? "" : value.is_string() ? csv_field(value.get<std::string>()) : value.dump();
}

enum class Line { names, values };
std::string csv_line(const Json& row, Line what) {
  std::vector<std::string> fields;
  for (const auto& [name, value] : row.items()) fields.push_back(what == Line::names ? name : as_field(value));
  return fmt::format("{}\r\n", fmt::join(fields, ","));
}

}  // namespace

void fill_in(ShelfRow& row, const Fitting& fitting) {
  const Assessment& found = fitting.assessment;
  row.fate = found.verdict == Verdict::none ? Fate::unusable : Fate::judged;
  row.verdict = found.verdict;
  if (row.fate == Fate::unusable) {
    const Message& doubt = fitting.registration.doubt_reason;
    const Message why = !doubt.empty() || found.findings.empty() ? doubt : found.findings.front().advice;
    row.problem = {"shelf.no_verdict", {{"why", why}}};
    return;
  }
  if (const Message* doubt = first_doubt(fitting.last.facts)) row.doubt = *doubt;
  row.margin = margin_of(found, fitting.rules, fitting.settings.assessment.wearer);
  row.allowance_mm = fitting.toe_room.allowance_mm.value_or(0.0);
  row.wrong.clear();
  for (const Finding& finding : found.findings) {
    const bool seen = std::ranges::find(row.wrong, finding.rule) != row.wrong.end();
    if (finding.verdict != Verdict::clear && traits_of(finding.rule).kind != RuleKind::fact && !seen)
      row.wrong.push_back(finding.rule);
  }
  // A clear one is a marked spot that has its room.
  if (found.findings.empty() || found.findings.front().verdict == Verdict::clear) return;
  const Finding& gravest = found.findings.front();
  row.finding = gravest.rule;
  row.measured_mm = gravest.measured_mm;
  row.limit_mm = gravest.limit_mm;
}

std::vector<Message> doubts_about_foot(const Assessment& assessment) {
  std::vector<Message> doubts;
  for (const Finding& finding : assessment.findings)
    if (traits_of(finding.rule).about_foot) doubts.push_back(finding.advice);
  return doubts;
}

std::string small_pictures(const Fitting& fitting) {
  if (fitting.assessment.verdict == Verdict::none) return "";
  static constexpr PictureFineness kSmall{0.4, 30.0, 6'000};  // drawn some 2 mm a pixel of the screen
  constexpr double kPixel_mm = 1.0;
  const WornMesh worn_foot = worn_skin(fitting), worn = worn_last(fitting);
  const MeshView &skin = worn_foot.mesh, &last_mesh = worn.mesh;
  const std::vector<std::uint8_t> judged = judged_triangles(fitting);
  const auto outline = [](const Raster& seen) {
    return path_data(simplified(superlevel_loops(outline_grid(seen), 0.5), kSmall.finest_mm, kSmall.least_patch_mm2));
  };
  const auto end = [](const Raster& seen) { return Vec2(seen.low + seen.step_mm * Vec2(seen.columns, seen.rows)); };
  pugi::xml_document piece;
  pugi::xml_node pair = add(piece, "div", "shelf-pictures");
  for (const double from : {1.0, -1.0}) {  // above, below; toes to the right in both
    const View view{from * Vec3::UnitY(), from * Vec3::UnitZ()};
    const Raster foot = look_at(skin, view, kPixel_mm), last = look_at(last_mesh, view, kPixel_mm);
    const FieldPaths paths = field_paths(skin, foot, outline(foot), fitting.clearance.clearance_mm, judged, kSmall);
    Drawing drawing = add_drawing(pair, "", foot.low.cwiseMin(last.low), end(foot).cwiseMax(end(last)), "");
    for (const char* unused : {"class", "role", "aria-label"}) drawing.svg.remove_attribute(unused);
    drawing.svg.append_attribute("aria-hidden").set_value("true");  // the words beside it say what it shows
    const std::string last_outline = outline(last);
    add_path(drawing.ink, "last-fill", last_outline);
    add_field(drawing, paths,
              fmt::format("{}-{}", from > 0.0 ? "above" : "below", fitting.last.facts.sha256.substr(0, 16)));
    add_path(drawing.ink, "outline", paths.whole);
    add_path(drawing.ink, "last-line", last_outline);
  }
  std::ostringstream text;
  piece.save(text, "", pugi::format_raw | pugi::format_no_declaration, pugi::encoding_utf8);
  return text.str();
}

std::string shelf_csv(const std::vector<ShelfRow>& rows) {
  std::string text = csv_line(values_of({}, 0), Line::names);
  for (std::size_t i = 0; i < rows.size(); ++i) text += csv_line(values_of(rows[i], i + 1), Line::values);
  return text;
}

std::string shelf_json(const std::vector<ShelfRow>& rows, const ShelfHead& head) {
  Json lasts = Json::array();
  for (std::size_t i = 0; i < rows.size(); ++i) lasts.push_back(values_of(rows[i], i + 1));
  const auto scan_of = [](const ShelfHead& of) {
    return Json{{"file", plain_text(of.scan_file)},
                {"sha256", of.scan_sha256},
                {"side", side_name(of.side)},
                {"length_mm", number(of.length_mm)},
                {"joint_girth_mm", number(of.joint_girth_mm)}};
  };
  Json scans = Json::array();  // of a pair; else `scan`
  for (const ShelfHead& foot : head.feet) scans.push_back(scan_of(foot));
  const Json shelf = {{"schema", "lastroom.shelf/1"},
                      {"tool", tool_json(head.rules)},
                      {head.feet.empty() ? "scan" : "scans", head.feet.empty() ? scan_of(head) : scans},
                      {"wearer", wearer_name(head.wearer)},
                      {"order_certain_of_best", head.best == 0 ? Json("all") : Json(head.best)},
                      {"remarks", sentences(head.remarks)},
                      {"remark_keys", message_json(head.remarks)},
                      {"lasts", std::move(lasts)}};
  return shelf.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lastroom
