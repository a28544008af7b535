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

/// A fitting put together by hand from two foot-like tubes: the report is tested without the computing rooms. The last
/// leaves 2 mm all round and 18 mm in front, and is dented at the outside of the toes. `density` refines the skin.
inline Fitting sample_fitting(Side side = Side::right, int density = 1) {
  Fitting f;
  f.rules.name = "sample rules";
  f.rules.sha256 = std::string(64, 'a');
  f.settings.registration.sock_mm = 1.0;
  f.settings.assessment.wearer = Wearer::standard;
  f.foot.side = f.last.side = side;
  f.foot.mesh = tube(0.0, 260.0, 130 * density, 60 * density, [](double x) { return foot_like(x, 260.0); });
  f.last.mesh = tube(-2.0, 278.0, 100, 48, [](double x) {
    const double foot_x = x < 200.0 ? x : 200.0 + (x - 200.0) * 60.0 / 78.0;
    return Vec3(foot_like(foot_x, 260.0) + Vec3(2.0, 3.0, x > 200.0 ? 1.5 : 0.0));
  });
  f.foot.foot_from_scan.translation() = Vec3(5.0, -3.0, 2.0);
  f.foot.facts = {"scan.stl",
                  std::string(64, 'b'),
                  7801,
                  15600,
                  LengthUnit::millimetre,
                  Told::by_guess,
                  {own_text("12 repeated vertices were merged")}};
  f.last.facts = {"last.obj", std::string(64, 'c'), 4850, 9696, LengthUnit::centimetre, Told::by_option, {}};

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

  f.foot_measures = {260.0, {248.0, {}}, {240.0, {}}, {252.0, {}}, 99.0, 66.0, 191.0,
                     166.0, 21.0,        15.0,        62.0,        1,    {},   {331.0, {}}};
  f.last_measures = {282.0, 280.0, {250.0, {}}, {239.0, {}}, {255.0, {}}, 101.0,
                     68.0,  190.0, 165.0,       20.0,        8.0,         {336.0, {}}};
  f.registration.converged = true;
  f.registration.rear_rms_mm = 1.31;
  f.registration.iterations = 9;
  f.registration.position_sigma_mm = 0.6;
  f.registration.angle_sigma_deg = 0.4;
  f.registration.weakest = {"weakest.leaning"};
  f.registration.hinge.point_mm = {178.0, 3.5, 16.0};
  f.registration.hinge.axis = Vec3(-25.0, -97.0, 0.0).normalized();
  f.registration.hinge.angle_deg = 3.0;
  f.registration.residuals = {{Zone::heel_sides, 0.9, 0.1}, {Zone::instep, 1.4, -0.3}};

  ClearanceField& field = f.clearance;
  const std::size_t n = f.foot.mesh.vertices.size();
  field.skin_mm = f.foot.mesh.vertices;
  field.skin_normal = vertex_normals(f.foot.mesh);
  field.area_mm2 = vertex_areas_mm2(f.foot.mesh);
  field.sigma_mm.assign(n, 1.1);
  field.on_rim.assign(n, 0);
  f.skin.zone.assign(n, Zone::none);
  f.skin.toe.assign(n, 0);
  for (std::size_t v = 0; v < n; ++v) {
    const Vec3& p = field.skin_mm[v];
    const double dent = 5.0 * std::exp(-(p - Vec3(222.0, -38.0, 10.0)).squaredNorm() / 300.0);
    const double press = 3.6 * std::exp(-(p - Vec3(191.0, 52.0, 14.0)).squaredNorm() / 500.0);
    field.clearance_mm.push_back(2.0 - dent - press + std::max(0.0, p.x() - 200.0) * 0.05);
    field.last_point_mm.push_back(p + field.clearance_mm.back() * field.skin_normal[v]);
    const double x = p.x(), z = p.z(), y = p.y();
    Zone zone = Zone::none;
    if (x < 60) zone = z < 6 ? Zone::seat : Zone::heel_sides;
    if (x >= 60 && x < 130) zone = z < 8 ? Zone::arch : z > 40 ? Zone::instep : Zone::waist;
    if (x >= 130 && x < 200)
      zone = z < 4 ? Zone::tread : y > 20 ? Zone::inside_joint : y < -20 ? Zone::outside_joint : Zone::joint_top;
    if (x >= 200)
      zone = z < 4 ? Zone::toe_pads : y > 20 ? Zone::big_toe_side : y < -20 ? Zone::fifth_toe_side : Zone::toe_tops;
    if (x < 60 && z > 70) field.on_rim[v] = 1;
    f.skin.zone[v] = zone;
  }
  f.toe_room = {11.4,
                1.2,
                marks.toe_tips[0],
                {270.4, 10.0, 12.0},
                {5.1, 4.4, 3.0, 2.2, std::nullopt},
                {1.1, 1.1, 1.1, 1.1, 0.0},
                marks.toe_tips,
                19.0};

  const auto zone_verdict = [](Zone zone, double p05, Verdict verdict, double chance, Vec3 at) {
    ZoneVerdict z;
    z.clearance = {zone, p05 - 0.8, p05, p05 + 1.6, 1.1, 2400.0, at};
    z.verdict = verdict;
    z.undecided = chance > 0.2 && chance < 0.8;
    z.limit_mm = zone == Zone::inside_joint ? -3.0 : 0.0;
    z.chance_of_pinch = chance;
    z.area_below_limit_mm2 = verdict == Verdict::pinch ? 240.0 : 0.0;
    return z;
  };
  f.assessment.verdict = Verdict::pinch;
  f.assessment.zones = {zone_verdict(Zone::heel_sides, 1.8, Verdict::clear, 0.0, {30, 30, 20}),
                        zone_verdict(Zone::inside_joint, -1.6, Verdict::watch, 0.12, {191, 52, 14}),
                        zone_verdict(Zone::fifth_toe_side, -2.3, Verdict::pinch, 0.97, {222, -38, 10}),
                        zone_verdict(Zone::toe_tops, 2.9, Verdict::clear, 0.0, {240, 0, 18})};
  const auto rule = [](Zone zone, Limits standard, const char* source) {
    Rule r;
    r.id = rule_of(zone);
    r.standard = r.at_risk = standard;
    r.source = source;
    return r;
  };
  f.rules.rules = {rule(Zone::fifth_toe_side, {0, 1, {}, {}},
                        "Contact is tolerated, pressure is not (common practice); the number is our choice."),
                   rule(Zone::inside_joint, {-3, -1.5, 4.0, {}},
                        "Some tightness is tolerated (common practice); the number is our choice.")};
  Finding toe;
  toe = {rule_of(Zone::fifth_toe_side),
         Verdict::pinch,
         Zone::fifth_toe_side,
         -2.3,
         0.0,
         1.1,
         Vec3(222, -38, 10),
         own_text("Build up the last by 3.3 mm over the side of the fifth toe."),
         f.rules.rules[0].source,
         Provenance::our_choice};
  Finding joint = {rule_of(Zone::inside_joint),
                   Verdict::watch,
                   Zone::inside_joint,
                   -1.6,
                   -1.5,
                   1.1,
                   Vec3(191, 52, 14),
                   own_text("Watch the inside joint when trying on."),
                   f.rules.rules[1].source,
                   Provenance::our_choice};
  Finding room = {RuleId::toe_room,
                  Verdict::watch,
                  std::nullopt,
                  11.4,
                  10.0,
                  1.2,
                  std::nullopt,
                  own_text("The length is near its least."),
                  "IWGDF practical guideline on footwear (B1)",
                  Provenance::published};
  f.assessment.findings = {toe, joint, room};
  f.assessment.tightening.why = own_text("The side of the fifth toe is already below its limit.");
  f.assessment.tightening.freedom.assign(f.last.mesh.vertices.size(), Freedom::keep);
  for (std::size_t v = 0; v < f.last.mesh.vertices.size(); ++v) {
    const Vec3& p = f.last.mesh.vertices[v];
    if (p.x() > 262)
      f.assessment.tightening.freedom[v] = Freedom::free_to_style;
    else if (p.x() > 200)
      f.assessment.tightening.freedom[v] = Freedom::never_press;
    else if (p.x() > 140 && p.z() > 8)
      f.assessment.tightening.freedom[v] = Freedom::may_tighten;
  }
  f.assessment.tightening.area_mm2 = {9000, 21000, 15000, 7000};
  Correction change;
  change.zone = Zone::fifth_toe_side;
  change.height_mm = 3.3;
  change.centre_mm = {222, -40, 10};
  change.place = {.along_mm = 224.0, .up_mm = 9.0, .across_mm = 22.0, .side_mm = 60.0};
  change.station = {Station::joint, 38.0};
  change.length_mm = 46.0;
  f.assessment.corrections.changes = {change};
  f.assessment.corrections.corrected_last = f.last;
  for (const Vec3& p : f.last.mesh.vertices)
    f.assessment.corrections.height_mm.push_back(3.3 * std::exp(-(p - change.centre_mm).squaredNorm() / 300.0));
  f.assessment.corrections.measures_after = f.last_measures;
  f.assessment.corrections.toe_room_after = f.toe_room;
  f.assessment.corrections.zones_after = f.assessment.zones;
  f.assessment.corrections.zones_after[2].verdict = Verdict::clear;
  f.assessment.corrections.zones_after[2].clearance.p05_mm = 1.0;
  f.assessment.corrections.verdict_after = Verdict::watch;
  return f;
}

}  // namespace lastroom::test
