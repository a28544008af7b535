#pragma once

#include "geometry_shapes.h"
#include "stand.h"

namespace lastroom::test {

constexpr std::uint32_t kBallFrequency = 24;

/// How far a geodesic ball's flat triangles lie inside it (see clearance_test.cpp).
inline double ball_sag_mm(double radius_mm) {
  return radius_mm * (1.0 - std::cos(1.2 * 1.1071 / kBallFrequency / std::sqrt(3.0)));
}

inline Mesh ball(double radius_mm, const Vec3& middle = Vec3::Zero()) {
  Mesh mesh = geodesic_ball(kBallFrequency);
  for (Vec3& v : mesh.vertices) v = radius_mm * v + middle;
  return mesh;
}

/// A ball foot in a ball last, all of its skin in one zone: nothing to find fault with but the room between them. Hinge
/// and landmarks lie far in front.
inline Stand ball_bench(double foot_radius_mm, double last_radius_mm, Zone zone, double scan_error_mm,
                        const Vec3& last_middle = Vec3::Zero()) {
  Foot foot;
  foot.mesh = ball(foot_radius_mm);
  foot.landmarks.first_joint = {1000.0, 40.0, 0.0};
  foot.landmarks.fifth_joint = {1000.0, -40.0, 0.0};
  foot.landmarks.toe_tips[1] = {250.0, 0.0, 0.0};
  Last last;
  last.mesh = ball(last_radius_mm, last_middle);
  Registration registration;
  registration.converged = true;
  FootMeasures foot_measures;
  foot_measures.length_mm = 250.0;
  SkinMap skin{std::vector<Zone>(foot.mesh.vertices.size(), zone),
               std::vector<std::uint8_t>(foot.mesh.vertices.size(), 0)};
  return stood(std::move(foot), foot_measures, std::move(skin), std::move(last), {}, registration,
               {.sock_mm = 0.0, .scan_error_mm = scan_error_mm});
}

constexpr double kLastRadius = 60.0;

/// Nothing presses: 2 to 3 mm of room satisfy every zone's limits for a standard wearer.
inline Stand roomy() { return ball_bench(kLastRadius - 2.5, kLastRadius, Zone::instep, 0.0); }

inline const Finding* finding_about(const Assessment& assessment, std::string_view rule) {
  for (const Finding& finding : assessment.findings)
    if (rule_name(finding.rule) == rule) return &finding;
  return nullptr;
}

}  // namespace lastroom::test
