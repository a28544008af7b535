#include <cmath>
#include <nlohmann/json.hpp>

#include "preparation/landmark_names.h"
#include "report/message_json.h"
#include "report/outputs.h"
#include "report/tool_json.h"
#include "report/worn.h"

namespace lastroom {
namespace {

using Json = nlohmann::ordered_json;

/// Ten-thousandths of a millimetre: far below any scan's error, and the numbers stay readable. Not finite: null.
Json number(double value) {
  if (!std::isfinite(value)) return nullptr;
  return std::round(value * 1e4) / 1e4 + 0.0;  // + 0.0 turns -0 into 0
}
Json number(const std::optional<double>& value) { return value ? number(*value) : Json(nullptr); }
Json point(const Vec3& p) { return {number(p.x()), number(p.y()), number(p.z())}; }

Json matrix(const Motion& motion) {
  Json rows = Json::array();
  for (int r = 0; r < 4; ++r) {
    Json row = Json::array();
    for (int c = 0; c < 4; ++c) row.push_back(motion.matrix()(r, c) + 0.0);
    rows.push_back(row);
  }
  return rows;
}

std::string_view told_name(Told told) { return told == Told::by_option ? "option" : "guess"; }

Json input(const InputFacts& facts) {
  return {{"file", facts.file},
          {"sha256", facts.sha256},
          {"vertices", facts.vertices},
          {"triangles", facts.triangles},
          {"units", unit_name(facts.units)},
          {"units_from", told_name(facts.units_from)},
          {"repairs", sentences(facts.repairs)},
          {"repair_keys", message_json(facts.repairs)}};
}

/// The toes that were told apart, and those that run together as one entry.
Json toe_list(const FootLandmarks& marks) {
  Json list = Json::array();
  for (const ToeGroup& group : toe_groups(marks)) {
    Json missing = Json::array();
    for (std::size_t toe = group.first; toe <= group.last; ++toe)
      if (!marks.toe_there[toe]) missing.push_back(toe + 1);
    list.push_back({{"first", group.first + 1},
                    {"last", group.last + 1},
                    {"words", english(toe_message(group))},
                    {"words_key", message_json(toe_message(group))},
                    {"probability", number(group.probability)},
                    {"missing", missing}});
  }
  return list;
}

Json points_by_name(const WornLandmarks& marks) {
  Json json;
  const auto points = landmarks_by_name(marks);
  for (std::size_t i = 0; i < points.size(); ++i) json[std::string(kLandmarkNames[i])] = point(*points[i]);
  return json;
}

Json foot(const Fitting& fitting) {
  const FootMeasures& m = fitting.foot_measures;
  return {{"length_mm", number(m.length_mm)},
          {"joint_girth_mm", number(m.joint_girth.mm)},
          {"joint_width_mm", number(m.joint_width_mm)},
          {"instep_girth_mm", number(m.instep_girth.mm)},
          {"heel_width_mm", number(m.heel_width_mm)},
          {"heel_to_joint_mm", number(m.heel_to_joint_mm)},
          {"big_toe_height_mm", number(m.big_toe_height_mm)},
          {"landmarks", points_by_name(worn_landmarks(fitting))},
          {"waist_girth_mm", number(m.waist_girth.mm)},
          {"heel_girth_mm", number(m.heel_girth.mm)},
          {"heel_to_fifth_joint_mm", number(m.heel_to_fifth_joint_mm)},
          {"fifth_toe_height_mm", number(m.fifth_toe_height_mm)},
          {"instep_height_mm", number(m.instep_height_mm)},
          {"longest_toe", m.longest_toe},
          {"toes", toe_list(fitting.foot.landmarks)},
          {"joint_girth_uncertainty_mm", number(m.joint_girth_sigma_mm)},
          {"first_joint_uncertainty_mm", number(fitting.foot.landmarks.first_joint_sigma_mm)},
          {"fifth_joint_uncertainty_mm", number(fitting.foot.landmarks.fifth_joint_sigma_mm)},
          {"outside_population", sentences(m.outside_population)},
          {"outside_population_keys", message_json(m.outside_population)},
          {"likeness_mm", number(fitting.foot.likeness_mm)},
          {"chance_of_wrong_side", number(fitting.foot.chance_of_wrong_side)},
          {"sole_missing", fitting.foot.sole_missing}};
}

Json last(const Fitting& fitting) {
  const LastMeasures& m = fitting.last_measures;
  return {{"length_mm", number(m.length_mm)},
          {"joint_girth_mm", number(m.joint_girth.mm)},
          {"heel_height_mm", number(m.heel_height_mm)},
          {"toe_spring_mm", number(m.toe_spring_mm)},
          {"stick_length_mm", number(m.stick_length_mm)},
          {"joint_width_mm", number(m.joint_width_mm)},
          {"waist_girth_mm", number(m.waist_girth.mm)},
          {"instep_girth_mm", number(m.instep_girth.mm)},
          {"heel_girth_mm", number(m.heel_girth.mm)},
          {"heel_width_mm", number(m.heel_width_mm)},
          {"heel_to_joint_mm", number(m.heel_to_joint_mm)},
          {"heel_to_fifth_joint_mm", number(m.heel_to_fifth_joint_mm)},
          {"side", side_name(fitting.last.side)},
          {"chance_of_wrong_side", number(fitting.last.chance_of_wrong_side)},
          {"likeness_mm", number(fitting.last.likeness_mm)},
          {"open_at_top", fitting.last.open_at_top}};
}

Json registration(const Fitting& fitting) {
  const Registration& r = fitting.registration;
  const Side side = fitting.foot.side;
  Json residuals = Json::array();
  for (const ZoneResidual& residual : r.residuals) {
    residuals.push_back({{"zone", zone_name(residual.zone)},
                         {"rms_mm", number(residual.rms_mm)},
                         {"mean_mm", number(residual.mean_mm)}});
  }
  const Vec3 axis = axis_as_worn(side, r.hinge.axis);
  return {{"converged", r.converged},
          {"scan_to_last", matrix(as_worn(side, r.last_from_foot) * fitting.foot.foot_from_scan)},
          {"last_file_to_last", matrix(fitting.last.last_from_file)},
          {"flex",
           {{"point_mm", point(as_worn(side, r.hinge.point_mm))},
            {"axis", {axis.x() + 0.0, axis.y() + 0.0, axis.z() + 0.0}},
            {"angle_deg", number(r.hinge.angle_deg)}}},
          {"rear_rms_mm", number(r.rear_rms_mm)},
          {"uncertainty",
           {{"position_mm", number(r.position_sigma_mm)},
            {"angle_deg", number(r.angle_sigma_deg)},
            {"scan_mm", number(fitting.settings.registration.scan_error_mm)}}},
          {"iterations", r.iterations},
          {"weakest", english(r.weakest)},
          {"weakest_key", message_json(r.weakest)},
          {"doubt_reason", english(r.doubt_reason)},
          {"doubt_reason_key", message_json(r.doubt_reason)},
          {"residuals", residuals}};
}

/// How far the zone's toe, or the first to be stopped of its toes, could go forward.
std::optional<double> ahead_mm(Zone zone, const ToeRoom& room) {
  const std::size_t first = zone == Zone::big_toe_tip ? 0 : zone == Zone::middle_toes_tip ? 1 : 4;
  const std::size_t end = zone == Zone::middle_toes_tip ? 4 : first + 1;
  std::optional<double> least;
  for (std::size_t toe = first; toe < end; ++toe)
    if (room.ahead_mm[toe] && (!least || *room.ahead_mm[toe] < *least)) least = room.ahead_mm[toe];
  return least;
}

Json zones(const std::vector<ZoneVerdict>& verdicts, Side side, const ToeRoom* room = nullptr) {
  Json list = Json::array();
  for (const ZoneVerdict& z : verdicts) {
    list.push_back({{"zone", zone_name(z.clearance.zone)},
                    {"verdict", verdict_name(z.verdict)},
                    {"min_mm", number(z.clearance.min_mm)},
                    {"p05_mm", number(z.clearance.p05_mm)},
                    {"median_mm", number(z.clearance.median_mm)},
                    {"limit_mm", number(z.limit_mm)},
                    {"uncertainty_mm", number(z.clearance.sigma_mm)},
                    {"chance_of_pinch", number(z.chance_of_pinch)},
                    {"area_mm2", number(z.clearance.area_mm2)},
                    {"area_below_limit_mm2", number(z.area_below_limit_mm2)},
                    {"at_mm", point(as_worn(side, z.clearance.at_mm))},
                    {"undecided", z.undecided}});
    if (room && is_toe_end(z.clearance.zone)) list.back()["ahead_mm"] = number(ahead_mm(z.clearance.zone, *room));
  }
  return list;
}

Json toe_room(const ToeRoom& room) {
  const std::array<const char*, 5> names = {"big", "second", "third", "fourth", "fifth"};
  Json headroom = Json::object(), doubt = Json::object();
  for (std::size_t toe = 0; toe < names.size(); ++toe) {
    headroom[names[toe]] = number(room.headroom_mm[toe]);
    doubt[names[toe]] = room.headroom_mm[toe] ? number(room.headroom_sigma_mm[toe]) : Json(nullptr);
  }
  return {{"tip_mm", number(room.tip_mm)},
          {"headroom_mm", headroom},
          {"allowance_mm", number(room.allowance_mm)},
          {"tip_uncertainty_mm", room.tip_mm ? number(room.tip_sigma_mm) : Json(nullptr)},
          {"headroom_uncertainty_mm", doubt}};
}

Json tightening(const Tightening& t) {
  Json effects = Json::array(), regions = Json::array();
  for (const Tightening::Effect& e : t.effects) {
    effects.push_back(
        {{"zone", zone_name(e.zone)}, {"before_mm", number(e.before_mm)}, {"after_mm", number(e.after_mm)}});
  }
  for (std::uint8_t f = 0; f < t.area_mm2.size(); ++f) {
    regions.push_back({{"class", freedom_name(static_cast<Freedom>(f))}, {"area_mm2", number(t.area_mm2[f])}});
  }
  Json gaps = Json::array();
  for (const Tightening::ToeGap& gap : t.toe_gaps)
    gaps.push_back({{"between", gap.toe == 1 ? Json{"big", "second"} : Json{"fourth", "fifth"}},
                    {"before_mm", number(gap.before_mm)},
                    {"after_mm", number(gap.after_mm)}});
  return {{"joint_girth_mm", number(t.joint_girth_mm)},
          {"why", english(t.why)},

          {"effects", effects},
          {"regions", regions},
          {"inside_mm", number(t.inside_mm)},
          {"outside_mm", number(t.outside_mm)},
          {"side_uncertainty_mm", number(t.sigma_mm)},
          {"toe_gaps", gaps},
          {"why_key", message_json(t.why)}};
}

Json findings(const std::vector<Finding>& all, Side side) {
  Json list = Json::array();
  for (const Finding& f : all) {
    list.push_back({{"rule", rule_name(f.rule)},
                    {"verdict", verdict_name(f.verdict)},
                    {"zone", f.zone ? Json(zone_name(*f.zone)) : Json(nullptr)},
                    {"measured_mm", number(f.measured_mm)},
                    {"limit_mm", number(f.limit_mm)},
                    {"uncertainty_mm", number(f.sigma_mm)},
                    {"at_mm", f.at_mm ? point(as_worn(side, *f.at_mm)) : Json(nullptr)},
                    {"advice", english(f.advice)},

                    {"source", f.source},
                    {"provenance", provenance_name(f.provenance)},
                    {"advice_key", message_json(f.advice)}});
  }
  return list;
}

Json corrections(const Corrections& c, Side side) {
  Json changes = Json::array();
  for (const Correction& change : c.changes) {
    changes.push_back({{"operation", operation_name(change.operation)},
                       {"zone", zone_name(change.zone)},
                       {"height_mm", number(change.height_mm)},
                       {"centre_mm", point(as_worn(side, change.centre_mm))},
                       {"from_heel_mm", number(change.place.along_mm)},
                       {"above_feather_edge_mm", number(change.place.up_mm)},
                       {"on_bottom", change.place.on_bottom},
                       {"station", station_name(change.station.station)},
                       {"before_station_mm", number(change.station.before_mm)},
                       {"length_mm", number(change.length_mm)},
                       {"width_mm", number(change.place.across_mm)},
                       {"inside", change.place.inside}});
  }
  Json lacking = Json::array();
  for (const Lacking& lack : c.lacking)
    lacking.push_back({{"rule", rule_name(lack.rule)},
                       {"zone", lack.zone ? Json(zone_name(*lack.zone)) : Json()},
                       {"mm", number(lack.mm)}});
  return {{"changes", changes},
          {"another_last_lacking", lacking},
          {"verdict_after", verdict_name(c.verdict_after)},
          {"zones_after", zones(c.zones_after, side)}};
}

Json seconds(const Timing& timing) {
  constexpr std::array<const char*, kStageCount> kKeys = {"read",      "prepare", "register",
                                                          "clearance", "assess",  "report"};
  Json result;
  for (std::size_t i = 0; i < kStageCount; ++i) result[kKeys[i]] = number(timing.stage_s[i]);
  result["total"] = number(timing.total_s);
  return result;
}

/// A day in the shoe; null where it was not judged.
Json day(const std::optional<Day>& judged, Side side) {
  if (!judged) return nullptr;
  Json times = Json::array();
  for (const FootAtATime& at : judged->times) {
    times.push_back({{"swelling_ratio", number(at.swelling_ratio)},
                     {"sock_mm", number(at.sock_mm)},
                     {"grown_mm", number(at.grown_mm)},
                     {"verdict", verdict_name(at.verdict)},
                     {"worst", at.worst ? findings({*at.worst}, side).front() : Json(nullptr)}});
  }
  return {{"sentence", english(judged->sentence)}, {"times", times}, {"sentence_key", message_json(judged->sentence)}};
}

}  // namespace

std::string result_json(const Fitting& fitting, const Timing& timing) {
  const Side side = fitting.foot.side;
  const AssessmentSettings& settings = fitting.settings.assessment;
  const Json result = {{"schema", "lastroom.result/1"},
                       {"tool", tool_json(fitting.rules)},
                       {"inputs", {{"scan", input(fitting.foot.facts)}, {"last", input(fitting.last.facts)}}},
                       {"wearer", wearer_name(settings.wearer)},
                       {"side", side_name(side)},
                       {"side_from", told_name(fitting.foot.side_from)},
                       {"sock_mm", number(fitting.settings.registration.sock_mm)},
                       {"foot", foot(fitting)},
                       {"last", last(fitting)},
                       {"registration", registration(fitting)},
                       {"zones", zones(fitting.assessment.zones, side, &fitting.toe_room)},
                       {"toe_room", toe_room(fitting.toe_room)},
                       {"tightening", tightening(fitting.assessment.tightening)},
                       {"findings", findings(fitting.assessment.findings, side)},
                       {"verdict", verdict_name(fitting.assessment.verdict)},
                       {"timing_s", seconds(timing)},
                       {"corrections", corrections(fitting.assessment.corrections, side)},
                       {"taped_joint_girth_mm", number(settings.tape_joint_mm)},
                       {"day", day(fitting.day, side)}};
  // File names may hold any bytes; what is not UTF-8 becomes U+FFFD, so that the JSON stays strict.
  return result.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lastroom
