#include "registration/registration.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <numbers>

#include "geometry/area_mean.h"
#include "geometry/parallel.h"
#include "made.h"
#include "near.h"
#include "registration/solve_pose.h"
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

/// The foot's own skin, posed, as a last: no room anywhere, so the truth is where skin and last coincide. In front of
/// the joint line its bottom is flat, as a last's is, at the height of the toe pads' lower quarter.
struct OwnLast {
  Last last;
  Registration truth;
};
OwnLast own_last(const Foot& foot, double pitch_deg, double spring_deg) {
  const double length_mm = foot_length_mm(foot.landmarks);
  const Hinge in_foot = hinge_in_foot(foot.landmarks, length_mm);
  OwnLast own;
  own.truth.last_from_foot.translate(in_foot.point_mm)
      .rotate(Eigen::AngleAxisd(-pitch_deg * kRadPerDeg, in_foot.axis))
      .translate(-in_foot.point_mm);
  own.truth.hinge.angle_deg = pitch_deg + spring_deg;
  const PosedFoot posed(foot.landmarks, length_mm, own.truth);

  const SkinMap skin = map_skin(foot);
  Mesh flattened = foot.mesh;
  std::vector<std::pair<double, double>> pads_mm;
  for (std::size_t i = 0; i < flattened.vertices.size(); ++i)
    if (skin.zone[i] == Zone::toe_pads && skin.sole_flat[i] != 0) pads_mm.emplace_back(flattened.vertices[i].z(), 1.0);
  const double bearing_mm = mean_of_least(pads_mm, kBearingShare);
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
  return register_foot_in_last(foot, measures, last, {}, SignedDistance(last.mesh));
}

double rear_displacement_mm(const Foot& foot, const Registration& a, const Registration& b) {
  const double length_mm = foot_length_mm(foot.landmarks);
  const PosedFoot posed_a(foot.landmarks, length_mm, a), posed_b(foot.landmarks, length_mm, b);
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
    // Without room anywhere the expected rooms (0 to 1.2 mm, most of them 0.4 to 0.7) pull to all sides and cancel but
    // for their differences, of 0.3 mm.
    CHECK(rear_displacement_mm(usual_foot(), found, own.truth) < 0.3);
    // The same 0.3 mm at the toes' level, 45 mm before the hinge, is 0.4 degrees; the tread's own give (0.4 mm over 20
    // mm of lever) leaves a degree.
    CHECK(found.hinge.angle_deg == WithinMm{own.truth.hinge.angle_deg, 1.4});
    CHECK(found.rear_rms_mm < 1.2);  // the largest expected room
  }
}

TEST_CASE("toes whose soles were not scanned are held at what is usual, with the doubt of it") {
  Foot foot = usual_foot();
  const SkinMap skin = map_skin(foot);
  const HeldSkin whole = held_skin(foot, skin);
  REQUIRE(whole.toe_soles.size() > 20);
  CHECK(whole.toe_level_spread_mm < 1.0);  // this foot's toes stand within some 2 mm of each other
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : foot.mesh.triangles) keep.push_back(skin.zone[t[0]] != Zone::toe_pads);
  foot.mesh = submesh(foot.mesh, keep);
  const HeldSkin without = held_skin(foot, map_skin(foot));
  CHECK(without.toe_soles.size() == 1);
  CHECK(without.toe_level_spread_mm > 2.0 * whole.toe_level_spread_mm);
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
      const Registration found = register_foot_in_last(foot, measure_foot(foot), own.last, measure_last(own.last),
                                                       surface, {.sock_mm = sock_mm, .scan_error_mm = 1.0});
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
  const double length_mm = foot_length_mm(usual_foot().landmarks);
  const SignedDistance surface(own.last.mesh);
  const Pose start = start_poses(usual_foot().landmarks, length_mm, own.last).front();
  const PoseProblem problem{usual_foot(),
                            length_mm,
                            own.last,
                            surface,
                            held_skin(usual_foot(), map_skin(usual_foot())),
                            {},
                            start.hinge_deg,
                            0.0,
                            fore_bottom(own.last)};
  const PoseSolution plain = solve_pose(problem, start);
  for (const Vec3& shift : {Vec3(6, 0, 0), Vec3(-6, 3, 2), Vec3(0, -4, 6)}) {
    Pose other = start;
    other.last_from_foot.pretranslate(shift);
    other.last_from_foot.rotate(Eigen::AngleAxisd(4.0 * kRadPerDeg, shift.normalized()));
    other.hinge_deg += 6.0;
    const PoseSolution found = solve_pose(problem, other);
    CHECK(found.converged);
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

TEST_CASE("a foot that does not belong in the last is told as doubt") {
  const OwnLast own = own_last(usual_foot(), 5.0, 3.0);
  CHECK_FALSE(
      stood(scaled(usual_foot(), Vec3::Constant(1.1)), own.last).doubt_reason.empty());  // three English sizes (D1)
  CHECK_FALSE(stood(scaled(usual_foot(), Vec3::Constant(0.9)), own.last).doubt_reason.empty());
  CHECK(stood(scaled(usual_foot(), Vec3::Constant(1.0 + 8.47 / 262.0)), own.last)
            .doubt_reason.empty());  // one: a finding
  CHECK(stood(scaled(usual_foot(), Vec3(1.0, 1.08, 1.0)), own.last)
            .doubt_reason.empty());  // wide: pressed, not pushed out

  Foot other_side = scaled(usual_foot(), Vec3(1.0, -1.0, 1.0));
  for (Triangle& t : other_side.mesh.triangles) std::swap(t[1], t[2]);
  std::swap(other_side.landmarks.first_joint, other_side.landmarks.fifth_joint);
  std::reverse(other_side.landmarks.toe_tips.begin(), other_side.landmarks.toe_tips.end());
  CHECK_FALSE(stood(other_side, own.last).doubt_reason.empty());
}

TEST_CASE("a foot wider than the last is not squeezed out forwards") {
  const OwnLast own = own_last(usual_foot(), 5.0, 3.0);
  const Registration found = stood(scaled(usual_foot(), Vec3(1.0, 1.08, 1.0)), own.last);
  const double forwards_mm = (found.last_from_foot.translation() - own.truth.last_from_foot.translation()).x();
  // 8 % of 69 mm of heel is 2.8 mm a side; a wedge of the heel's slope would let it out by several times that.
  CHECK(std::abs(forwards_mm) < 1.0);
}

TEST_CASE("a point set by hand pulls, and does not decide alone") {
  const OwnLast own = own_last(usual_foot(), 5.0, 3.0);
  Foot by_hand = usual_foot();
  const double before = stood(by_hand, own.last).hinge.point_mm.x();
  by_hand.landmarks.first_joint.x() -= 5.0;
  by_hand.landmarks.fifth_joint.x() -= 5.0;
  const auto heel_x = [&](const Registration& r) { return (r.last_from_foot * by_hand.landmarks.heel).x(); };
  const double found = heel_x(stood(by_hand, own.last));
  by_hand.landmarks.by_hand = {false, true, true};
  const double told = heel_x(stood(by_hand, own.last));
  CHECK(before > 0.0);
  CHECK(told > found);        // pulled forwards, towards the maker's joint line
  CHECK(told - found < 2.5);  // and less than half of the 5 mm: the skin has the larger say
}

TEST_CASE("what the room leaves open is in the covariance") {
  const OwnLast own = own_last(usual_foot(), 5.0, 3.0);
  const Registration found = stood(usual_foot(), own.last);
  const Eigen::SelfAdjointEigenSolver<PoseCovariance> eigen(found.covariance);
  CHECK(eigen.eigenvalues().minCoeff() > 0.0);
  // Noise-free skin that fits perfectly: only the unknown room is left. Its spread of 0.7 to 1 mm a part, over the
  // dozen parts that hold, can't leave less than 0.7 / sqrt(12), nor more than one part alone would.
  CHECK(found.position_doubt_mm > 0.2);
  CHECK(found.position_doubt_mm < 1.0);
  CHECK_FALSE(found.weakest.empty());
}

TEST_CASE("what a scanner is known to err by does not hide what an unloaded foot lacks") {
  // 6.65 % of 100 mm, half of it on either side (registration.h); half of that for half of the weight.
  CHECK(scan_error_mm(ScanLoad::full) == 1.0);
  CHECK(scan_error_mm(ScanLoad::full, 0.3) == 0.3);
  CHECK(scan_error_mm(ScanLoad::none, 0.3) == WithinMm{std::hypot(0.3, 3.325), 1e-12});
  CHECK(scan_error_mm(ScanLoad::half, 0.3) == WithinMm{std::hypot(0.3, 3.325 / 2.0), 1e-12});
}

}  // namespace lastroom
