#include <doctest/doctest.h>

#include <numbers>

#include "made.h"
#include "measurement/measure.h"
#include "near.h"

using namespace lastroom;
using lastroom::test::WithinMm;

namespace {

/// An elliptic tube of 400 mm along x with a flat centre line under it, as if it were a last with joints where it is
/// asked.
Last tube(double half_width_mm, double half_height_mm, double first_x, double fifth_x) {
  constexpr int kAround = 720, kAlong = 101;
  Last last;
  for (int i = 0; i < kAlong; ++i)
    for (int j = 0; j < kAround; ++j) {
      const double angle = 2.0 * std::numbers::pi * j / kAround;
      last.mesh.vertices.emplace_back(-50.0 + 4.0 * i, half_width_mm * std::cos(angle),
                                      half_height_mm * (1.0 + std::sin(angle)));
    }
  const auto id = [](int i, int j) { return static_cast<std::uint32_t>(i * kAround + j % kAround); };
  for (int i = 0; i + 1 < kAlong; ++i)
    for (int j = 0; j < kAround; ++j) {
      last.mesh.triangles.push_back({id(i, j), id(i + 1, j + 1), id(i + 1, j)});
      last.mesh.triangles.push_back({id(i, j), id(i, j + 1), id(i + 1, j + 1)});
    }
  for (int x = 0; x <= 280; x += 2) last.centre_line.emplace_back(x, 0.0, 0.0);
  last.heel_back = Vec3(-2.0, 0.0, 20.0);
  last.toe_end = Vec3(281.0, 0.0, 10.0);
  last.first_joint = Vec3(first_x, half_width_mm, half_height_mm);
  last.fifth_joint = Vec3(fifth_x, -half_width_mm, half_height_mm);
  last.tread = Vec3(180.0, 0.0, -3.0);
  return last;
}

/// Ramanujan's second formula for the perimeter of an ellipse (1914); from memory, its error is below 1e-6 here.
double ellipse_perimeter(double a, double b) {
  const double h = (a - b) * (a - b) / ((a + b) * (a + b));
  return std::numbers::pi * (a + b) * (1.0 + 3.0 * h / (10.0 + std::sqrt(4.0 - 3.0 * h)));
}

}  // namespace

TEST_CASE("girths of an elliptic tube are perimeters of ellipses") {
  const LastMeasures m = measure_last(tube(48.0, 30.0, 190.0, 165.0));
  // 720 corners: a polygon is shorter by (pi/720)^2/6 of 250 mm, far below 0.01.
  CHECK(m.waist_girth.mm == WithinMm{ellipse_perimeter(48.0, 30.0), 0.01});
  CHECK(m.instep_girth.mm == WithinMm{ellipse_perimeter(48.0, 30.0), 0.01});
  // Obliquely over both joints the width is the distance between them in plan.
  CHECK(m.joint_girth.mm == WithinMm{ellipse_perimeter(0.5 * std::hypot(25.0, 96.0), 30.0), 0.05});
  // From the lower edge of the tube's end (x = -50) over its top at 55 % of the foot that belongs to this joint: an
  // oblique plane cuts a tube in an ellipse whose one axis is that distance.
  const double instep_mm = -2.0 + 0.55 * 192.0 / 0.74;
  CHECK(m.heel_girth.mm == WithinMm{ellipse_perimeter(48.0, 0.5 * std::hypot(instep_mm + 50.0, 60.0)), 0.02});
  CHECK(m.joint_width_mm == WithinMm{96.0, 1e-9});
}

TEST_CASE("lengths and heights by their definitions") {
  const LastMeasures m = measure_last(tube(48.0, 30.0, 190.0, 165.0));
  CHECK(m.length_mm == WithinMm{280.0, 1e-9});
  CHECK(m.stick_length_mm == WithinMm{283.0, 1e-9});
  CHECK(m.heel_to_joint_mm == WithinMm{192.0, 1e-9});
  CHECK(m.heel_to_fifth_joint_mm == WithinMm{167.0, 1e-9});
  CHECK(m.heel_height_mm == WithinMm{3.0, 1e-9});
  CHECK(m.toe_spring_mm == WithinMm{3.0, 1e-9});
}

TEST_CASE("a made last measures as its foot with the room added") {
  const MadeFoot foot = make_foot({});
  LastShape shape;
  shape.heel_height_mm = 0.0;  // so that foot and last are cut at the same places
  shape.toe_spring_mm = 3.0;
  const LastMeasures last = measure_last(test::prepared(make_last(foot, shape)));
  const FootMeasures bare = measure_foot(test::prepared(foot));
  CHECK(last.heel_height_mm == WithinMm{0.0, 0.1});
  CHECK(last.toe_spring_mm == WithinMm{3.0, 0.1});
  CHECK(last.joint_width_mm - bare.joint_width_mm == WithinMm{shape.room.inside_joint + shape.room.outside_joint, 1.0});
  // A convex loop moved out by r grows by 2 pi r (Steiner); r here lies between 0 (tread) and 0.8 (top), and the taped
  // hull of a foot has hollows the last fills: up to 2 pi 0.8 and some.
  CHECK(last.joint_girth.mm - bare.joint_girth.mm > -3.0);
  CHECK(last.joint_girth.mm - bare.joint_girth.mm < 2.0 * std::numbers::pi * 0.8 + 3.0);
}
