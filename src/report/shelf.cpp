#include "report/shelf.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <pugixml.hpp>
#include <sstream>
#include <tuple>

namespace lastroom {
namespace {

std::string csv_field(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
  std::string quoted = "\"";
  for (char c : text) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + "\"";
}

bool judged(const ShelfRow& row) { return row.problem.empty(); }

}  // namespace

ShelfRow shelf_row(const Fitting& fitting) {
  ShelfRow row;
  row.file = fitting.last.facts.file;
  row.verdict = fitting.assessment.verdict;
  row.allowance_mm = fitting.toe_room.allowance_mm.value_or(0.0);
  if (row.verdict == Verdict::none)
    row.problem = !fitting.registration.doubt_reason.empty() ? fitting.registration.doubt_reason
                  : fitting.assessment.findings.empty()      ? "no verdict could be given"
                                                             : fitting.assessment.findings.front().advice;
  double worst_mm = std::numeric_limits<double>::infinity();
  for (const ZoneVerdict& zone : fitting.assessment.zones)
    worst_mm = std::min(worst_mm, zone.clearance.p05_mm - zone.limit_mm - zone.clearance.doubt_mm);
  if (std::isfinite(worst_mm)) row.room_for_worst_mm = worst_mm;
  if (!fitting.assessment.findings.empty()) {
    const Finding& gravest = fitting.assessment.findings.front();
    row.reason = gravest.zone ? std::string(zone_name(*gravest.zone)) : gravest.rule;
    if (gravest.measured_mm) row.reason += fmt::format(" {:.1f} mm", *gravest.measured_mm);
  }
  return row;
}

void rank(std::vector<ShelfRow>& rows) {
  std::sort(rows.begin(), rows.end(), [](const ShelfRow& a, const ShelfRow& b) {
    return std::make_tuple(!judged(a), a.verdict, -a.room_for_worst_mm, a.file) <
           std::make_tuple(!judged(b), b.verdict, -b.room_for_worst_mm, b.file);
  });
}

std::string shelf_csv(const std::vector<ShelfRow>& rows) {
  std::string text = "rank,last,verdict,room_for_worst_mm,allowance_mm,reason\r\n";
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const ShelfRow& row = rows[i];
    const std::string numbers =
        judged(row) ? fmt::format("{:.2f},{:.1f}", row.room_for_worst_mm, row.allowance_mm) : ",";
    text += fmt::format("{},{},{},{},{}\r\n", i + 1, csv_field(row.file), verdict_name(row.verdict), numbers,
                        csv_field(judged(row) ? row.reason : row.problem));
  }
  return text;
}

std::string shelf_json(const std::vector<ShelfRow>& rows) {
  nlohmann::ordered_json lasts = nlohmann::ordered_json::array();
  for (const ShelfRow& row : rows) {
    nlohmann::ordered_json last = {{"last", row.file}, {"verdict", verdict_name(row.verdict)}};
    last["room_for_worst_mm"] = judged(row) ? nlohmann::ordered_json(row.room_for_worst_mm) : nlohmann::ordered_json();
    last["allowance_mm"] = judged(row) ? nlohmann::ordered_json(row.allowance_mm) : nlohmann::ordered_json();
    last["reason"] = judged(row) ? row.reason : row.problem;
    lasts.push_back(std::move(last));
  }
  const nlohmann::ordered_json shelf = {{"schema", "lastroom.shelf/1"}, {"lasts", std::move(lasts)}};
  return shelf.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

std::string shelf_html(const std::vector<ShelfRow>& rows, const std::string& scan_file) {
  pugi::xml_document page;
  page.append_child(pugi::node_doctype).set_value("html");
  pugi::xml_node html = page.append_child("html");
  html.append_attribute("lang") = "en";
  pugi::xml_node head = html.append_child("head");
  head.append_child("meta").append_attribute("charset") = "utf-8";
  pugi::xml_node viewport = head.append_child("meta");
  viewport.append_attribute("name") = "viewport";
  viewport.append_attribute("content") = "width=device-width, initial-scale=1";
  head.append_child("title").text() = "Lasts tried for one foot";
  head.append_child("style").text() =
      "body{font:1rem/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem;color:#1d2733}"
      "table{border-collapse:collapse;width:100%}th,td{text-align:left;padding:.4rem .6rem;border-bottom:1px solid "
      "#c9d1d9}"
      "td.number{text-align:right}";
  pugi::xml_node body = html.append_child("body");
  body.append_child("h1").text() = fmt::format("Lasts tried for {}", scan_file).c_str();
  body.append_child("p").text() =
      "Best first. The room is that of the zone that has least of it, counted from its limit, less its doubt. This "
      "compares shapes; a try-on decides, and feet at risk are checked by a podiatrist or orthotist.";
  pugi::xml_node table = body.append_child("table");
  pugi::xml_node header = table.append_child("thead").append_child("tr");
  for (const char* title : {"Rank", "Last", "Verdict", "Room for the worst zone, mm", "Allowance, mm", "Why"}) {
    pugi::xml_node cell = header.append_child("th");
    cell.append_attribute("scope") = "col";
    cell.text() = title;
  }
  pugi::xml_node lines = table.append_child("tbody");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const ShelfRow& row = rows[i];
    pugi::xml_node line = lines.append_child("tr");
    const auto cell = [&](const std::string& text) { line.append_child("td").text() = text.c_str(); };
    cell(std::to_string(i + 1));
    cell(row.file);
    cell(std::string(verdict_name(row.verdict)));
    cell(judged(row) ? fmt::format("{:.1f}", row.room_for_worst_mm) : "");
    cell(judged(row) ? fmt::format("{:.0f}", row.allowance_mm) : "");
    cell(judged(row) ? row.reason : row.problem);
  }
  std::ostringstream out;
  page.save(out, "", pugi::format_raw | pugi::format_no_declaration | pugi::format_no_empty_element_tags,
            pugi::encoding_utf8);
  return out.str();
}

}  // namespace lastroom
