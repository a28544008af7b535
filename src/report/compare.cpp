#include "report/compare.h"

#include <cmath>
#include <nlohmann/json.hpp>

#include "error.h"
#include "geometry/signed_distance.h"
#include "report/text.h"

namespace lastroom {
namespace {

using Json = nlohmann::ordered_json;

constexpr double kSamePlace_mm = 12.0;  // further apart than this two skins don't show the same place
constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

Json number(double value) { return std::isfinite(value) ? Json(std::round(value * 1e4) / 1e4 + 0.0) : Json(); }
Json number(const std::optional<double>& value) { return value ? number(*value) : Json(); }

std::optional<double> optional_number(const nlohmann::json& value) {
  return value.is_number() ? std::optional<double>(value.get<double>()) : std::nullopt;
}

Verdict verdict_named(const std::string& name) {
  for (const Verdict v : {Verdict::clear, Verdict::slack, Verdict::watch, Verdict::pinch})
    if (verdict_name(v) == name) return v;
  return Verdict::none;
}

Wearer wearer_named(const std::string& name) {
  for (const Wearer w : {Wearer::standard, Wearer::at_risk})
    if (wearer_name(w) == name) return w;
  return Wearer::unknown;
}

/// The file's word counts for nothing: its rules are built in when they are this program's.
RulesHead rules_of(const nlohmann::json& tool) {
  static const std::string built_in_sha256 = default_rules().sha256;
  RulesHead rules;
  rules.name = tool.at("rules");
  rules.sha256 = tool.at("rules_sha256");
  rules.built_in = rules.sha256 == built_in_sha256;
  if (tool.contains("rules_file") && tool.at("rules_file").is_string()) rules.file = tool.at("rules_file");
  rules.limits = tool.value("limits", std::size_t{0});
  rules.loosened = tool.value("limits_loosened", std::size_t{0});
  return rules;
}

Comparison::One one_of(const nlohmann::json& result, FittedResult& read) {
  Comparison::One one;
  one.name = read.name;
  one.scan_file = result.at("inputs").at("scan").at("file");
  one.scan_sha256 = result.at("inputs").at("scan").at("sha256");
  one.last_file = result.at("inputs").at("last").at("file");
  one.last_sha256 = result.at("inputs").at("last").at("sha256");
  one.side = result.at("side") == "left" ? Side::left : Side::right;
  one.wearer = wearer_named(result.at("wearer"));
  one.verdict = verdict_named(result.at("verdict"));
  one.rules = rules_of(result.at("tool"));
  const nlohmann::json& uncertainty = result.at("registration").at("uncertainty");
  if (uncertainty.contains("scan_mm")) one.scan_error_mm = optional_number(uncertainty.at("scan_mm")).value_or(0.0);
  if (result.contains("sock_mm")) one.sock_mm = optional_number(result.at("sock_mm"));
  one.skin = std::move(read.skin);
  return one;
}

void take_zones(std::vector<ZonePair>& zones, const nlohmann::json& result, std::size_t which) {
  for (const nlohmann::json& zone : result.at("zones")) {
    const Zone named = zone_named(zone.at("zone").get<std::string>());
    zones[static_cast<std::size_t>(named)].of[which] = ZonePair::Of{
        verdict_named(zone.at("verdict")), zone.at("p05_mm"), zone.at("limit_mm"), zone.at("uncertainty_mm")};
  }
}

/// What changed by no more than the doubt of the change is the same, though a verdict near its limit may tip. Else the
/// verdict decides; where it is the same, or by other limits, the room.
ZoneChange change_of(const ZonePair& zone, bool same_rules) {
  if (!zone.difference_mm) return ZoneChange::same;
  if (std::abs(*zone.difference_mm) <= zone.sigma_mm) return ZoneChange::same;
  const Verdict before = zone.of[0]->verdict, after = zone.of[1]->verdict;
  if (same_rules && before != after) return after < before ? ZoneChange::better : ZoneChange::worse;
  return *zone.difference_mm > 0.0 ? ZoneChange::roomier : ZoneChange::tighter;
}

void judge_change(ZonePair& zone, const Comparison& c) {
  if (!zone.of[0] || !zone.of[1]) return;
  zone.difference_mm = zone.of[1]->p05_mm - zone.of[0]->p05_mm;
  // One scan in two lasts: its own error is in both and falls out; where it stands does not.
  double variance_mm2 = 0.0;
  for (std::size_t k = 0; k < 2; ++k) {
    const double scan_mm = c.same_scan ? c.results[k].scan_error_mm : 0.0;
    variance_mm2 += std::max(0.0, zone.of[k]->sigma_mm * zone.of[k]->sigma_mm - scan_mm * scan_mm);
  }
  zone.sigma_mm = std::sqrt(variance_mm2);
  zone.change = change_of(zone, c.same_rules);
}

constexpr std::array<std::array<const char*, 3>, 6> kMeasures = {{{"toe_room_mm", "toe_room", "tip_mm"},
                                                                  {"allowance_mm", "toe_room", "allowance_mm"},
                                                                  {"foot_joint_girth_mm", "foot", "joint_girth_mm"},
                                                                  {"last_joint_girth_mm", "last", "joint_girth_mm"},
                                                                  {"last_length_mm", "last", "length_mm"},
                                                                  {"heel_height_mm", "last", "heel_height_mm"}}};

void take_measures(std::vector<MeasurePair>& measures, const nlohmann::json& result, std::size_t i) {
  for (std::size_t m = 0; m < kMeasures.size(); ++m) {
    const auto& [name, part, key] = kMeasures[m];
    // Without a verdict, where the toes stand in the last is not known.
    if (std::string_view(part) == "toe_room" && result.at("verdict") == "none") continue;
    measures[m].mm[i] = optional_number(result.at(part).at(key));
  }
}

/// The first result's clearance at every vertex of the second skin: the same vertex where it is the same scan, else
/// the nearest place of the skin as both stand in their lasts, mirrored where they are of different sides.
std::vector<double> first_at_second(const Comparison& c) {
  const ClearanceMesh &first = c.results[0].skin, &second = c.results[1].skin;
  if (c.same_scan && first.mesh.triangles == second.mesh.triangles) return first.clearance_mm;
  const Mesh moved = c.results[0].side == c.results[1].side ? first.mesh : mirrored_y(first.mesh);
  const auto surface = SignedDistance::looking_at(moved);
  std::vector<double> values;
  for (const SurfacePoint& nearest : surface.at(second.mesh.vertices)) {
    double weight = 0.0, sum = 0.0;  // a corner counts by its nearness
    for (const std::uint32_t corner : moved.triangles[nearest.triangle]) {
      const double near = 1.0 / (1e-3 + (moved.vertices[corner] - nearest.point_mm).norm());
      weight += near;
      sum += near * first.clearance_mm[corner];
    }
    values.push_back(std::abs(nearest.distance_mm) <= kSamePlace_mm ? sum / weight : kUnknown);
  }
  return values;
}

Json as_json(const Comparison::One& one) {
  return {{"result", plain_text(one.name)},
          {"scan", {{"file", plain_text(one.scan_file)}, {"sha256", one.scan_sha256}}},
          {"last", {{"file", plain_text(one.last_file)}, {"sha256", one.last_sha256}}},
          {"side", side_name(one.side)},
          {"wearer", wearer_name(one.wearer)},
          {"verdict", verdict_name(one.verdict)},
          {"rules", plain_text(one.rules.name)},
          {"rules_built_in", one.rules.built_in},
          {"sock_mm", number(one.sock_mm)}};
}

Json as_json(const std::optional<ZonePair::Of>& of) {
  if (!of) return nullptr;
  return {{"verdict", verdict_name(of->verdict)},
          {"p05_mm", number(of->p05_mm)},
          {"limit_mm", number(of->limit_mm)},
          {"uncertainty_mm", number(of->sigma_mm)}};
}

}  // namespace

std::string_view change_name(ZoneChange change) {
  constexpr std::array<std::string_view, 5> kNames = {"better", "worse", "roomier", "tighter", "same"};
  return kNames[static_cast<std::size_t>(change)];
}

Comparison compare(FittedResult first, FittedResult second) {
  Comparison c;
  std::array<FittedResult*, 2> read = {&first, &second};
  std::array<nlohmann::json, 2> results;
  c.zones.resize(kZoneCount);
  for (std::size_t z = 0; z < kZoneCount; ++z) c.zones[z].zone = static_cast<Zone>(z);
  for (const auto& measure : kMeasures) c.measures.push_back({measure[0], {}});
  std::array<nlohmann::json, 2> rules_sha256;
  for (std::size_t i = 0; i < 2; ++i) {
    const std::string sentence =
        read[i]->name +
        ": its result.json is not one of lastroom's (lastroom.result/1); make it again with: lastroom check";
    try {
      results[i] = nlohmann::json::parse(read[i]->json);
      if (results[i].at("schema") != "lastroom.result/1") throw InputError(sentence);
      c.results[i] = one_of(results[i], *read[i]);
      take_zones(c.zones, results[i], i);
      take_measures(c.measures, results[i], i);
      rules_sha256[i] = results[i].at("tool").at("rules_sha256");
    } catch (const nlohmann::json::exception&) {
      throw InputError(sentence);
    } catch (const std::invalid_argument&) {  // a zone that we don't know
      throw InputError(sentence);
    }
  }
  c.same_scan = c.results[0].scan_sha256 == c.results[1].scan_sha256;
  c.same_rules = rules_sha256[0] == rules_sha256[1] && c.results[0].wearer == c.results[1].wearer;
  for (ZonePair& zone : c.zones) judge_change(zone, c);
  std::erase_if(c.zones, [](const ZonePair& zone) { return !zone.of[0] && !zone.of[1]; });
  if (!c.both_judged()) {
    c.difference_mm.assign(c.results[1].skin.clearance_mm.size(), kUnknown);
    return c;
  }
  c.difference_mm = first_at_second(c);
  for (std::size_t v = 0; v < c.difference_mm.size(); ++v)
    c.difference_mm[v] = c.results[1].skin.clearance_mm[v] - c.difference_mm[v];
  return c;
}

std::string compare_json(const Comparison& c) {
  Json zones = Json::array(), measures = Json::object();
  for (const ZonePair& zone : c.zones)
    zones.push_back({{"zone", zone_name(zone.zone)},
                     {"a", as_json(zone.of[0])},
                     {"b", as_json(zone.of[1])},
                     {"difference_mm", number(zone.difference_mm)},
                     {"uncertainty_mm", zone.difference_mm ? number(zone.sigma_mm) : Json()},
                     {"change", zone.difference_mm ? Json(change_name(zone.change)) : Json()}});
  for (const MeasurePair& measure : c.measures)
    measures[measure.name] = {{"a", number(measure.mm[0])}, {"b", number(measure.mm[1])}};
  const Json comparison = {{"schema", "lastroom.compare/1"}, {"a", as_json(c.results[0])}, {"b", as_json(c.results[1])},
                           {"same_scan", c.same_scan},       {"same_rules", c.same_rules}, {"zones", std::move(zones)},
                           {"measures", std::move(measures)}};
  return comparison.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lastroom
