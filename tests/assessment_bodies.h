#pragma once

#include "assessment/assess.h"
#include "geometry_shapes.h"

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

/// A foot in a last as plain values, with nothing to find fault with but the room between them.
struct Bench {
  Foot foot;
  Last last;
  FootMeasures foot_measures;
  LastMeasures last_measures;
  SkinMap skin;
  Registration registration;
  ClearanceField clearance;
  ToeRoom toe_room;
  SignedDistance surface;

  Evidence evidence() const {
    return {foot, last, foot_measures, last_measures, skin, registration, clearance, toe_room, surface};
  }
  Assessment judged(const AssessmentSettings& settings = {}) const {
    return assess(evidence(), default_rules(), settings);
  }
};

/// A ball foot in a ball last, all of its skin in one zone. Hinge and landmarks lie far in front.
inline Bench ball_bench(double foot_radius_mm, double last_radius_mm, Zone zone, double scan_error_mm,
                        const Vec3& last_middle = Vec3::Zero()) {
  Foot foot;
  foot.mesh = ball(foot_radius_mm);
  foot.landmarks.first_joint = {1000.0, 40.0, 0.0};
  foot.landmarks.fifth_joint = {1000.0, -40.0, 0.0};
  Last last;
  last.mesh = ball(last_radius_mm, last_middle);
  Registration registration;
  registration.converged = true;
  SignedDistance surface(last.mesh);
  FootMeasures foot_measures;
  foot_measures.length_mm = 250.0;
  ClearanceField clearance = clearance_between(foot, registration, foot_measures.length_mm, surface,
                                               {.sock_mm = 0.0, .scan_error_mm = scan_error_mm});
  SkinMap skin{std::vector<Zone>(foot.mesh.vertices.size(), zone),
               std::vector<std::uint8_t>(foot.mesh.vertices.size(), 0)};
  return {std::move(foot),   std::move(last), foot_measures,        {},
          std::move(skin),   registration,    std::move(clearance), {},
          std::move(surface)};
}

inline const Finding* finding_about(const Assessment& assessment, std::string_view rule) {
  for (const Finding& finding : assessment.findings)
    if (finding.rule == rule) return &finding;
  return nullptr;
}

}  // namespace lastroom::test
