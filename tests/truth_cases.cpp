#include "truth_cases.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "made.h"
#include "makehuman_feet.h"
#include "zones/toes.h"

namespace lastroom::test {
namespace {

/// Proportions within the 1st to 99th percentile of ANSUR II (A1), the rest as the trade describes feet.
FootShape random_shape(Dice& dice) {
  FootShape shape;
  shape.length_mm = dice.uniform(225.0, 300.0);
  shape.joint_width_mm = shape.length_mm * dice.normal(0.376, 0.014);
  shape.joint_girth_mm = shape.joint_width_mm * dice.normal(2.47, 0.05);
  shape.heel_width_mm = shape.joint_width_mm * dice.normal(0.715, 0.035);
  shape.heel_to_joint_mm = shape.length_mm * dice.normal(0.739, 0.01);
  shape.big_toe_height_mm = dice.uniform(20.0, 24.0) * shape.length_mm / 260.0;
  shape.fifth_toe_height_mm = dice.uniform(14.0, 17.0) * shape.length_mm / 260.0;
  shape.arch_height_mm = dice.uniform(4.0, 26.0);
  shape.second_toe_longer_mm = dice.uniform(-9.0, 6.0);
  shape.bunion_mm = dice.chance(0.3) ? dice.uniform(3.0, 9.0) : 0.0;
  shape.bend_deg = dice.normal(8.3, 3.0);
  shape.leg_height_mm = dice.uniform(95.0, 170.0);
  shape.edge_mm = 2.2;
  return shape;
}

/// The rooms of the accuracy table; seat and tread within what a last that a foot stands on leaves.
LastShape random_last(Dice& dice) {
  LastShape last;
  last.heel_height_mm = dice.uniform(0.0, 70.0);
  last.toe_spring_mm = dice.uniform(3.0, 15.0);
  last.allowance_mm = dice.uniform(12.0, 25.0);
  last.toe = static_cast<ToeStyle>(dice.among(4));
  last.room.heel_back = dice.uniform(-0.5, 1.5);
  last.room.heel_sides = dice.uniform(0.0, 1.6);
  last.room.seat = dice.uniform(-0.3, 0.3);
  last.room.waist = dice.uniform(0.0, 1.6);
  last.room.arch = dice.uniform(0.5, 2.5);
  last.room.instep = dice.uniform(0.0, 1.6);
  last.room.inside_joint = dice.uniform(-0.3, 1.4);
  last.room.outside_joint = dice.uniform(-0.3, 1.4);
  last.room.joint_top = dice.uniform(-0.3, 1.4);
  last.room.tread = dice.uniform(-0.3, 0.3);
  last.room.big_toe_side = dice.uniform(2.0, 4.0);
  last.room.fifth_toe_side = dice.uniform(2.0, 4.0);
  last.room.toe_top = dice.uniform(3.0, 5.5);
  last.room.fifth_toe_top = dice.uniform(3.0, 5.5);
  last.open_at_top = dice.chance(0.5);
  return last;
}

/// Another foot out of a given one: longer, wider, higher, bent more, with or without a bunion.
MadeFoot warped(MadeFoot foot, Dice& dice) {
  const double along = dice.uniform(0.92, 1.15), across = along * dice.uniform(0.93, 1.08),
               up = along * dice.uniform(0.94, 1.08), bend = dice.uniform(-4.0, 4.0) * std::numbers::pi / 180.0,
               bunion_mm = dice.chance(0.3) ? dice.uniform(2.0, 7.0) : 0.0;
  const Vec3 joint = foot.first_joint;
  const double bend_from_mm = 0.45 * joint.x();
  const auto warp = [&](const Vec3& p) {
    Vec3 q = p;
    const double before_mm = std::max(0.0, p.x() - bend_from_mm);
    q.y() += 0.5 * std::tan(bend) * before_mm * before_mm / joint.x();
    q.y() += bunion_mm * std::exp(-(p - joint).squaredNorm() / (2.0 * 18.0 * 18.0));
    return Vec3(along * q.x(), across * q.y(), up * q.z());
  };
  for (Vec3& v : foot.mesh.vertices) v = warp(v);
  for (Vec3* mark : {&foot.heel, &foot.first_joint, &foot.fifth_joint}) *mark = warp(*mark);
  for (Vec3& tip : foot.toe_tips) tip = warp(tip);
  return foot;
}

void add_noise(Mesh& mesh, double spread_mm, Dice& dice) {
  for (Vec3& v : mesh.vertices)
    v += Vec3(dice.normal(0.0, spread_mm), dice.normal(0.0, spread_mm), dice.normal(0.0, spread_mm));
}

/// Holes where a scanner doesn't see: under the sole and between the toes.
void cut_holes(Mesh& mesh, const MadeFoot& foot, Dice& dice) {
  std::vector<std::pair<Vec3, double>> balls;
  const double length_mm = foot.toe_tips[0].x();
  for (int i = 0; i < 3; ++i)
    balls.push_back(
        {Vec3(dice.uniform(0.2, 0.65) * length_mm, dice.uniform(-20.0, 20.0), 0.0), dice.uniform(6.0, 14.0)});
  for (std::size_t toe = 0; toe < 4; ++toe) {
    Vec3 web = 0.5 * (foot.toe_tips[toe] + foot.toe_tips[toe + 1]) - Vec3(dice.uniform(12.0, 25.0), 0.0, 0.0);
    if (dice.chance(0.6)) balls.push_back({web, dice.uniform(4.0, 7.0)});
  }
  std::vector<std::uint8_t> keep(mesh.triangles.size(), 1);
  for (std::size_t i = 0; i < keep.size(); ++i)
    for (const auto& [middle, radius_mm] : balls)
      if ((mesh.vertices[mesh.triangles[i][0]] - middle).norm() < radius_mm) keep[i] = 0;
  mesh = submesh(mesh, keep);
}

void cut_leg(Mesh& mesh, double height_mm) {
  std::vector<std::uint8_t> keep(mesh.triangles.size());
  for (std::size_t i = 0; i < keep.size(); ++i) keep[i] = mesh.vertices[mesh.triangles[i][0]].z() < height_mm;
  mesh = submesh(mesh, keep);
}

void add_floor(Mesh& mesh, double noise_mm, Dice& dice) {
  constexpr int kSteps = 60;
  constexpr double kStepMm = 8.0;
  const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
  for (int i = 0; i <= kSteps; ++i)
    for (int j = 0; j <= kSteps; ++j)
      mesh.vertices.emplace_back(130.0 + (i - kSteps / 2) * kStepMm, (j - kSteps / 2) * kStepMm,
                                 -0.2 + dice.normal(0.0, noise_mm));
  constexpr std::uint32_t kRow = kSteps + 1;
  for (std::uint32_t i = 0; i < kSteps; ++i)
    for (std::uint32_t j = 0; j < kSteps; ++j) {
      const std::uint32_t a = first + i * kRow + j;
      mesh.triangles.push_back({a, a + kRow, a + kRow + 1});
      mesh.triangles.push_back({a, a + kRow + 1, a + 1});
    }
}

MeshFile as_file(std::string name, Mesh mesh, const Motion& file_from_worn, Side side, LengthUnit units) {
  if (side == Side::left) mesh = mirrored_y(mesh);
  MeshFile file;
  file.name = std::move(name);
  file.mesh = moved(mesh, file_from_worn);
  for (Vec3& v : file.mesh.vertices) v /= mm_per(units);
  file.vertices_in_file = file.mesh.vertices.size();
  file.triangles_in_file = file.mesh.triangles.size();
  return file;
}

}  // namespace

double Dice::normal(double mean, double spread) {
  // Box and Muller, Ann. Math. Stat. 1958.
  const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform(0.0, 1.0)));
  const double value = radius * std::cos(2.0 * std::numbers::pi * uniform(0.0, 1.0));
  return mean + spread * std::clamp(value, -3.0, 3.0);
}

Motion Dice::motion(double reach_mm) {
  // Shoemake 1992: uniform over rotations.
  const double u = uniform(0.0, 1.0), a = uniform(0.0, 2.0 * std::numbers::pi),
               b = uniform(0.0, 2.0 * std::numbers::pi);
  const Eigen::Quaterniond turn(std::sqrt(1.0 - u) * std::sin(a), std::sqrt(1.0 - u) * std::cos(a),
                                std::sqrt(u) * std::sin(b), std::sqrt(u) * std::cos(b));
  Motion motion = Motion::Identity();
  const double x = uniform(-reach_mm, reach_mm), y = uniform(-reach_mm, reach_mm), z = uniform(-reach_mm, reach_mm);
  motion.translate(Vec3(x, y, z)).rotate(turn.normalized());
  return motion;
}

MadeFoot random_foot(Dice& dice, FootSource source) {
  if (source == FootSource::makehuman) return warped(makehuman_foot(Side::right), dice);
  while (true) try {
      return make_foot(random_shape(dice));
    } catch (const std::invalid_argument&) {  // no foot has these measures together: draw another
    }
}

TruthCase truth_case(unsigned seed, FootSource source) {
  Dice dice(seed);
  TruthCase result;
  result.seed = seed;
  result.source = source;
  result.foot_shape = random_shape(dice);
  result.last_shape = random_last(dice);
  if (source == FootSource::makehuman) result.foot = warped(makehuman_foot(Side::right), dice);
  while (result.foot.mesh.vertices.empty()) try {
      result.foot = make_foot(result.foot_shape);
    } catch (const std::invalid_argument&) {  // no foot has these measures together: draw another
      result.foot_shape = random_shape(dice);
    }
  result.last = make_last(result.foot, result.last_shape);
  const Foot foot = prepared(result.foot);
  result.truth.last_from_foot = result.last.last_from_foot;
  result.truth.hinge = hinge_in_foot(foot.landmarks);
  result.truth.hinge.point_mm = result.last.last_from_foot * result.truth.hinge.point_mm;
  result.truth.hinge.axis = result.last.last_from_foot.linear() * result.truth.hinge.axis;
  result.truth.hinge.angle_deg = result.last.hinge_deg;
  return result;
}

Dirt random_dirt(Dice& dice) {
  constexpr std::array<LengthUnit, 4> kUnits = {LengthUnit::millimetre, LengthUnit::centimetre, LengthUnit::metre,
                                                LengthUnit::inch};
  Dirt dirt;
  dirt.side = dice.chance(0.5) ? Side::left : Side::right;
  dirt.scan_units = kUnits[static_cast<std::size_t>(dice.among(4))];
  dirt.last_units = kUnits[static_cast<std::size_t>(dice.among(4))];
  dirt.noise_mm = dice.uniform(0.2, 0.8);
  if (dice.chance(0.5)) dirt.leg_cut_mm = dice.uniform(80.0, 160.0);
  dirt.holes = dice.chance(0.5);
  dirt.floor = dice.chance(0.25);
  dirt.bare_points = dice.chance(0.15);
  return dirt;
}

std::string Dirt::words() const {
  std::string words(side_name(side));
  words += ", " + std::string(unit_name(scan_units)) + "/" + std::string(unit_name(last_units));
  if (holes) words += ", holes";
  if (floor) words += ", floor";
  if (leg_cut_mm < 1e6) words += ", short leg";
  if (bare_points) words += ", points";
  return words;
}

DirtyPair dirty(const TruthCase& clean, const Dirt& dirt, Dice& dice) {
  Mesh scan = clean.foot.mesh;
  cut_leg(scan, dirt.leg_cut_mm);
  if (dirt.holes) cut_holes(scan, clean.foot, dice);
  add_noise(scan, dirt.noise_mm / std::numbers::sqrt3, dice);  // noise_mm is the whole vector's root mean square
  if (dirt.floor) add_floor(scan, 0.3, dice);
  if (dirt.bare_points) scan.triangles.clear();
  DirtyPair pair;
  pair.scan_from_foot = dice.motion(300.0);
  pair.file_from_last = dice.motion(300.0);
  pair.scan = as_file("scan.ply", std::move(scan), pair.scan_from_foot, dirt.side, dirt.scan_units);
  pair.last = as_file("last.stl", clean.last.mesh, pair.file_from_last, dirt.side, dirt.last_units);
  return pair;
}

Foot prepared_foot(const TruthCase& clean) { return prepared(clean.foot); }
Last prepared_last(const TruthCase& clean) { return prepared(clean.last); }

}  // namespace lastroom::test
