// Truth by settling is held against formulas and another search before anything is held against it; lasts from numbers
// against the numbers.
#include <doctest/doctest.h>

#include <cmath>
#include <map>
#include <numbers>

#include "geometry_shapes.h"
#include "made.h"
#include "settled_truth.h"
#include "trade_lasts.h"

namespace lastroom::test {
namespace {

/// A body with the landmarks of a foot of `length_mm` that begins at x = 0, joints so far ahead that nothing turns.
Foot stiff_foot(double length_mm) {
  Foot foot;
  foot.landmarks.first_joint = Vec3(1000.0, 40.0, 0.0);
  foot.landmarks.fifth_joint = Vec3(1000.0, -40.0, 0.0);
  for (Vec3& tip : foot.landmarks.toe_tips) tip = Vec3(length_mm, 0.0, 0.0);
  return foot;
}

Mesh box_from(const Vec3& low, const Vec3& high) {
  Mesh box = box_mesh(high - low);
  for (Vec3& v : box.vertices) v += 0.5 * (low + high);
  return box;
}

/// Even pieces of a rectangle from `corner` along two edges.
void add_face(std::vector<Contact>& skin, const Vec3& corner, const Vec3& u, const Vec3& v, Contact::Part part) {
  constexpr int kPieces = 20;
  for (int i = 0; i < kPieces; ++i)
    for (int j = 0; j < kPieces; ++j)
      skin.push_back(
          {corner + (i + 0.5) / kPieces * u + (j + 0.5) / kPieces * v, u.cross(v).norm() / (kPieces * kPieces), part});
}

std::map<int, int> edges_by_faces(const Mesh& mesh) {
  std::map<std::pair<std::uint32_t, std::uint32_t>, int> edges;
  for (const Triangle& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) ++edges[std::minmax(t[k], t[(k + 1) % 3])];
  std::map<int, int> count;
  for (const auto& [edge, faces] : edges) ++count[faces];
  return count;
}

MadeFoot coarse_made_foot() {
  FootShape shape;
  shape.edge_mm = 3.5;
  return make_foot(shape);
}

}  // namespace

TEST_CASE("the tests' own distance is a box's by formula") {
  const LastWall wall(box_from(Vec3(-30.0, -20.0, -10.0), Vec3(30.0, 20.0, 10.0)));
  CHECK(wall.at(Vec3(0.0, 0.0, 7.0)).outside_mm == doctest::Approx(-3.0));
  CHECK(wall.at(Vec3(5.0, 1.0, 14.0)).outside_mm == doctest::Approx(4.0));
  CHECK(wall.at(Vec3(33.0, 0.0, 14.0)).outside_mm == doctest::Approx(5.0));   // an edge, 3-4-5
  CHECK(wall.at(Vec3(32.0, 21.0, 12.0)).outside_mm == doctest::Approx(3.0));  // a corner, 2-1-2
  CHECK(wall.at(Vec3(33.0, 0.0, 14.0)).normal.isApprox(Vec3(0.6, 0.0, 0.8), 1e-9));
  CHECK(wall.reach_mm(Vec3(0.0, 0.0, 0.0), -Vec3::UnitX()).value() == doctest::Approx(30.0));
}

TEST_CASE("a ball pressed into a floor: the foundation's energy by formula") {
  // Elastic foundation: skin of a ball of radius R that stands d out of a plane. Its area by height is 2 pi R du, so
  // the energy is k/2 times the integral of (d - u)^2 2 pi R du = pi R k d^3 / 3.
  constexpr double kRadius = 40.0, kDepth = 3.0;
  const Mesh ball = ellipsoid(Vec3::Constant(kRadius), 40);
  const LastWall wall(box_from(Vec3(-200.0, -200.0, -kRadius + kDepth), Vec3(200.0, 200.0, 300.0)));
  const std::vector<double> areas = vertex_areas_mm2(ball);
  std::vector<Contact> skin;
  for (std::size_t i = 0; i < areas.size(); ++i) skin.push_back({ball.vertices[i], areas[i], Contact::Part::other});
  Physics physics;
  physics.fastening_N = 0.0;
  const double energy = energy_Nmm(stiff_foot(100.0), skin, wall, physics, {});
  // Pieces of about 0.8 mm: the depth is uneven by 0.8^2 / (8 R) = 0.002 mm, and the circle's border by a piece in 31.
  CHECK(energy ==
        doctest::Approx(std::numbers::pi * kRadius * physics.sides_N_mm3 * std::pow(kDepth, 3.0) / 3.0).epsilon(0.02));
}

TEST_CASE("a box in a longer box: the heel is home, pressed by what the fastening pulls back") {
  std::vector<Contact> skin;
  const Vec3 x(250.0, 0.0, 0.0), y(0.0, 80.0, 0.0), z(0.0, 0.0, 60.0), corner(0.0, -40.0, 0.0);
  add_face(skin, corner, x, y, Contact::Part::seat);
  add_face(skin, corner, y, z, Contact::Part::heel_cup);
  add_face(skin, corner + x, y, z, Contact::Part::other);
  add_face(skin, corner + z, x, y, Contact::Part::other);
  add_face(skin, corner, x, z, Contact::Part::side);
  add_face(skin, corner + y, x, z, Contact::Part::side);
  const LastWall wall(box_from(Vec3(0.0, -41.0, 0.0), Vec3(275.0, 41.0, 64.0)));
  SettledPose start;
  start.last_from_foot.translate(Vec3(12.0, 0.5, 1.0));
  const Physics physics;
  const SettledPose pose = settled(stiff_foot(250.0), skin, wall, physics, start);
  const Vec3 back_middle = pose.last_from_foot * Vec3(0.0, 0.0, 30.0);
  // Force balance along x: stiffness times the face's area times its mean depth.
  const double pulled_N = physics.fastening_N * std::cos(physics.fastening_down_deg * std::numbers::pi / 180.0);
  CHECK(-back_middle.x() == doctest::Approx(pulled_N / (physics.heel_cup_N_mm3 * 80.0 * 60.0)).epsilon(0.02));
  // And down: the sole already carries the weight, so that only the fastening presses it further.
  const Vec3 sole_middle = pose.last_from_foot * Vec3(125.0, 0.0, 0.0);
  CHECK(-sole_middle.z() == doctest::Approx(pulled_N / (physics.heel_pad_N_mm3 * 250.0 * 80.0)).epsilon(0.02));
  CHECK(std::abs(sole_middle.y()) < 0.02);  // a millimetre of room on either side: in the middle
}

TEST_CASE("a foot in its own skin does not move") {
  const Foot foot = prepared(coarse_made_foot());
  const LastWall wall(foot.mesh);
  Physics physics;
  physics.fastening_N = 0.0;  // nothing presses then, and every energy is least at room 0
  SettledPose start;
  start.last_from_foot.translate(Vec3(2.0, -1.0, 1.5));
  start.hinge_deg = 4.0;
  const SettledPose pose = settled(foot, contacts(foot), wall, physics, start);
  // The descent ends at steps of 0.002 mm; the force that is left then is that of about ten such.
  CHECK(pose.last_from_foot.translation().norm() < 0.1);
  CHECK(std::abs(pose.hinge_deg) < 0.2);
}

TEST_CASE("no search by single steps finds less energy than the descent") {
  const MadeFoot made = coarse_made_foot();
  const Foot foot = prepared(made);
  const TradeLast last = trade_last({}, 3.5);
  const LastWall wall(last.made.mesh, last.cut);
  const std::vector<Contact> skin = contacts(foot);
  const Physics physics;
  const SettledPose pose = settled(foot, skin, wall, physics, start_in(foot, last.made));
  const double least = energy_Nmm(foot, skin, wall, physics, pose, pose);
  const Vec3 joint(foot.landmarks.first_joint.x(), 0.0, 0.0);
  for (int parameter = 0; parameter < 7; ++parameter)
    for (const double step_mm : {-3.0, -1.0, -0.3, 0.3, 1.0, 3.0}) {
      CAPTURE(parameter);
      CAPTURE(step_mm);
      SettledPose other = pose;
      if (parameter < 3) other.last_from_foot.pretranslate(step_mm * Vec3::Unit(parameter));
      if (parameter >= 3 && parameter < 6) {
        other.last_from_foot.translate(joint);
        other.last_from_foot.rotate(Eigen::AngleAxisd(step_mm / 100.0, Vec3::Unit(parameter - 3)));
        other.last_from_foot.translate(-joint);
      }
      if (parameter == 6) other.hinge_deg += step_mm;
      // Forces of 0.1 N, over 0.3 mm or more: what the descent leaves.
      CHECK(energy_Nmm(foot, skin, wall, physics, other, pose) > least - 0.1 * std::abs(step_mm));
    }
}

TEST_CASE("a last from numbers has them, and is a body") {
  TradeNumbers numbers;
  for (const double heel_mm : {0.0, 30.0, 60.0})
    for (const bool open : {false, true}) {
      CAPTURE(heel_mm);
      numbers.heel_height_mm = heel_mm;
      numbers.open_at_top = open;
      const TradeLast last = trade_last(numbers, 3.5);
      const std::map<int, int> faces = edges_by_faces(last.made.mesh);
      CHECK(faces.count(2) == 1);
      CHECK(faces.count(1) == (open ? 1u : 0u));
      CHECK(faces.size() == (open ? 2u : 1u));
      CHECK(volume_mm3(last.made.mesh) > 5e5);  // outward: a last of this size holds a litre or so
      const LastMeasures m = measure_last(prepared(last.made));
      CHECK(std::abs(m.heel_height_mm - heel_mm) < 0.5);
      CHECK(std::abs(m.toe_spring_mm - numbers.toe_spring_mm) < 1.0);
      CHECK(std::abs(m.heel_width_mm - numbers.heel_width_mm) < 1.0);
      // Sections of 3.5 mm, and stations that the two find apart by some: a girth grows by 1 mm in 3 along the instep.
      // On a high heel measure_last's stations, by x, lie elsewhere than the numbers', along the bottom.
      if (heel_mm > 45.0) continue;
      CHECK(std::abs(m.joint_girth.mm - numbers.joint_girth_mm) < 4.0);
      CHECK(std::abs(m.instep_girth.mm - numbers.instep_girth_mm) < 4.0);
    }
}

/// Heel height of a made last stood level at `x`, from its own centre line.
double level_at_mm(const MadeLast& made, double x) {
  const auto z = [&](double at) {
    const auto next = std::ranges::upper_bound(made.centre_line, at, {}, [](const Vec3& p) { return p.x(); });
    const Vec3 &a = *(next - 1), &b = *next;
    return a.z() + (at - a.x()) / (b.x() - a.x()) * (b.z() - a.z());
  };
  constexpr double kHalf_mm = 8.0;
  const double pitch_rad = std::atan((z(x + kHalf_mm) - z(x - kHalf_mm)) / (2.0 * kHalf_mm));
  const Vec3 up(-std::sin(pitch_rad), 0.0, std::cos(pitch_rad));
  double low = 1e9;
  for (const Vec3& p : made.centre_line)
    if (std::abs(p.x() - x) < 40.0) low = std::min(low, up.dot(p));
  return up.dot(made.centre_line.front()) - low;
}

/// Where the line over the joints crosses the middle.
double joint_line_x(const MadeLast& made) {
  const Vec3 &first = made.first_joint, &fifth = made.fifth_joint;
  return first.x() + first.y() / (first.y() - fifth.y()) * (fifth.x() - first.x());
}

TEST_CASE("a last thrown into a file stands upright again, with no heel and with one of 100 mm") {
  Dice dice(17);
  for (const double heel_mm : {0.0, 20.0, 40.0, 60.0, 80.0, 90.0, 100.0})
    for (const Side side : {Side::left, Side::right}) {
      CAPTURE(heel_mm);
      CAPTURE(side_name(side));
      TradeNumbers numbers;
      numbers.heel_height_mm = heel_mm;
      numbers.open_at_top = side == Side::left;
      MeshFile file;
      file.name = "last.stl";
      const MadeLast made = trade_last(numbers, 3.5).made;
      file.mesh = made.mesh;
      if (side == Side::left) file.mesh = mirrored_y(std::move(file.mesh));
      file.mesh = moved(std::move(file.mesh), dice.motion(300.0));
      const Last last = prepare_last(file);
      CHECK(last.side == side);
      const LastMeasures m = measure_last(last);
      // The frame is level under the joint line, these lasts some 12 mm in front of it. The line is found to 5 mm
      // (joints are the widest places, and 0.1 mm of width is 5 mm of length there), and a shank turns within them.
      const double x = joint_line_x(made), level_mm = level_at_mm(made, x);
      const double turns_mm =
          std::max(std::abs(level_at_mm(made, x - 5.0) - level_mm), std::abs(level_at_mm(made, x + 5.0) - level_mm));
      CHECK(std::abs(m.heel_height_mm - level_mm) < 1.0 + turns_mm);
      // What a calliper on the bench repeats to (common practice, no source).
      CHECK(std::abs(m.heel_width_mm - numbers.heel_width_mm) < 2.0);
    }
}

TEST_CASE("grading adds two thirds of a centimetre a size and a quarter of an inch a fitting") {
  const TradeNumbers base, larger = graded(base, {}, 2, 0), wider = graded(base, {}, 0, 1);
  CHECK(larger.length_mm - base.length_mm == doctest::Approx(40.0 / 3.0));
  CHECK(wider.joint_girth_mm - base.joint_girth_mm == doctest::Approx(6.35));
  CHECK(wider.length_mm == base.length_mm);
}

}  // namespace lastroom::test
