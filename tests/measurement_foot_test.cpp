#include <doctest/doctest.h>

#include <numbers>

#include "made.h"
#include "makehuman_feet.h"
#include "measurement/measure.h"
#include "measurement/stations.h"
#include "near.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

/// A tube along x with half-axes a (y) and b (z), open at both ends, floor at z = 0, as a foot with these landmarks.
Foot elliptic_tube(double a, double b, double length_mm) {
  constexpr std::uint32_t kRound = 720, kLong = 60;
  Foot foot;
  for (std::uint32_t i = 0; i <= kLong; ++i)
    for (std::uint32_t j = 0; j < kRound; ++j) {
      const double angle = 2.0 * std::numbers::pi * j / kRound;
      foot.mesh.vertices.emplace_back(length_mm * i / kLong, a * std::cos(angle), b + b * std::sin(angle));
    }
  for (std::uint32_t i = 0; i < kLong; ++i)
    for (std::uint32_t j = 0; j < kRound; ++j) {
      const std::uint32_t p = i * kRound + j, q = i * kRound + (j + 1) % kRound;
      foot.mesh.triangles.push_back({p, q, p + kRound});
      foot.mesh.triangles.push_back({q, q + kRound, p + kRound});
    }
  foot.landmarks.heel = {0.0, 0.0, b};
  foot.landmarks.first_joint = {0.73 * length_mm, a, b};
  foot.landmarks.fifth_joint = {0.65 * length_mm, -a, b};
  for (std::size_t toe = 0; toe < 5; ++toe)
    foot.landmarks.toe_tips[toe] = {length_mm - 5.0 * static_cast<double>(toe), 0.0, b};
  return foot;
}

/// Perimeter of an ellipse by the arithmetic-geometric mean (Gauss): 2 pi (a^2 - sum 2^(n-1) c_n^2) / M(a, b).
double ellipse_mm(double a, double b) {
  double x = std::max(a, b), y = std::min(a, b), sum = x * x - (x * x - y * y) / 2.0, power = 0.5;
  while (x - y > 1e-14 * x) {
    const double c = (x - y) / 2.0, next = (x + y) / 2.0;
    power *= 2.0;
    sum -= power * c * c;
    y = std::sqrt(x * y);
    x = next;
  }
  return 2.0 * std::numbers::pi * sum / x;
}

}  // namespace

TEST_CASE("girths and widths of an elliptic tube are those of ellipses") {
  const double a = 48.0, b = 30.0, length_mm = 260.0;
  const FootMeasures m = measure_foot(elliptic_tube(a, b, length_mm));
  // 720 chords fall short of the arc by a share of (pi/720)^2/6 = 3e-6: under 0.001 mm.
  CHECK(m.waist_girth.mm == WithinMm{ellipse_mm(a, b), 0.002});
  CHECK(m.instep_girth.mm == WithinMm{ellipse_mm(a, b), 0.002});
  // The tape over the joints runs obliquely: it stretches across to half the distance between the joints.
  const double oblique = std::hypot(a, 0.04 * length_mm);
  CHECK(m.joint_girth.mm == WithinMm{ellipse_mm(oblique, b), 0.002});
  CHECK(m.joint_girth.loop_mm.size() > 100);
  // Round the lower edge of the tube's end and over its top at 55 % of the length (the only number of ours here): an
  // oblique plane cuts a tube in an ellipse whose one axis is that distance.
  CHECK(m.heel_girth.mm == WithinMm{ellipse_mm(a, 0.5 * std::hypot(0.55 * length_mm, 2.0 * b)), 0.002});
  CHECK(m.length_mm == WithinMm{length_mm, 1e-9});
  CHECK(m.longest_toe == 1);
  CHECK(m.joint_width_mm == WithinMm{2.0 * a, 1e-9});
  CHECK(m.heel_to_joint_mm == WithinMm{0.73 * length_mm, 1e-9});
  CHECK(m.heel_to_fifth_joint_mm == WithinMm{0.65 * length_mm, 1e-9});
  CHECK(m.heel_width_mm == WithinMm{2.0 * a, 0.002});  // the widest place, z = 30, is below 40 mm
  CHECK(m.instep_height_mm == WithinMm{2.0 * b, 0.001});
  CHECK(m.big_toe_height_mm == WithinMm{2.0 * b, 0.001});
}

TEST_CASE("a made foot measures as it was ordered") {
  FootShape shape;
  const FootMeasures m = measure_foot(prepared(make_foot(shape)));
  // make_foot keeps its promises within 0.4 mm (length), 0.8 mm (widths, heights) and 2.5 mm (girth); its mesh sags by
  // edge^2 / 8R = 0.05 mm more.
  CHECK(m.length_mm == WithinMm{shape.length_mm, 0.5});
  CHECK(m.joint_width_mm == WithinMm{shape.joint_width_mm, 0.9});
  CHECK(m.joint_girth.mm == WithinMm{shape.joint_girth_mm, 2.6});
  CHECK(m.heel_width_mm == WithinMm{shape.heel_width_mm, 0.9});
  CHECK(m.heel_to_joint_mm == WithinMm{shape.heel_to_joint_mm, 0.9});
  CHECK(m.big_toe_height_mm == WithinMm{shape.big_toe_height_mm, 1.5});  // the joint's place is a fixed share of length
  CHECK(m.fifth_toe_height_mm == WithinMm{shape.fifth_toe_height_mm, 1.5});
  CHECK(m.outside_population.empty());
}

TEST_CASE("the MakeHuman foot measures as its own vertices say") {
  if (!makehuman_is_here()) return;
  const MadeFoot made = makehuman_foot(Side::right);
  const FootMeasures m = measure_foot(prepared(made));
  double front = 0.0, inside = -1e9, outside = 1e9;
  const double station = kHeelWidthStation * bounds(made.mesh).high.x();
  for (const Vec3& p : made.mesh.vertices) {
    front = std::max(front, p.x());
    if (std::abs(p.x() - station) < 1.5 && p.z() < kHeelWidthBelow_mm) {
      inside = std::max(inside, p.y());
      outside = std::min(outside, p.y());
    }
  }
  CHECK(m.length_mm == WithinMm{front, 1e-9});
  CHECK(m.heel_width_mm == WithinMm{inside - outside, 1.0});  // the heel's sides run at up to 20 degrees over 1.5 mm
  CHECK(m.joint_width_mm == WithinMm{made.first_joint.y() - made.fifth_joint.y(), 1e-9});
  // A tape is at least as long as twice the way between its two ends, and at most as the box around it.
  const double way = (made.first_joint - made.fifth_joint).norm();
  CHECK(m.joint_girth.mm > 2.0 * way);
  CHECK(m.joint_girth.mm < 2.0 * (way + 60.0));
  CHECK(m.waist_girth.mm < m.joint_girth.mm);
  CHECK(m.instep_girth.mm < m.joint_girth.mm);
}

TEST_CASE("proportions outside the population are told with their source") {
  const FootMeasures wide =
      measure_foot(elliptic_tube(60.0, 30.0, 260.0));  // width / length 0.46; ANSUR II: at most 0.421
  REQUIRE_FALSE(wide.outside_population.empty());
  bool told = false;
  for (const Message& remark : wide.outside_population) {
    const std::string sentence = english(remark);
    told = told ||
           (sentence.find("Joint width by length is 0.462") == 0 && sentence.find("ANSUR II") != std::string::npos);
  }
  CHECK(told);
  const FootMeasures child = measure_foot(elliptic_tube(30.0, 20.0, 170.0));
  CHECK(english(child.outside_population.front()).find("Foot length is 170 mm") == 0);
}
