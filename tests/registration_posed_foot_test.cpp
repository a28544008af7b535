#include <doctest/doctest.h>

#include <numbers>

#include "near.h"
#include "registration/registration.h"

namespace lastroom {
namespace {

using test::WithinMm;

constexpr double kRadPerDeg = std::numbers::pi / 180.0;
constexpr double kLengthMm = 260.0;

FootLandmarks landmarks() {
  FootLandmarks marks;
  marks.heel = {0.0, 0.0, 20.0};
  marks.first_joint = {192.0, 45.0, 20.0};
  marks.fifth_joint = {166.0, -52.0, 12.0};
  marks.toe_tips[1] = {kLengthMm, 0.0, 15.0};
  return marks;
}

Registration tilted(double hinge_deg) {
  Registration registration;
  registration.last_from_foot.translate(Vec3(3.0, -2.0, 5.0))
      .rotate(Eigen::AngleAxisd(0.2, Vec3(0.2, 1.0, -0.1).normalized()));
  const Hinge in_foot = hinge_in_foot(landmarks());
  registration.hinge.point_mm = registration.last_from_foot * in_foot.point_mm;
  registration.hinge.axis = registration.last_from_foot.linear() * in_foot.axis;
  registration.hinge.angle_deg = hinge_deg;
  return registration;
}

}  // namespace

TEST_CASE("the hinge lies where the contract says") {
  const Hinge hinge = hinge_in_foot(landmarks());
  CHECK(hinge.point_mm.x() == WithinMm{179.0, 1e-9});
  CHECK(hinge.point_mm.y() == WithinMm{-3.5, 1e-9});
  CHECK(hinge.point_mm.z() == WithinMm{0.06 * kLengthMm, 1e-9});
  CHECK(hinge.axis.z() == WithinMm{0.0, 1e-12});  // level in the standing foot
  CHECK(hinge.axis.norm() == WithinMm{1.0, 1e-12});
}

TEST_CASE("behind the joints the foot moves as one body, before them it is turned: positive lifts the toes") {
  const Vec3 heel(10.0, 5.0, 8.0), toe(250.0, 20.0, 5.0);
  const PosedFoot flat(landmarks(), tilted(0.0)), bent(landmarks(), tilted(20.0));
  const Motion rear = tilted(0.0).last_from_foot;
  CHECK((flat(heel) - rear * heel).norm() == WithinMm{0.0, 1e-12});
  CHECK((bent(heel) - rear * heel).norm() == WithinMm{0.0, 1e-12});
  CHECK((flat(toe) - rear * toe).norm() == WithinMm{0.0, 1e-12});
  const Vec3 lift = rear.linear().transpose() * (bent(toe) - flat(toe));
  // By hand: the toe is r in front of the axis and h above it; turned by 20 degrees it rises by r sin 20 - h (1 - cos
  // 20).
  const Hinge hinge = hinge_in_foot(landmarks());
  const Vec3 forward = Vec3::UnitZ().cross(hinge.axis);
  const double r = (toe - hinge.point_mm).dot(forward), h = toe.z() - hinge.point_mm.z();
  CHECK(lift.z() == WithinMm{r * std::sin(20.0 * kRadPerDeg) - h * (1.0 - std::cos(20.0 * kRadPerDeg)), 1e-9});
  CHECK(lift.z() > 20.0);
}

TEST_CASE("the turn is blended over 15 mm without a jump or a kink") {
  const PosedFoot bent(landmarks(), tilted(30.0));
  const Hinge hinge = hinge_in_foot(landmarks());
  const Vec3 forward = Vec3::UnitZ().cross(hinge.axis);
  constexpr double kStepMm = 0.05;
  const auto at = [&](double before_mm) { return bent(hinge.point_mm + before_mm * forward + 15.0 * Vec3::UnitZ()); };
  const PosedFoot flat(landmarks(), tilted(0.0));
  const auto unbent = [&](double before_mm) {
    return flat(hinge.point_mm + before_mm * forward + 15.0 * Vec3::UnitZ());
  };
  CHECK((at(-7.6) - unbent(-7.6)).norm() == WithinMm{0.0, 1e-12});
  for (double s = -12.0; s < 12.0; s += kStepMm) {
    CAPTURE(s);
    // Stretch: 30 degrees over 15 mm, at most 1.5 of the mean for a cubic, on an arm under 20 mm: 1.05 mm a mm more.
    CHECK((at(s + kStepMm) - at(s)).norm() < 2.1 * kStepMm);
    // Bend per mm, at most: share'' * angle * arm + (share' * angle)^2 * arm + 2 * share' * angle, with a cubic's
    // share'' of 6 / 15^2, its share' of 1.5 / 15, 0.52 rad and an arm of 17 mm: 0.24 + 0.05 + 0.10.
    CHECK((at(s + kStepMm) - 2.0 * at(s) + at(s - kStepMm)).norm() < 0.39 * kStepMm * kStepMm + 1e-9);
  }
  const Vec3 a(215.0, 10.0, 5.0), b(250.0, -20.0, 12.0);  // beyond the blend the fore part is rigid
  CHECK((bent(a) - bent(b)).norm() == WithinMm{(a - b).norm(), 1e-9});
}

TEST_CASE("the derivative by the seven unknowns agrees with finite differences") {
  const Registration at = tilted(14.0);
  const PosedFoot posed(landmarks(), at);
  constexpr double kStep = 1e-5;
  for (const Vec3& p : {Vec3(5, 3, 30), Vec3(120, -30, 10), Vec3(178, 5, 40), Vec3(182, -3, 2), Vec3(245, 30, 10)}) {
    const Eigen::Matrix<double, 3, 7> jacobian = posed.jacobian(p);
    for (int k = 0; k < 7; ++k) {
      CAPTURE(k);
      const auto moved_by = [&](double step) {
        Registration other = at;
        if (k < 3) {
          Motion turn = Motion::Identity();
          turn.translate(at.hinge.point_mm)
              .rotate(Eigen::AngleAxisd(step, Vec3::Unit(k)))
              .translate(-at.hinge.point_mm);
          other.last_from_foot = turn * at.last_from_foot;
        } else if (k < 6) {
          other.last_from_foot.pretranslate(step * Vec3::Unit(k - 3));
        } else {
          other.hinge.angle_deg += step / kRadPerDeg;
        }
        return PosedFoot(landmarks(), other)(p);
      };
      const Vec3 difference = (moved_by(kStep) - moved_by(-kStep)) / (2.0 * kStep);
      // Central differences err by step^2 * third derivative / 6 (arm of 200 mm: 3e-9) and rounding 1e-13 / step =
      // 1e-8.
      CHECK((difference - jacobian.col(k)).norm() == WithinMm{0.0, 1e-6});
    }
  }
}

}  // namespace lastroom
