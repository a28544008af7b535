// Room between bodies whose room is a formula: a ball foot in a ball last, a toe in a wedge.
#include "clearance/clearance.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "geometry_shapes.h"
#include "near.h"

using namespace lastroom;
using test::WithinMm;

namespace {

constexpr std::uint32_t kFrequency = 24;
constexpr double kFootRadius = 40.0, kLastRadius = 45.0;

/// How far the flat triangles of a geodesic ball lie inside it: the longest edge is under 1.2 times the icosahedron's
/// (1.1071 rad) over the frequency, and a chord of angle a on radius r lies r (1 - cos(a / sqrt 3)) deep in the middle
/// of a triangle with corners a / sqrt 3 away.
double facet_sag_mm(double radius_mm) {
  return radius_mm * (1.0 - std::cos(1.2 * 1.1071 / kFrequency / std::sqrt(3.0)));
}

/// The field is evened over 2 mm and up to one edge more (root mean square): a mean over that disc differs from the
/// middle's value by a quarter of the mean square times the field's Laplacian on the surface. For a field
/// `amplitude * cos(angle)` on a ball that is 2 * amplitude / radius^2 at most.
double evening_mm(double amplitude_mm, double ball_radius_mm) {
  const double edge = 1.2 * 1.1071 / kFrequency * ball_radius_mm;
  return (2.0 * 2.0 + edge * edge) / 4.0 * 2.0 * amplitude_mm / (ball_radius_mm * ball_radius_mm);
}

Mesh ball(double radius_mm, const Vec3& middle = Vec3::Zero()) {
  Mesh mesh = test::geodesic_ball(kFrequency);
  for (Vec3& v : mesh.vertices) v = radius_mm * v + middle;
  return mesh;
}

/// Landmarks so that the hinge lies where it matters to nobody: in front of everything.
Foot foot_of(Mesh mesh) {
  Foot foot;
  foot.mesh = std::move(mesh);
  foot.landmarks.first_joint = {1000.0, 40.0, 0.0};
  foot.landmarks.fifth_joint = {1000.0, -40.0, 0.0};
  return foot;
}

SkinMap all_in(Zone zone, const Foot& foot, std::uint8_t toe = 0) {
  return {std::vector<Zone>(foot.mesh.vertices.size(), zone),
          std::vector<std::uint8_t>(foot.mesh.vertices.size(), toe)};
}

RegistrationSettings exact() { return {.sock_mm = 0.0, .scan_error_mm = 0.0}; }

/// A last's fore part: bottom at z = 0, sides at y = +-40, a roof that is 30 mm high at x = 0 and comes down by `slope`
/// a mm until it meets the bottom, back wall at x = -60.
Last wedge(double slope) {
  const double toe_x = 30.0 / slope, back_z = 30.0 + 60.0 * slope;
  Last last;
  for (double y : {-40.0, 40.0})
    for (const Vec3& v : {Vec3(-60.0, y, 0.0), Vec3(-60.0, y, back_z), Vec3(toe_x, y, 0.0)})
      last.mesh.vertices.push_back(v);
  last.mesh.triangles = {{0, 2, 1}, {3, 4, 5}, {0, 1, 4}, {0, 4, 3}, {0, 3, 5}, {0, 5, 2}, {1, 2, 5}, {1, 5, 4}};
  return last;
}

}  // namespace

TEST_CASE("a ball foot in a ball last has the radii's difference as room, and the middles' shift turns it") {
  const Foot foot = foot_of(ball(kFootRadius));
  for (const Vec3& middle : {Vec3(0.0, 0.0, 0.0), Vec3(3.0, 0.0, 0.0), Vec3(2.0, -4.0, 5.0)}) {  // the last one presses
    CAPTURE(middle.transpose());
    const SignedDistance last(ball(kLastRadius, middle));
    const ClearanceField field = clearance_between(foot, {}, last, exact());
    double worst = 0.0;
    for (std::size_t i = 0; i < foot.mesh.vertices.size(); ++i) {
      const double room = kLastRadius - (foot.mesh.vertices[i] - middle).norm();
      worst = std::max(worst, std::abs(field.clearance_mm[i] - room));
      CHECK_FALSE(field.on_rim[i]);
    }
    CHECK(worst <= facet_sag_mm(kLastRadius) + evening_mm(middle.norm(), kFootRadius));
  }
}

TEST_CASE("the skin is where the registration puts it") {
  const Foot foot = foot_of(ball(kFootRadius));
  Registration registration;
  registration.last_from_foot = Motion(Eigen::Translation3d(7.0, 8.0, 9.0) * Eigen::AngleAxisd(0.5, Vec3::UnitZ()));
  const SignedDistance last(ball(kLastRadius, Vec3(7.0, 8.0, 9.0)));
  const ClearanceField field = clearance_between(foot, registration, last, exact());
  for (std::size_t i = 0; i < field.clearance_mm.size(); ++i) {
    REQUIRE(field.clearance_mm[i] == WithinMm{kLastRadius - kFootRadius, facet_sag_mm(kLastRadius)});
    REQUIRE((field.skin_mm[i] - registration.last_from_foot * foot.mesh.vertices[i]).norm() < 1e-12);
    // A geodesic ball's vertex normal leaves the radius by less than one facet's tilt, an edge's angle.
    REQUIRE(field.skin_normal[i].dot(registration.last_from_foot.linear() * foot.mesh.vertices[i].normalized()) >
            std::cos(1.2 * 1.1071 / kFrequency));
  }
}

TEST_CASE("a sock takes its thickness from every point") {
  const Foot foot = foot_of(ball(kFootRadius));
  const SignedDistance last(ball(kLastRadius, Vec3(2.0, 1.0, 0.0)));
  RegistrationSettings with_sock = exact();
  with_sock.sock_mm = 1.5;
  const ClearanceField bare = clearance_between(foot, {}, last, exact());
  const ClearanceField socked = clearance_between(foot, {}, last, with_sock);
  for (std::size_t i = 0; i < bare.clearance_mm.size(); ++i)
    REQUIRE(socked.clearance_mm[i] == WithinMm{bare.clearance_mm[i] - 1.5, 1e-12});
}

TEST_CASE("the doubt is the scan's and the pose's along the surface normal") {
  const Foot foot = foot_of(ball(kFootRadius));
  const SignedDistance last(ball(kLastRadius));
  RegistrationSettings settings;
  settings.scan_error_mm = 1.0;
  // The facet's normal leaves the radius by up to an edge's angle a; so n.x errs by up to sin(a).
  const double tilt = std::sin(1.2 * 1.1071 / kFrequency);

  SUBCASE("a shift along x of 2 mm") {
    Registration registration;
    registration.covariance(3, 3) = 4.0;
    const ClearanceField field = clearance_between(foot, registration, last, settings);
    for (std::size_t i = 0; i < field.sigma_mm.size(); ++i) {
      const double along = field.skin_mm[i].normalized().x();
      REQUIRE(field.sigma_mm[i] == WithinMm{std::sqrt(1.0 + 4.0 * along * along), 2.0 * tilt});
    }
  }
  SUBCASE("a turn moves nothing along the normal of a ball about its own middle") {
    Registration registration;
    registration.covariance(2, 2) = 0.01;
    Foot centred = foot;  // hinge point in the middle of the ball, in plan
    centred.landmarks.first_joint = {0.0, 40.0, 0.0};
    centred.landmarks.fifth_joint = {0.0, -40.0, 0.0};
    const ClearanceField field = clearance_between(centred, registration, last, settings);
    for (double doubt : field.sigma_mm)
      REQUIRE(doubt == WithinMm{std::sqrt(1.0 + 0.01 * std::pow(kFootRadius * tilt, 2)), 0.2});
  }
}

TEST_CASE("percentiles are by area: on a ball, height is spread evenly over the area (Archimedes)") {
  const Foot foot = foot_of(ball(kFootRadius));
  ClearanceField field = clearance_between(foot, {}, SignedDistance(ball(kLastRadius)), exact());
  for (std::size_t i = 0; i < field.clearance_mm.size(); ++i) field.clearance_mm[i] = field.skin_mm[i].z();
  const std::vector<ZoneClearance> zones = by_zone(field, all_in(Zone::seat, foot));
  REQUIRE(zones.size() == 1);
  const ZoneClearance& zone = zones.front();
  // Vertices stand for patches one edge high: heights are known to an edge, here 1.2 * 1.1071 / 24 * 40 mm.
  const double edge = 1.2 * 1.1071 / kFrequency * kFootRadius;
  CHECK(zone.min_mm == WithinMm{-kFootRadius, edge});
  CHECK(zone.p05_mm == WithinMm{-0.9 * kFootRadius, edge});
  CHECK(zone.median_mm == WithinMm{0.0, edge});
  CHECK(zone.at_mm.z() <= zone.p05_mm);
  // Flat triangles lose less of the ball's skin than the square of an edge over the radius: (1.1071 / 24)^2 = 0.0021.
  CHECK(zone.area_mm2 == doctest::Approx(4.0 * std::numbers::pi * kFootRadius * kFootRadius).epsilon(0.002));
  CHECK(area_below_mm2(field, all_in(Zone::seat, foot), Zone::seat, -20.0) ==
        doctest::Approx(0.25 * zone.area_mm2).epsilon(edge / 20.0));
  CHECK(area_below_mm2(field, all_in(Zone::seat, foot), Zone::arch, -20.0) == 0.0);
}

TEST_CASE("the tight spot is in the middle of the larger of two, not between them") {
  const Foot foot = foot_of(ball(kFootRadius));
  ClearanceField field = clearance_between(foot, {}, SignedDistance(ball(kLastRadius)), exact());
  for (std::size_t i = 0; i < field.clearance_mm.size(); ++i) {
    const double up = field.skin_mm[i].normalized().z();
    field.clearance_mm[i] = up > 0.95 ? -2.0 : up < -0.98 ? -2.0 : 1.0;
  }
  const ZoneClearance zone = by_zone(field, all_in(Zone::instep, foot)).front();
  CHECK(zone.at_mm.normalized().z() > 0.95);
}

TEST_CASE("a press of a square centimetre is found where a twentieth of the zone hides it, one vertex is not") {
  const Foot foot = foot_of(ball(kFootRadius));  // 50 times as large and more
  ClearanceField field = clearance_between(foot, {}, SignedDistance(ball(kLastRadius)), exact());
  const SkinMap skin = all_in(Zone::inside_joint, foot);
  const double radius_mm = std::sqrt(100.0 / std::numbers::pi);
  const Vec3 middle = field.skin_mm[100];
  const auto from_middle_mm = [&](std::size_t i) { return (field.skin_mm[i] - middle).norm(); };
  for (std::size_t i = 0; i < field.clearance_mm.size(); ++i)
    field.clearance_mm[i] = from_middle_mm(i) <= radius_mm ? -2.5 : 1.0;
  CHECK(by_zone(field, skin).front().p05_mm == 1.0);
  const WorstPatch patch = worst_patches(field, skin).front();
  CHECK(patch.zone == Zone::inside_joint);
  CHECK(patch.mm == WithinMm{-2.5, 1e-9});
  CHECK((patch.at_mm - middle).norm() < 1e-9);

  // A single vertex weighs as its share of the disc, here a quarter at most.
  std::size_t sharing = 0;
  for (std::size_t i = 0; i < field.clearance_mm.size(); ++i) {
    field.clearance_mm[i] = i == 100 ? -2.5 : 1.0;
    sharing += from_middle_mm(i) <= radius_mm;
  }
  REQUIRE(sharing >= 4);
  CHECK(by_zone(field, skin).front().min_mm == -2.5);
  CHECK(worst_patches(field, skin).front().mm > 0.0);
}

/// So long that the whole of a ball or a box is behind the joint.
constexpr double kWholeIsRear_mm = 1000.0;

TEST_CASE("skin beside the rim of an open last or above it is not judged") {
  const Mesh whole = ball(kLastRadius);
  const Mesh open = test::below(whole, 20.0);
  Foot foot = foot_of(ball(kFootRadius));
  const LastTop top = find_top(open, edge_features(open), kWholeIsRear_mm);
  const ClearanceField field = clearance_between(foot, {}, SignedDistance(open), exact(), top);
  double highest_rim = -1e9;
  for (const Vec3& v : open.vertices) highest_rim = std::max(highest_rim, v.z());
  for (std::size_t i = 0; i < field.on_rim.size(); ++i) {
    if (field.skin_mm[i].z() > highest_rim) CHECK(field.on_rim[i]);
    // One edge of 2.5 mm below the lowest rim, the nearest point on the outer ball is surface again.
    if (field.skin_mm[i].z() < (20.0 - 2.6) * kFootRadius / kLastRadius - 2.6) CHECK_FALSE(field.on_rim[i]);
  }
  const ZoneClearance zone = by_zone(field, all_in(Zone::heel_sides, foot)).front();
  CHECK(zone.min_mm == WithinMm{kLastRadius - kFootRadius, facet_sag_mm(kLastRadius)});
}

TEST_CASE("a leg that passes through the cut of a closed last is not judged") {
  Last box;
  box.mesh = test::box_mesh({100.0, 60.0, 60.0});  // top cut at z = 30
  Mesh column = test::box_mesh({40.0, 40.0, 1.0});
  column.triangles.clear();
  column.vertices.clear();
  constexpr int kAround = 24, kUp = 40;
  for (int k = 0; k < kUp; ++k)
    for (int a = 0; a < kAround; ++a) {
      const double angle = 2.0 * std::numbers::pi * a / kAround;
      column.vertices.emplace_back(20.0 * std::cos(angle), 20.0 * std::sin(angle), -20.0 + 2.0 * k);
    }
  for (std::uint32_t k = 0; k + 1 < kUp; ++k)
    for (std::uint32_t a = 0; a < kAround; ++a) {
      const std::uint32_t b = (a + 1) % kAround, low = k * kAround, high = low + kAround;
      column.triangles.push_back({low + a, low + b, high + a});
      column.triangles.push_back({low + b, high + b, high + a});
    }
  const Foot leg = foot_of(column);
  box.top = find_top(box.mesh, edge_features(box.mesh), kWholeIsRear_mm);
  const ClearanceField field = clearance_between(leg, {}, SignedDistance(box.mesh), exact(), box.top);
  for (std::size_t i = 0; i < field.on_rim.size(); ++i)
    if (field.clearance_mm[i] < 0.0) CHECK(field.on_rim[i]);
  CHECK(by_zone(field, all_in(Zone::heel_back, leg)).front().min_mm >= 0.0);
}

TEST_CASE("toe room ends where the toe reaches the roof, not at the last's end") {
  constexpr double kToeRadius = 8.0, kSlope = 0.5, kTipX = 8.0;
  const Foot foot = foot_of([&] {
    Mesh toe = test::geodesic_ball(kFrequency);
    for (Vec3& v : toe.vertices) v = kToeRadius * v + Vec3(kTipX - kToeRadius, 0.0, kToeRadius);
    return toe;
  }());
  const Last last = wedge(kSlope);
  const SkinMap skin = all_in(Zone::toe_tops, foot, 1);
  RegistrationSettings settings;
  settings.scan_error_mm = 1.0;
  const SignedDistance surface(last.mesh);
  const double edge =
      1.2 * 1.1071 / kFrequency * kToeRadius;  // the ball's own extremes are known to this, squared / 2r
  const double sag = edge * edge / (2.0 * kToeRadius);

  const ToeRoom room = toe_room(foot, skin, clearance_between(foot, {}, surface, settings), last);
  // The ball rolls forward on the bottom until it touches the roof 30 - x / 2, which gives 1 mm: its middle, 8 mm high,
  // is then 8 mm from that line, (30 + 1 - 8 - x / 2) / sqrt(1.25) = 8. Its skin is evened: below and before over
  // columns of 4 mm, whose means lie under a ball's skin by E[d^2] / 2 r = (4^2 / 6) / 16 = 0.17 mm; above by a
  // Gaussian of 1.5 mm, whose mean lies under it by half its variance times the curvatures of the height, where it
  // slopes by 27 degrees 1 / (r cos^3) along and 1 / (r cos) across; and at the millimetre's place nearest to the one
  // that touches.
  const double way = (23.0 - kToeRadius * std::sqrt(1.0 + kSlope * kSlope)) / kSlope;
  const double cos = 1.0 / std::hypot(1.0, kSlope), along_curve = 1.0 / (kToeRadius * cos * cos * cos);
  const double under = 16.0 / 6.0 / (2.0 * kToeRadius);
  const double evened = 0.5 * 1.5 * 1.5 * (along_curve + 1.0 / (kToeRadius * cos));
  const double near = (under + evened + 0.5 * 0.5 * 0.5 * along_curve) / kSlope;
  REQUIRE(room.tip_mm.has_value());
  CHECK(*room.tip_mm == WithinMm{way + near / 2.0, near / 2.0});
  CHECK(room.usable_end_mm.x() == WithinMm{kTipX + *room.tip_mm - under, 0.01});
  CHECK(*room.allowance_mm == WithinMm{60.0 - kTipX + under, sag});
  // An error of 1 mm along every axis and half a millimetre of a blunt tip: forward they count once; of the
  // toe's height 0.3 mm of reading it and half a millimetre of the scan's, 1 / slope times. The way is halved down to
  // 0.01 mm.
  const double along = std::hypot(1.0, 0.5);
  CHECK(room.tip_sigma_mm == WithinMm{std::hypot(along, std::hypot(0.3, 0.5) / kSlope), 0.02});
  CHECK(room.allowance_sigma_mm == WithinMm{along, 1e-12});
  // The ball's top is read to half a millimetre along, as its tip is, 0.3 mm in height, and across, where the roof is
  // level, to anything.
  const double read = std::hypot(0.5 * kSlope, 0.3);
  CHECK(room.headroom_sigma_mm[0] == WithinMm{std::hypot(1.0, kSlope, read), 1e-9});
  // Over the ball (middle 0, 8): 30 - x / 2 - 8 - sqrt(64 - x^2), least at x = 8 sin(atan(1 / 2)).
  const double angle = std::atan(kSlope), x = kToeRadius * std::sin(angle);
  const double least = 30.0 - kSlope * x - kToeRadius - kToeRadius * std::cos(angle);
  REQUIRE(room.headroom_mm[0].has_value());
  // Over its upper border, which is evened as above (a Gaussian that ends 4 mm away has 0.94 of its variance), at the
  // millimetre's place nearest to the least one.
  CHECK(*room.headroom_mm[0] == WithinMm{least + 0.94 * evened, 0.5 * 0.25 * along_curve + 2.0 * sag});
  CHECK_FALSE(room.headroom_mm[1].has_value());

  SUBCASE("its headroom is as doubtful as the place where it is least, not as its tip") {
    constexpr double kPitch_rad = 0.05;
    Registration pitched;
    pitched.covariance(1, 1) = kPitch_rad * kPitch_rad;
    const ToeRoom there = toe_room(foot, skin, clearance_between(foot, pitched, surface, settings), last);
    // Turned about y by t, a place (x, 0, z) from the hinge goes (z, 0, -x) t, under a roof that falls by 1 / 2.
    const Vec3 arm = there.headroom_at_mm[0] - hinge_in_foot(foot.landmarks).point_mm;
    const double turned = kPitch_rad * (arm.x() - kSlope * arm.z());
    // Told for the vertex nearest to the evened place.
    CHECK(there.headroom_sigma_mm[0] ==
          WithinMm{std::hypot(std::hypot(1.0, kSlope), turned, read), kPitch_rad * (edge + evened) * (1.0 + kSlope)});
  }
  SUBCASE("a sock shortens it: once before the toe, and twice under the roof") {
    settings.sock_mm = 1.0;
    const ToeRoom socked = toe_room(foot, skin, clearance_between(foot, {}, surface, settings), last);
    CHECK(*socked.tip_mm == WithinMm{*room.tip_mm - 2.0 / kSlope - 1.0, 0.02});
    CHECK(*socked.headroom_mm[0] == WithinMm{*room.headroom_mm[0] - 1.0, 1e-9});
  }
  SUBCASE("it is the same whichever way the last is turned and tilted under its foot") {
    Registration turned;
    turned.last_from_foot = Eigen::AngleAxisd(0.15, Vec3(0.1, 0.2, 1.0).normalized());
    turned.hinge.angle_deg = 0.0;
    Last turned_last = last;
    turned_last.mesh = moved(last.mesh, turned.last_from_foot);
    const SignedDistance there(turned_last.mesh);
    const ToeRoom same = toe_room(foot, skin, clearance_between(foot, turned, there, settings), turned_last);
    constexpr double kRounding_mm = 0.02;  // the way is halved down to 0.01 mm
    CHECK(*same.tip_mm == WithinMm{*room.tip_mm, kRounding_mm});
    CHECK(same.tip_sigma_mm == WithinMm{room.tip_sigma_mm, kRounding_mm / kSlope});
    CHECK(*same.allowance_mm == WithinMm{*room.allowance_mm, 1e-9});
    // A vertex on the rim of a window, 8 mm square, may fall to either side. There are 32 mm / edge, of edge^2 each,
    // which weigh exp(-(4 / 1.5)^2 / 2) = 3 %, of 2 pi 1.5^2 = 14 mm2, and lie 4^2 / 2 r = 1 mm lower.
    CHECK(*same.headroom_mm[0] == WithinMm{*room.headroom_mm[0], 32.0 * edge * 0.03 / 14.0});
    CHECK((same.usable_end_mm - turned.last_from_foot * room.usable_end_mm).norm() < kRounding_mm);
  }
  SUBCASE("a sole that was not scanned lay between the floor and what is left, or at what is usual") {
    const auto without_sole = [&](double cut_mm) {
      Foot cut = foot;
      std::erase_if(cut.mesh.triangles, [&](const Triangle& t) { return foot.mesh.vertices[t[0]].z() < cut_mm; });
      SkinMap unseen = skin;
      unseen.sole_missing = true;
      return toe_room(cut, unseen, clearance_between(cut, {}, surface, settings), last);
    };
    const auto longer_mm = [&](double level_mm) { return *room.tip_mm + (level_mm - under) / kSlope; };
    const auto sigma_mm = [&](double level_mm) { return std::hypot(along, std::hypot(0.3, 0.5, level_mm) / kSlope); };
    // Cut at 3 mm there is skin that looks down by 30 degrees and more up to half the radius, 4 mm: the way goes by the
    // height at 1 / slope, the height by half of what is left, the doubt by the standard deviation of an even spread.
    const ToeRoom rag = without_sole(3.0);
    CHECK(*rag.tip_mm >= longer_mm(0.5 * 3.0));
    CHECK(*rag.tip_mm <= longer_mm(0.5 * 4.0));
    CHECK(rag.tip_sigma_mm >= sigma_mm(3.0 / std::sqrt(12.0)) - 0.02);
    CHECK(rag.tip_sigma_mm <= sigma_mm(4.0 / std::sqrt(12.0)) + 0.02);
    const ToeRoom none = without_sole(5.0);  // 2.5 mm over the floor, give or take 2.2 (contact_samples.h)
    CHECK(*none.tip_mm == WithinMm{longer_mm(2.5), 0.03 / kSlope + 0.02});
    CHECK(none.tip_sigma_mm == WithinMm{sigma_mm(2.2), 0.02});
  }
  SUBCASE("toes that were not told apart have their group's headroom") {
    Foot together = foot;
    together.landmarks.toe_borders[0].seen = false;
    const ToeRoom group = toe_room(together, skin, clearance_between(together, {}, surface, settings), last);
    CHECK(group.headroom_mm[0] == room.headroom_mm[0]);
    CHECK(group.headroom_mm[1] == room.headroom_mm[0]);  // all skin is the first's
    CHECK_FALSE(group.headroom_mm[2].has_value());
    CHECK(group.tip_mm == room.tip_mm);
  }
  SUBCASE("a longer second toe is the one that counts") {
    Foot two = foot;
    const auto count = static_cast<std::uint32_t>(two.mesh.vertices.size());
    for (std::uint32_t i = 0; i < count; ++i)
      two.mesh.vertices.push_back(foot.mesh.vertices[i] + Vec3(8.0, -20.0, 0.0));
    for (const Triangle& t : foot.mesh.triangles)
      two.mesh.triangles.push_back({t[0] + count, t[1] + count, t[2] + count});
    SkinMap toes = all_in(Zone::toe_tops, two, 1);
    for (std::size_t i = count; i < toes.toe.size(); ++i) toes.toe[i] = 2;
    const ToeRoom longer = toe_room(two, toes, clearance_between(two, {}, surface, settings), last);
    CHECK(*longer.tip_mm == WithinMm{way - 8.0 + near / 2.0, near / 2.0});
    CHECK(longer.headroom_mm[1].has_value());
  }
}

TEST_CASE("a toe that stands through the roof has negative headroom, by as much as it stands out") {
  constexpr double kToeRadius = 8.0;
  Foot foot = foot_of(test::geodesic_ball(kFrequency));
  for (Vec3& v : foot.mesh.vertices) v = kToeRadius * v + Vec3(0.0, 0.0, 30.0 - kToeRadius + 2.0);  // 2 mm through
  foot.landmarks.first_joint.x() = foot.landmarks.fifth_joint.x() = -1000.0;  // a toe is in front of the joint
  const Last flat = [] {
    Last last;
    last.mesh = test::box_mesh({80.0, 60.0, 30.0});
    for (Vec3& v : last.mesh.vertices) v.z() += 15.0;
    return last;
  }();
  const ToeRoom room = toe_room(foot, all_in(Zone::toe_tops, foot, 5),
                                clearance_between(foot, {}, SignedDistance(flat.mesh), exact()), flat);
  REQUIRE(room.headroom_mm[4].has_value());
  const double edge = 1.2 * 1.1071 / kFrequency * kToeRadius;
  // Under a level roof the upper border, evened, lies 1.5^2 / r under the top.
  CHECK(*room.headroom_mm[4] ==
        WithinMm{-2.0 + 0.94 * 1.5 * 1.5 / kToeRadius, 0.5 * 0.25 / kToeRadius + edge * edge / kToeRadius});
}

TEST_CASE("no toe, no toe room") {
  const Foot foot = foot_of(ball(kFootRadius));
  const Last last = wedge(0.5);
  const ToeRoom room =
      toe_room(foot, all_in(Zone::instep, foot), clearance_between(foot, {}, SignedDistance(last.mesh), exact()), last);
  CHECK_FALSE(room.tip_mm.has_value());
  CHECK_FALSE(room.allowance_mm.has_value());
  for (const std::optional<double>& headroom : room.headroom_mm) CHECK_FALSE(headroom.has_value());
}
