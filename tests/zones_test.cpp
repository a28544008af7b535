#include "zones/zones.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "made.h"
#include "zones/skin_normals.h"

namespace lastroom {
namespace {

const MadeFoot& usual_foot() {
  static const MadeFoot foot = make_foot({});
  return foot;
}

std::array<double, kZoneCount + 1> zone_areas_mm2(const Foot& foot, const SkinMap& map) {
  const std::vector<double> areas = vertex_areas_mm2(foot.mesh);
  std::array<double, kZoneCount + 1> sums = {};
  for (std::size_t i = 0; i < areas.size(); ++i) sums[static_cast<std::size_t>(map.zone[i])] += areas[i];
  return sums;
}

std::size_t nearest_vertex(const Mesh& mesh, const Vec3& point) {
  const auto nearer = [&](const Vec3& a, const Vec3& b) { return (a - point).norm() < (b - point).norm(); };
  return static_cast<std::size_t>(std::min_element(mesh.vertices.begin(), mesh.vertices.end(), nearer) -
                                  mesh.vertices.begin());
}

}  // namespace

TEST_CASE("zone names are the contract's, in its order") {
  CHECK(zone_name(Zone::heel_back) == "heel_back");
  CHECK(zone_name(Zone::toe_pads) == "toe_pads");
  for (std::size_t i = 0; i < kZoneCount; ++i) {
    const auto zone = static_cast<Zone>(i);
    CHECK(zone_named(zone_name(zone)) == zone);
  }
  CHECK_THROWS_AS(zone_named("ball"), std::invalid_argument);
}

TEST_CASE("every zone of a foot has skin, and each landmark lies in the zone it is named for") {
  const Foot foot = test::prepared(usual_foot());
  const SkinMap map = map_skin(foot);
  REQUIRE(map.zone.size() == foot.mesh.vertices.size());
  const auto areas = zone_areas_mm2(foot, map);
  for (std::size_t i = 0; i < kZoneCount; ++i) {
    CAPTURE(zone_name(static_cast<Zone>(i)));
    CHECK(areas[i] > 50.0);  // half a thumbnail: less could not be judged
  }
  const auto zone_at = [&](const Vec3& p) { return map.zone[nearest_vertex(foot.mesh, p)]; };
  CHECK(zone_at(foot.landmarks.heel) == Zone::heel_back);
  CHECK(zone_at(foot.landmarks.first_joint) == Zone::inside_joint);
  CHECK(zone_at(foot.landmarks.fifth_joint) == Zone::outside_joint);
  CHECK(zone_at(foot.landmarks.toe_tips[0]) == Zone::big_toe_tip);
  for (std::size_t toe : {1u, 2u, 3u}) CHECK(zone_at(foot.landmarks.toe_tips[toe]) == Zone::middle_toes_tip);
  CHECK(zone_at(foot.landmarks.toe_tips[4]) == Zone::fifth_toe_tip);
}

TEST_CASE("skin lies where its zone says: bottom below, leg nowhere") {
  const Foot foot = test::prepared(usual_foot());
  const SkinMap map = map_skin(foot);
  const double length_mm = FootShape{}.length_mm;
  for (std::size_t i = 0; i < map.zone.size(); ++i) {
    const Vec3& p = foot.mesh.vertices[i];
    const Zone zone = map.zone[i];
    if (zone == Zone::seat || zone == Zone::tread) CHECK(p.z() < 0.08 * length_mm);
    if (zone == Zone::seat || zone == Zone::heel_back || zone == Zone::heel_sides) CHECK(p.x() < 0.36 * length_mm);
    if (p.z() > 0.35 * length_mm) CHECK(zone == Zone::none);  // ankle bones and above
  }
}

TEST_CASE("the five toes are told apart, long second toe or bunion or not") {
  for (const auto& [second_mm, bunion_mm] : {std::pair{-8.0, 0.0}, std::pair{6.0, 0.0}, std::pair{-4.0, 8.0}}) {
    CAPTURE(second_mm);
    FootShape shape;
    shape.second_toe_longer_mm = second_mm;
    shape.bunion_mm = bunion_mm;
    const MadeFoot made = make_foot(shape);
    const Foot foot = test::prepared(made);
    const SkinMap map = map_skin(foot);
    for (std::uint8_t toe = 1; toe <= 5; ++toe) {
      const Vec3& tip = foot.landmarks.toe_tips[toe - 1u];
      std::size_t own = 0, all = 0;
      for (std::size_t i = 0; i < map.toe.size(); ++i)
        if ((foot.mesh.vertices[i] - tip).norm() < 5.0) {  // within half a small toe's breadth of its tip
          ++all;
          own += map.toe[i] == toe;
        }
      CAPTURE(int{toe});
      REQUIRE(all > 5);
      CHECK(own == all);
    }
  }
}

TEST_CASE("noise of a scanner hardly moves the zones") {
  Foot foot = test::prepared(usual_foot());
  const auto clean = zone_areas_mm2(foot, map_skin(foot));
  const std::vector<Vec3> normals = vertex_normals(foot.mesh);
  // 0.5 mm up and down along the normal, by a fixed scramble of the index: the middle of E1's repeat errors.
  for (std::size_t i = 0; i < foot.mesh.vertices.size(); ++i) {
    const auto scrambled = static_cast<double>((i * 2654435761u) % 1000u) / 1000.0;
    foot.mesh.vertices[i] += (2.0 * scrambled - 1.0) * 0.5 * normals[i];
  }
  const auto noisy = zone_areas_mm2(foot, map_skin(foot));
  for (const Zone zone : {Zone::heel_sides, Zone::seat, Zone::arch, Zone::instep, Zone::waist, Zone::tread}) {
    CAPTURE(zone_name(zone));
    const auto i = static_cast<std::size_t>(zone);
    // A border that is blurred by a triangle's edge (2 mm) on either side of a zone some 40 mm wide: 10 %.
    CHECK(std::abs(noisy[i] / clean[i] - 1.0) < 0.1);
  }
}

TEST_CASE("skin normals of a ball with noise point outwards within a few degrees") {
  // A made foot's heel is nearly a ball; here a real one: an icosphere would need a generator, so rings.
  constexpr int kRings = 60, kAround = 120;
  constexpr double kRadiusMm = 40.0, kPi = 3.14159265358979323846;
  Mesh ball;
  std::vector<Vec3> outwards;
  for (int ring = 1; ring < kRings; ++ring)
    for (int k = 0; k < kAround; ++k) {
      const double t = kPi * ring / kRings, a = 2.0 * kPi * k / kAround;
      const Vec3 n(std::sin(t) * std::cos(a), std::sin(t) * std::sin(a), std::cos(t));
      const auto index = static_cast<unsigned>(ball.vertices.size());
      const double noise_mm = static_cast<double>((index * 2654435761u) % 1000u) / 1000.0 - 0.5;
      outwards.push_back(n);
      ball.vertices.push_back((kRadiusMm + noise_mm) * n);
    }
  const auto at = [&](int ring, int k) { return static_cast<std::uint32_t>((ring - 1) * kAround + k % kAround); };
  for (int ring = 1; ring + 1 < kRings; ++ring)
    for (int k = 0; k < kAround; ++k) {
      ball.triangles.push_back({at(ring, k), at(ring + 1, k), at(ring + 1, k + 1)});
      ball.triangles.push_back({at(ring, k), at(ring + 1, k + 1), at(ring, k + 1)});
    }
  const std::vector<Vec3> smooth = skin_normals(ball);
  const std::vector<Vec3> plain = vertex_normals(ball);
  const auto worst_deg = [&](const std::vector<Vec3>& normals) {
    double worst = 0.0;
    for (int ring = 15; ring <= 45; ++ring)  // away from the poles, where the rings crowd
      for (int k = 0; k < kAround; ++k)
        worst = std::max(worst, std::acos(std::min(1.0, normals[at(ring, k)].dot(outwards[at(ring, k)]))));
    return worst * 180.0 / kPi;
  };
  // +-0.5 mm on edges of 2 mm tilts a triangle by up to 27 degrees; over the ~20 vertices within 4 mm that goes down by
  // more than sqrt(20) (neighbouring triangles err against each other): 6 degrees.
  CHECK(worst_deg(plain) > 10.0);
  CHECK(worst_deg(smooth) < 6.0);
}

TEST_CASE("evening over the skin keeps what is even and takes noise off") {
  const Mesh& mesh = usual_foot().mesh;
  const std::vector<double> even = evened(mesh, std::vector<double>(mesh.vertices.size(), 1.25), 2.0);
  for (const double value : even) CHECK(std::abs(value - 1.25) < 1e-12);  // a dozen sums of seven numbers
  std::vector<double> noisy(mesh.vertices.size());
  double before = 0.0, after = 0.0;
  for (std::size_t i = 0; i < noisy.size(); ++i) {
    noisy[i] = static_cast<double>((i * 2654435761u) % 1000u) / 1000.0 - 0.4995;
    before += noisy[i] * noisy[i];
  }
  for (const double value : evened(mesh, noisy, 2.0)) after += value * value;
  CHECK(after <
        before / 4.0);  // means of about seven have a seventh of the variance; four leaves slack for the scramble
}

}  // namespace lastroom
