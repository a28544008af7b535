#pragma once

#include <cmath>

#include "report/outputs.h"

namespace lastroom::test {

/// A closed, outward tube along x on the ground z = 0: at x its half width is size(x).x(), its height size(x).y() and
/// its middle lies at y = size(x).z().
template <class Size>
Mesh tube(double from_mm, double to_mm, int rings, int sides, Size size) {
  constexpr double kPi = 3.14159265358979323846;
  Mesh mesh;
  const auto place = [&](double x, double angle) {
    const Vec3 s = size(x);
    return Vec3(x, s.z() + s.x() * std::cos(angle), 0.5 * s.y() * (1.0 + std::sin(angle)));
  };
  const auto turn = [&](int k) { return 2.0 * kPi * k / sides; };
  for (int i = 0; i <= rings; ++i) {
    for (int k = 0; k < sides; ++k) mesh.vertices.push_back(place(from_mm + (to_mm - from_mm) * i / rings, turn(k)));
  }
  const auto at = [&](int i, int k) { return static_cast<std::uint32_t>(i * sides + k % sides); };
  for (int i = 0; i < rings; ++i) {
    for (int k = 0; k < sides; ++k) {
      mesh.triangles.push_back({at(i, k), at(i + 1, k), at(i, k + 1)});
      mesh.triangles.push_back({at(i, k + 1), at(i + 1, k), at(i + 1, k + 1)});
    }
  }
  for (const int end : {0, rings}) {
    const auto centre = static_cast<std::uint32_t>(mesh.vertices.size());
    const Vec3 s = size(end == 0 ? from_mm : to_mm);
    mesh.vertices.emplace_back(end == 0 ? from_mm : to_mm, s.z(), 0.5 * s.y());
    for (int k = 0; k < sides; ++k) {
      if (end == 0) mesh.triangles.push_back({centre, at(0, k), at(0, k + 1)});
      if (end != 0) mesh.triangles.push_back({centre, at(end, k + 1), at(end, k)});
    }
  }
  if (volume_mm3(mesh) < 0.0) {
    for (Triangle& t : mesh.triangles) std::swap(t[1], t[2]);
  }
  return mesh;
}

/// Half width, height and middle of a body `length_mm` long that is roughly foot-shaped, in mm.
inline Vec3 foot_like(double x_mm, double length_mm) {
  const double t = std::clamp(x_mm / length_mm, 0.0, 1.0);
  const double ends = std::sqrt(std::max(0.0, 1.0 - std::pow(2.0 * t - 1.0, 6.0)));
  const double half_width = ends * (31.0 + 18.0 * std::exp(-std::pow((t - 0.72) / 0.2, 2.0)));
  const double height = ends * (18.0 + 62.0 * std::exp(-std::pow((t - 0.25) / 0.3, 2.0)));
  return {half_width, height, 6.0 * std::sin(3.0 * t)};
}

inline void put_bodies(Fitting& f, Side side, int density) {
  f.foot.side = f.last.side = side;
  f.foot.mesh = tube(0.0, 260.0, 130 * density, 60 * density, [](double x) { return foot_like(x, 260.0); });
  f.last.mesh = tube(-2.0, 278.0, 100, 48, [](double x) {
    const double foot_x = x < 200.0 ? x : 200.0 + (x - 200.0) * 60.0 / 78.0;
    return Vec3(foot_like(foot_x, 260.0) + Vec3(2.0, 3.0, x > 200.0 ? 1.5 : 0.0));
  });
  f.foot.foot_from_scan.translation() = Vec3(5.0, -3.0, 2.0);
  f.foot.facts = {.file = "scan.stl",
                  .sha256 = std::string(64, 'b'),
                  .vertices = 7801,
                  .triangles = 15600,
                  .units = LengthUnit::millimetre,
                  .units_from = Told::by_guess,
                  .repairs = {own_text("12 repeated vertices were merged")}};
  f.last.facts = {.file = "last.obj",
                  .sha256 = std::string(64, 'c'),
                  .vertices = 4850,
                  .triangles = 9696,
                  .units = LengthUnit::centimetre,
                  .units_from = Told::by_option,
                  .repairs = {}};
}

inline void put_landmarks(Fitting& f) {
  FootLandmarks& marks = f.foot.landmarks;
  marks.heel = {0.0, 0.0, 20.0};
  marks.first_joint = {191.0, 52.0, 14.0};
  marks.fifth_joint = {166.0, -45.0, 10.0};
  marks.toe_tips = {Vec3(259, 18, 10), Vec3(256, 2, 9), Vec3(247, -14, 8), Vec3(237, -27, 7), Vec3(224, -38, 6)};
  f.last.first_joint = {191.0, 54.0, 14.0};
  f.last.fifth_joint = {166.0, -47.0, 10.0};
  f.last.tread = {178.0, 4.0, 0.0};
  f.last.toe_end = {278.0, 1.0, 8.0};
  f.last.heel_back = {-2.0, 0.0, 12.0};
  for (int k = 0; k < 120; ++k) {
    const bool out = k < 60;
    const double x = -2.0 + 280.0 * (out ? k : 119 - k) / 60.0;
    const Vec3 s = foot_like(std::min(x, 259.0), 260.0);
    f.last.feather_edge.emplace_back(x, s.z() + (out ? 0.8 : -0.8) * s.x(), 1.0);
  }
  for (int k = 0; k <= 140; ++k) f.last.centre_line.emplace_back(2.0 * k - 2.0, foot_like(2.0 * k, 260.0).z(), 0.0);
  f.last.bottom.assign(f.last.mesh.triangles.size(), 0);
}

inline void put_measures(Fitting& f) {
  f.foot_measures = {.length_mm = 260.0,
                     .joint_girth = {248.0, {}},
                     .waist_girth = {240.0, {}},
                     .instep_girth = {252.0, {}},
                     .joint_width_mm = 99.0,
                     .heel_width_mm = 66.0,
                     .heel_to_joint_mm = 191.0,
                     .heel_to_fifth_joint_mm = 166.0,
                     .big_toe_height_mm = 21.0,
                     .fifth_toe_height_mm = 15.0,
                     .instep_height_mm = 62.0,
                     .longest_toe = 1,
                     .outside_population = {},
                     .heel_girth = {331.0, {}}};
  f.last_measures = {.length_mm = 282.0,
                     .stick_length_mm = 280.0,
                     .joint_girth = {250.0, {}},
                     .waist_girth = {239.0, {}},
                     .instep_girth = {255.0, {}},
                     .joint_width_mm = 101.0,
                     .heel_width_mm = 68.0,
                     .heel_to_joint_mm = 190.0,
                     .heel_to_fifth_joint_mm = 165.0,
                     .heel_height_mm = 20.0,
                     .toe_spring_mm = 8.0,
                     .heel_girth = {336.0, {}}};
}

inline void put_registration(Registration& r) {
  r.converged = true;
  r.rear_rms_mm = 1.31;
  r.iterations = 9;
  r.position_sigma_mm = 0.6;
  r.angle_sigma_deg = 0.4;
  r.weakest = {"weakest.leaning"};
  r.hinge.point_mm = {178.0, 3.5, 16.0};
  r.hinge.axis = Vec3(-25.0, -97.0, 0.0).normalized();
  r.hinge.angle_deg = 3.0;
  r.residuals = {{Zone::heel_sides, 0.9, 0.1}, {Zone::instep, 1.4, -0.3}};
}

/// The zone of skin there; of a foot 260 mm long.
inline Zone sample_zone_at(const Vec3& p) {
  const double x = p.x(), y = p.y(), z = p.z();
  if (x < 60) return z < 6 ? Zone::seat : Zone::heel_sides;
  if (x < 130) return z < 8 ? Zone::arch : z > 40 ? Zone::instep : Zone::waist;
  if (x < 200)
    return z < 4 ? Zone::tread : y > 20 ? Zone::inside_joint : y < -20 ? Zone::outside_joint : Zone::joint_top;
  return z < 4 ? Zone::toe_pads : y > 20 ? Zone::big_toe_side : y < -20 ? Zone::fifth_toe_side : Zone::toe_tops;
}

/// 2 mm all round, growing to the toes; pressed at the fifth toe and at the first joint.
inline void put_field(Fitting& f) {
  ClearanceField& field = f.clearance;
  const std::size_t n = f.foot.mesh.vertices.size();
  field.skin_mm = f.foot.mesh.vertices;
  field.skin_normal = vertex_normals(f.foot.mesh);
  field.area_mm2 = vertex_areas_mm2(f.foot.mesh);
  field.sigma_mm.assign(n, 1.1);
  field.on_rim.assign(n, 0);
  f.skin.toe.assign(n, 0);
  for (std::size_t v = 0; v < n; ++v) {
    const Vec3& p = field.skin_mm[v];
    const double dent = 5.0 * std::exp(-(p - Vec3(222.0, -38.0, 10.0)).squaredNorm() / 300.0);
    const double press = 3.6 * std::exp(-(p - Vec3(191.0, 52.0, 14.0)).squaredNorm() / 500.0);
    field.clearance_mm.push_back(2.0 - dent - press + std::max(0.0, p.x() - 200.0) * 0.05);
    field.last_point_mm.push_back(p + field.clearance_mm.back() * field.skin_normal[v]);
    if (p.x() < 60 && p.z() > 70) field.on_rim[v] = 1;
    f.skin.zone.push_back(sample_zone_at(p));
  }
  f.toe_room = {.tip_mm = 11.4,
                .tip_sigma_mm = 1.2,
                .tip_at_mm = f.foot.landmarks.toe_tips[0],
                .usable_end_mm = {270.4, 10.0, 12.0},
                .headroom_mm = {5.1, 4.4, 3.0, 2.2, std::nullopt},
                .headroom_sigma_mm = {1.1, 1.1, 1.1, 1.1, 0.0},
                .headroom_at_mm = f.foot.landmarks.toe_tips,
                .allowance_mm = 19.0};
}

inline ZoneVerdict sample_zone(Zone zone, double p05_mm, Verdict verdict, double chance, const Vec3& at_mm) {
  return {.clearance = {.zone = zone,
                        .min_mm = p05_mm - 0.8,
                        .p05_mm = p05_mm,
                        .median_mm = p05_mm + 1.6,
                        .sigma_mm = 1.1,
                        .area_mm2 = 2400.0,
                        .at_mm = at_mm},
          .verdict = verdict,
          .undecided = chance > 0.2 && chance < 0.8,
          .limit_mm = zone == Zone::inside_joint ? -3.0 : 0.0,
          .chance_of_pinch = chance,
          .area_below_limit_mm2 = verdict == Verdict::pinch ? 240.0 : 0.0};
}

inline Rule sample_rule(Zone zone, const Limits& limits, const char* source) {
  Rule rule;
  rule.id = rule_of(zone);
  rule.standard = rule.at_risk = limits;
  rule.source = source;
  return rule;
}

inline void put_verdicts(Fitting& f) {
  f.rules.rules = {
      sample_rule(Zone::fifth_toe_side,
                  {.pinch_below_mm = 0, .watch_below_mm = 1, .slack_above_mm = {}, .watch_above_mm = {}},
                  "Contact is tolerated, pressure is not (common practice); the number is our choice."),
      sample_rule(Zone::inside_joint,
                  {.pinch_below_mm = -3, .watch_below_mm = -1.5, .slack_above_mm = 4.0, .watch_above_mm = {}},
                  "Some tightness is tolerated (common practice); the number is our choice.")};
  f.assessment.verdict = Verdict::pinch;
  f.assessment.zones = {sample_zone(Zone::heel_sides, 1.8, Verdict::clear, 0.0, {30, 30, 20}),
                        sample_zone(Zone::inside_joint, -1.6, Verdict::watch, 0.12, {191, 52, 14}),
                        sample_zone(Zone::fifth_toe_side, -2.3, Verdict::pinch, 0.97, {222, -38, 10}),
                        sample_zone(Zone::toe_tops, 2.9, Verdict::clear, 0.0, {240, 0, 18})};
  f.assessment.findings = {{.rule = rule_of(Zone::fifth_toe_side),
                            .verdict = Verdict::pinch,
                            .zone = Zone::fifth_toe_side,
                            .measured_mm = -2.3,
                            .limit_mm = 0.0,
                            .sigma_mm = 1.1,
                            .at_mm = Vec3(222, -38, 10),
                            .advice = own_text("Build up the last by 3.3 mm over the side of the fifth toe."),
                            .source = f.rules.rules[0].source},
                           {.rule = rule_of(Zone::inside_joint),
                            .verdict = Verdict::watch,
                            .zone = Zone::inside_joint,
                            .measured_mm = -1.6,
                            .limit_mm = -1.5,
                            .sigma_mm = 1.1,
                            .at_mm = Vec3(191, 52, 14),
                            .advice = own_text("Watch the inside joint when trying on."),
                            .source = f.rules.rules[1].source},
                           {.rule = RuleId::toe_room,
                            .verdict = Verdict::watch,
                            .zone = {},
                            .measured_mm = 11.4,
                            .limit_mm = 10.0,
                            .sigma_mm = 1.2,
                            .at_mm = {},
                            .advice = own_text("The length is near its least."),
                            .source = "IWGDF practical guideline on footwear (B1)",
                            .provenance = Provenance::published}};
}

inline void put_tightening(Tightening& t, const Mesh& last) {
  t.why = own_text("The side of the fifth toe is already below its limit.");
  for (const Vec3& p : last.vertices)
    t.freedom.push_back(p.x() > 262                  ? Freedom::free_to_style
                        : p.x() > 200                ? Freedom::never_press
                        : p.x() > 140 && p.z() > 8.0 ? Freedom::may_tighten
                                                     : Freedom::keep);
  t.area_mm2 = {9000, 21000, 15000, 7000};
}

/// The dent at the fifth toe built up; the rest as before.
inline void put_corrections(Fitting& f) {
  Corrections& c = f.assessment.corrections;
  c.changes.resize(1);
  Correction& change = c.changes.front();
  change.zone = Zone::fifth_toe_side;
  change.height_mm = 3.3;
  change.centre_mm = {222, -40, 10};
  change.place = {.along_mm = 224.0, .up_mm = 9.0, .across_mm = 22.0, .side_mm = 60.0};
  change.station = {Station::joint, 38.0};
  change.length_mm = 46.0;
  c.corrected_last = f.last;
  for (const Vec3& p : f.last.mesh.vertices)
    c.height_mm.push_back(3.3 * std::exp(-(p - change.centre_mm).squaredNorm() / 300.0));
  c.measures_after = f.last_measures;
  c.toe_room_after = f.toe_room;
  c.zones_after = f.assessment.zones;
  c.zones_after[2].verdict = Verdict::clear;
  c.zones_after[2].clearance.p05_mm = 1.0;
  c.verdict_after = Verdict::watch;
}

/// A fitting put together by hand from two foot-like tubes: the report is tested without the computing rooms. The last
/// leaves 2 mm all round and 18 mm in front, and is dented at the outside of the toes. `density` refines the skin.
inline Fitting sample_fitting(Side side = Side::right, int density = 1) {
  Fitting f;
  f.rules.name = "sample rules";
  f.rules.sha256 = std::string(64, 'a');
  f.settings.registration.sock_mm = 1.0;
  f.settings.assessment.wearer = Wearer::standard;
  put_bodies(f, side, density);
  put_landmarks(f);
  put_measures(f);
  put_registration(f.registration);
  put_field(f);
  put_verdicts(f);
  put_tightening(f.assessment.tightening, f.last.mesh);
  put_corrections(f);
  return f;
}

}  // namespace lastroom::test
