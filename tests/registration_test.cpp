#include "registration/registration.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <numbers>

#include "geometry/parallel.h"
#include "made.h"
#include "near.h"
#include "registration/contact_samples.h"
#include "registration/doubt.h"
#include "registration/settle.h"
#include "registration/start_pose.h"
#include "zones/toes.h"

namespace lastroom {
namespace {

using test::WithinMm;
constexpr double kRadPerDeg = std::numbers::pi / 180.0;

const Foot& usual_foot() {
  static const Foot foot = test::prepared(make_foot({}));
  return foot;
}

/// The foot's own skin, posed, as a last: no room anywhere, so that but for the fastening, which presses the heel home,
/// the foot rests where skin and last coincide. In front of the joint line its bottom is flat, as a last's is, at the
/// height that the toes' pads bear at on average.
struct OwnLast {
  Last last;
  Registration truth;
};
OwnLast own_last(const Foot& foot, double pitch_deg, double spring_deg) {
  const double length_mm = foot_length_mm(foot.landmarks);
  const Hinge in_foot = hinge_in_foot(foot.landmarks);
  OwnLast own;
  own.truth.last_from_foot.translate(in_foot.point_mm)
      .rotate(Eigen::AngleAxisd(-pitch_deg * kRadPerDeg, in_foot.axis))
      .translate(-in_foot.point_mm);
  own.truth.hinge.angle_deg = pitch_deg + spring_deg;
  const PosedFoot posed(foot.landmarks, own.truth);

  const SkinMap skin = map_skin(foot);
  Mesh flattened = foot.mesh;
  double bearing_mm = 0.0, area_mm2 = 0.0;
  for (const ContactSample& cell : contact_samples(foot, skin).cells)
    if (cell.bears && cell.zone == Zone::toe_pads) {
      bearing_mm += cell.area_mm2 * cell.foot_mm.z();
      area_mm2 += cell.area_mm2;
    }
  bearing_mm /= area_mm2;
  for (std::size_t i = 0; i < flattened.vertices.size(); ++i)
    if (skin.zone[i] == Zone::toe_pads) flattened.vertices[i].z() = bearing_mm;
  std::vector<std::uint8_t> below_top;
  for (const Triangle& t : flattened.triangles) below_top.push_back(flattened.vertices[t[0]].z() < 0.36 * length_mm);
  flattened = submesh(flattened, below_top);
  const std::vector<Vec3> normals = vertex_normals(flattened);
  for (const Triangle& t : flattened.triangles) own.last.bottom.push_back(normals[t[0]].z() < -0.7);
  own.last.mesh = flattened;
  for (Vec3& v : own.last.mesh.vertices) v = posed(v);
  for (double x = 4.0; x < length_mm - 4.0; x += 2.0) own.last.centre_line.push_back(posed(Vec3(x, 0.0, 0.0)));
  own.last.heel_back = posed(foot.landmarks.heel);
  own.last.first_joint = posed(foot.landmarks.first_joint);
  own.last.fifth_joint = posed(foot.landmarks.fifth_joint);
  own.last.tread = posed(Vec3(in_foot.point_mm.x(), 0.0, 0.0));
  own.last.toe_end = posed(foot.landmarks.toe_tips[0]);
  return own;
}

Registration stood(const Foot& foot, const Last& last) {
  FootMeasures measures;
  measures.length_mm = foot_length_mm(foot.landmarks);
  return register_foot_in_last(foot, last, SignedDistance(last.mesh));
}

double rear_displacement_mm(const Foot& foot, const Registration& a, const Registration& b) {
  const double length_mm = foot_length_mm(foot.landmarks);
  const PosedFoot posed_a(foot.landmarks, a), posed_b(foot.landmarks, b);
  double squares = 0.0, count = 0.0;
  for (const Vec3& v : foot.mesh.vertices) {
    if (v.x() > foot.landmarks.fifth_joint.x() || v.z() > 0.25 * length_mm) continue;
    squares += (posed_a(v) - posed_b(v)).squaredNorm();
    count += 1.0;
  }
  return std::sqrt(squares / count);
}

Foot scaled(const Foot& foot, const Vec3& factors) {
  Foot other = foot;
  const auto scale = [&](Vec3& p) { p = p.cwiseProduct(factors); };
  for (Vec3& v : other.mesh.vertices) scale(v);
  FootLandmarks& marks = other.landmarks;
  for (Vec3* mark : {&marks.heel, &marks.first_joint, &marks.fifth_joint, &marks.instep}) scale(*mark);
  for (Vec3& tip : marks.toe_tips) scale(tip);
  return other;
}

}  // namespace

TEST_CASE("a foot in a last that is its own skin lands on itself, flat or on a heel") {
  for (const double pitch_deg : {0.0, 8.0, 16.0}) {
    CAPTURE(pitch_deg);
    const OwnLast own = own_last(usual_foot(), pitch_deg, 3.0);
    const Registration found = stood(usual_foot(), own.last);
    CHECK(found.converged);
    CHECK(found.doubt_reason.empty());
    // Half of the ranges' ends (physics.h): 40 N at 45 degrees press the heel back by 28.3 N / (0.0225 N/mm3 * 1956
    // mm2), which is 0.64 mm, and, were it all on the heel's pad, down by 28.3 N / (0.0235 N/mm3 * 3090 mm2), 0.39 mm.
    constexpr double kPressed_mm = 0.75;  // both together
    CHECK(rear_displacement_mm(usual_foot(), found, own.truth) < kPressed_mm);
    CHECK(found.last_from_foot.translation().x() < own.truth.last_from_foot.translation().x());  // back, not forwards
    // As much at the pads, 45 mm before the hinge.
    CHECK(found.hinge.angle_deg == WithinMm{own.truth.hinge.angle_deg, kPressed_mm / 45.0 / kRadPerDeg});
    CHECK(found.rear_rms_mm < kPressed_mm);
  }
}

TEST_CASE("toes whose soles were not scanned are held at what is usual, with the doubt of it") {
  Foot foot = usual_foot();
  const SkinMap skin = map_skin(foot);
  const auto bearing_toes = [](const ContactSamples& samples) {
    return std::ranges::count_if(samples.cells,
                                 [](const ContactSample& c) { return c.bears && c.zone == Zone::toe_pads; });
  };
  const ContactSamples whole = contact_samples(foot, skin);
  REQUIRE(bearing_toes(whole) > 20);
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : foot.mesh.triangles) keep.push_back(skin.zone[t[0]] != Zone::toe_pads);
  foot.mesh = submesh(foot.mesh, keep);
  const ContactSamples without = contact_samples(foot, map_skin(foot));
  CHECK(bearing_toes(without) == 1);
  CHECK(without.toes_level_sigma_mm > 2.0 * whole.toes_level_sigma_mm);
}

TEST_CASE("a sole that went with the floor bears as the whole one did") {
  constexpr double kGone_mm = 1.5;
  const Foot& whole = usual_foot();
  Foot cut = whole;
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : whole.mesh.triangles)
    keep.push_back(std::ranges::any_of(t, [&](std::uint32_t v) { return whole.mesh.vertices[v].z() > kGone_mm; }));
  cut.mesh = submesh(whole.mesh, keep);
  cut.sole_missing = true;
  struct Bearing {
    double area_mm2 = 0.0, moment_mm3 = 0.0;
  };
  const auto bearing = [](const Foot& foot, Zone zone) {
    Bearing result;
    for (const ContactSample& c : contact_samples(foot, map_skin(foot)).cells)
      if (c.bears && c.zone == zone) result.area_mm2 += c.area_mm2, result.moment_mm3 += c.area_mm2 * c.foot_mm.z();
    return result;
  };
  for (const Zone zone : {Zone::seat, Zone::tread}) {
    const Bearing seen = bearing(whole, zone), unseen = bearing(cut, zone);
    CAPTURE(zone_name(zone));
    // Each row of cells ends within half a cell of 5 mm on either side: 1.4 mm (one sigma) on some 40 ends of rows 5 mm
    // apart are 45 mm2, three of which are 7 % of the seat.
    CHECK(std::abs(unseen.area_mm2 - seen.area_mm2) < 0.07 * seen.area_mm2);
    // What is gone lay between the floor and the cut: half of that is the most that a cap through both may err by.
    CHECK(unseen.moment_mm3 / unseen.area_mm2 == WithinMm{seen.moment_mm3 / seen.area_mm2, 0.5 * kGone_mm});
  }
}

TEST_CASE("a sock lifts the foot as much where the floor stands for a sole that was not scanned") {
  const Foot& seen = usual_foot();
  Foot unseen = seen;
  const SkinMap skin = map_skin(seen);
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : seen.mesh.triangles) keep.push_back(!is_under_the_foot(skin.zone[t[0]]));
  unseen.mesh = submesh(seen.mesh, keep);
  unseen.sole_missing = true;
  const OwnLast own = own_last(usual_foot(), 0.0, 0.0);
  const SignedDistance surface(own.last.mesh);
  const auto lifted_mm = [&](const Foot& foot) {
    const auto height_mm = [&](double sock_mm) {
      const Registration found =
          register_foot_in_last(foot, own.last, surface, {.sock_mm = sock_mm, .scan_error_mm = 1.0});
      return (found.last_from_foot * foot.landmarks.heel).z();
    };
    return height_mm(3.0) - height_mm(0.0);
  };
  // In a last without any room the sock is squeezed all round, so the foot rises by less than it. A floor weighs about
  // as much as the sole that it stands for: half of the lift would be none of its sock.
  const double lift_mm = lifted_mm(seen);
  CHECK(lift_mm > 1.0);
  CHECK(lifted_mm(unseen) == WithinMm{lift_mm, 0.5 * lift_mm});
}

TEST_CASE("the end doesn't depend on the start") {
  const OwnLast own = own_last(usual_foot(), 6.0, 3.0);
  const SignedDistance surface(own.last.mesh);
  const Pose start = start_pose(usual_foot().landmarks, own.last);
  const ContactSamples samples = contact_samples(usual_foot(), map_skin(usual_foot()));
  const SignedDistance bottom = fore_bottom(own.last);
  const SettleProblem problem{usual_foot().landmarks, own.last, surface, bottom, samples, 0.0};
  const Settled plain = settle(problem, {}, start, {});
  for (const Vec3& shift : {Vec3(6, 0, 0), Vec3(-6, 3, 2), Vec3(0, -4, 6)}) {
    Pose other = start;
    other.last_from_foot.pretranslate(shift);
    other.last_from_foot.rotate(Eigen::AngleAxisd(4.0 * kRadPerDeg, shift.normalized()));
    other.hinge_deg += 6.0;
    const Settled found = settle(problem, {}, other, {});
    CHECK(found.at_rest);
    // The search ends when a step moves nothing by 0.01 mm; steps shrink by half at least, so what is left is as much.
    const Registration a = as_registration(problem, plain.pose), b = as_registration(problem, found.pose);
    CHECK(rear_displacement_mm(usual_foot(), a, b) < 0.05);
    CHECK(found.pose.hinge_deg == WithinMm{plain.pose.hinge_deg, 0.05});
  }
}

TEST_CASE("moving the last moves the foot with it") {
  OwnLast own = own_last(usual_foot(), 6.0, 3.0);
  const Registration before = stood(usual_foot(), own.last);
  const Vec3 shift(13.0, -7.0, 21.0);
  Last& last = own.last;
  for (Vec3& v : last.mesh.vertices) v += shift;
  for (Vec3& v : last.centre_line) v += shift;
  for (Vec3* mark : {&last.heel_back, &last.toe_end, &last.first_joint, &last.fifth_joint, &last.tread}) *mark += shift;
  Registration after = stood(usual_foot(), last);
  after.last_from_foot.pretranslate(-shift);
  CHECK(rear_displacement_mm(usual_foot(), before, after) == WithinMm{0.0, 1e-3});  // a tenth of the last step
}

TEST_CASE("the same bytes on any number of threads") {
  const OwnLast own = own_last(usual_foot(), 6.0, 3.0);
  set_thread_limit(1);
  const Registration one = stood(usual_foot(), own.last);
  set_thread_limit(0);
  const Registration many = stood(usual_foot(), own.last);
  CHECK((one.last_from_foot.matrix().array() == many.last_from_foot.matrix().array()).all());
  CHECK(one.hinge.angle_deg == many.hinge.angle_deg);
  CHECK((one.covariance.array() == many.covariance.array()).all());
}

TEST_CASE("a foot of the other side is told as doubt, one of another size is not") {
  const OwnLast own = own_last(usual_foot(), 5.0, 3.0);
  for (const Vec3& factors : {Vec3(1.1, 1.1, 1.1), Vec3(0.9, 0.9, 0.9), Vec3(1.0, 1.08, 1.0)}) {  // three sizes, wide
    CAPTURE(factors.transpose());
    CHECK(stood(scaled(usual_foot(), factors), own.last).doubt_reason.empty());
  }
  Foot other_side = scaled(usual_foot(), Vec3(1.0, -1.0, 1.0));
  for (Triangle& t : other_side.mesh.triangles) std::swap(t[1], t[2]);
  std::swap(other_side.landmarks.first_joint, other_side.landmarks.fifth_joint);
  std::reverse(other_side.landmarks.toe_tips.begin(), other_side.landmarks.toe_tips.end());
  CHECK(stood(other_side, own.last).doubt_reason.key == "doubt.other_side");
}

TEST_CASE("a foot that was read in another unit is told as that") {
  const OwnLast own = own_last(usual_foot(), 5.0, 3.0);
  for (const double factor : {2.54, 1.0 / 2.54})  // cm and inches (ISO 80000-3)
    CHECK(stood(scaled(usual_foot(), Vec3::Constant(factor)), own.last).doubt_reason.key == "doubt.units");
}

TEST_CASE("in a last that is longer than the foot the heel is home and the room is in front") {
  const OwnLast own = own_last(usual_foot(), 5.0, 3.0);
  for (const double shorter : {0.97, 0.94, 0.92}) {
    CAPTURE(shorter);
    const Foot foot = scaled(usual_foot(), Vec3(shorter, 1.0, 1.0));
    const Registration found = stood(foot, own.last);
    const double behind_heel_mm = (found.last_from_foot * foot.landmarks.heel).x() - own.last.heel_back.x();
    CHECK(behind_heel_mm < 3.0);   // at most 3 mm of air behind a heel that is home (our choice)
    CHECK(behind_heel_mm > -1.5);  // 28.3 N on a third of the heel's back (see above) press it by 1.9 mm
  }
}

TEST_CASE("a foot wider than the last is not squeezed out forwards") {
  const OwnLast own = own_last(usual_foot(), 5.0, 3.0);
  const Registration found = stood(scaled(usual_foot(), Vec3(1.0, 1.08, 1.0)), own.last);
  const double forwards_mm = (found.last_from_foot.translation() - own.truth.last_from_foot.translation()).x();
  // 8 % of 69 mm of heel is 2.8 mm a side; a wedge of the heel's slope would let it out by several times that.
  CHECK(std::abs(forwards_mm) < 1.0);
}

TEST_CASE("play between the sides is in the covariance") {
  const MadeFoot foot = make_foot({});
  const auto sideways_sigma_mm = [&](double room_mm) {
    LastShape shape;
    shape.room.heel_sides = shape.room.waist = shape.room.inside_joint = shape.room.outside_joint = room_mm;
    const Registration found = stood(test::prepared(foot), test::prepared(make_last(foot, shape)));
    const Eigen::SelfAdjointEigenSolver<PoseCovariance> eigen(found.covariance);
    CHECK(eigen.eigenvalues().minCoeff() > 0.0);
    CHECK_FALSE(found.weakest.empty());
    return std::sqrt(found.covariance(4, 4));
  };
  // Anywhere within +-4 mm alike is a standard deviation of 4 / sqrt(3) mm; half of it may be taken by what else
  // touches.
  const double loose_mm = sideways_sigma_mm(4.0);
  CHECK(loose_mm > 0.5 * 4.0 / std::numbers::sqrt3);
  CHECK(loose_mm < 4.0);
  CHECK(sideways_sigma_mm(0.0) < 0.5 * loose_mm);
}

TEST_CASE("a place that is not known is told with what leaves it open") {
  const auto cause = [](const Foot& foot, double room_mm, double scan_error_mm) {
    LastShape shape;
    shape.room.heel_sides = shape.room.waist = shape.room.inside_joint = shape.room.outside_joint = room_mm;
    const Last last = test::prepared(make_last(make_foot({}), shape));
    const ContactSamples samples = contact_samples(foot, map_skin(foot));
    const SignedDistance surface(last.mesh), toes_bottom = fore_bottom(last);
    const SettleProblem problem{foot.landmarks, last, surface, toes_bottom, samples, 0.0};
    const Pose settled = settle(problem, {}, start_pose(foot.landmarks, last), {}).pose;
    return cause_of_doubt(problem, settled, scan_error_mm).key;
  };
  Foot unsure = usual_foot();
  unsure.landmarks.first_joint_sigma_mm = unsure.landmarks.fifth_joint_sigma_mm = 60.0;
  CHECK(cause(usual_foot(), 0.5, 10.0) == "doubt_by.scan");
  CHECK(cause(usual_foot(), 8.0, 0.1) == "doubt_by.play");
  CHECK(cause(unsure, 0.5, 0.1) == "doubt_by.joints");
  CHECK(cause(usual_foot(), 0.5, 0.1) == "doubt_by.physics");

  RegistrationSettings settings;
  settings.scan_error_mm = 40.0;
  const Last last = test::prepared(make_last(make_foot({}), LastShape()));
  const Message told = register_foot_in_last(usual_foot(), last, SignedDistance(last.mesh), settings).doubt_reason;
  CHECK(told.key == "doubt.place_unsure");
  CHECK(english(told).find("what the scan may err by") != std::string::npos);
}

TEST_CASE("what a scanner is known to err by does not hide what an unloaded foot lacks") {
  // 6.65 % of 100 mm, half of it on either side (registration.h); half of that for half of the weight.
  CHECK(scan_error_mm(ScanLoad::full) == 1.0);
  CHECK(scan_error_mm(ScanLoad::full, 0.3) == 0.3);
  CHECK(scan_error_mm(ScanLoad::none, 0.3) == WithinMm{std::hypot(0.3, 3.325), 1e-12});
  CHECK(scan_error_mm(ScanLoad::half, 0.3) == WithinMm{std::hypot(0.3, 3.325 / 2.0), 1e-12});
}

}  // namespace lastroom
