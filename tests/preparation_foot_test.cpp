#include <doctest/doctest.h>

#include "geometry/parallel.h"
#include "preparation_foot_cases.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

double turn_deg(const Motion& motion) { return Eigen::AngleAxisd(motion.linear()).angle() * 180.0 / std::numbers::pi; }

const MadeFoot& usual_foot() {
  static const MadeFoot foot = [] {
    FootShape shape;
    shape.leg_height_mm = 110.0;  // low enough that nothing is cut off, so vertices keep their numbers
    return make_foot(shape);
  }();
  return foot;
}

}  // namespace

TEST_CASE("a foot in any pose, unit and of either side is stood as it was made") {
  struct Unit {
    LengthUnit unit;
    double units_per_mm;
  };
  const MadeFoot& made = usual_foot();
  unsigned seed = 0;
  for (const Unit& unit : {Unit{LengthUnit::millimetre, 1.0},
                           {LengthUnit::centimetre, 0.1},
                           {LengthUnit::metre, 0.001},
                           {LengthUnit::inch, 1.0 / 25.4}})
    for (const Side side : {Side::right, Side::left}) {
      ++seed;
      CAPTURE(seed);
      const Motion pose = Dice(seed).pose();
      const Foot foot = prepare_foot(scan_of(thrown(made.mesh, side, pose), unit.units_per_mm));
      CHECK(foot.side == side);
      CHECK(foot.side_from == Told::by_guess);
      CHECK(foot.chance_of_wrong_side < 0.01);
      CHECK(foot.facts.units == unit.unit);
      CHECK_FALSE(foot.sole_missing);
      check_landmarks(foot, made, 1.0);
      const Motion there_and_back = foot.foot_from_scan * pose;
      // 1.2 mm at 250 mm: the axis hangs on two points known to 1 mm and less.
      CHECK(turn_deg(there_and_back) < 0.5);
      CHECK(there_and_back.translation().norm() < 1.5);
      // Every kept vertex is where its scan says.
      const Mesh scan = thrown(made.mesh, side, pose);
      for (std::size_t i = 0; i < 50; ++i)
        CHECK((as_worn(foot.side, foot.foot_from_scan * scan.vertices[i]) - foot.mesh.vertices[i]).norm() < 1e-6);
    }
}

TEST_CASE("feet of many shapes keep their landmarks and their side") {
  FootShape long_second, bunion, flat, hollow, slim, wide, straight, no_leg, much_leg;
  long_second.second_toe_longer_mm = 6.0;
  bunion.bunion_mm = 8.0;
  flat.arch_height_mm = 3.0;
  hollow.arch_height_mm = 28.0;
  slim.joint_width_mm = 92.0, slim.joint_girth_mm = 230.0, slim.heel_width_mm = 62.0;
  wide.joint_width_mm = 110.0, wide.joint_girth_mm = 268.0, wide.heel_width_mm = 78.0;
  straight.bend_deg = 0.0;
  no_leg.leg_height_mm = 70.0;
  much_leg.leg_height_mm = 280.0;
  unsigned seed = 20;
  for (const FootShape& shape : {long_second, bunion, flat, hollow, slim, wide, straight, no_leg, much_leg}) {
    ++seed;
    CAPTURE(seed);
    const MadeFoot made = make_foot(shape);
    const Side side = seed % 2 == 0 ? Side::left : Side::right;
    const Foot foot = prepare_foot(scan_of(thrown(made.mesh, side, Dice(seed).pose())));
    CHECK(foot.side == side);
    CHECK(foot.chance_of_wrong_side < 0.05);
    check_landmarks(foot, made, 1.5);
    CHECK(bounds(foot.mesh).high.z() <= 0.46 * shape.length_mm);
  }
}

TEST_CASE("toes that lean outwards are told apart in a rough scan") {
  FootShape leaning;
  leaning.length_mm = 253.1, leaning.joint_width_mm = 92.5, leaning.joint_girth_mm = 241.2;
  leaning.heel_width_mm = 69.9, leaning.heel_to_joint_mm = 189.7, leaning.second_toe_longer_mm = -8.4;
  leaning.bunion_mm = 5.9;
  const MadeFoot made = make_foot(leaning);
  for (const unsigned seed : {1u, 2u, 3u}) {
    CAPTURE(seed);
    check_landmarks(prepare_foot(scan_of(thrown(noisy(made.mesh, 0.4, seed), Side::right, Dice(seed).pose()))), made,
                    kScanDimension_mm);
  }
}

TEST_CASE("on sides that run straight out to spread toes the joints stay near their usual place") {
  FootShape shape;
  shape.length_mm = 232.0, shape.joint_width_mm = 92.2, shape.joint_girth_mm = 214.9, shape.heel_width_mm = 66.0;
  shape.heel_to_joint_mm = 164.9, shape.arch_height_mm = 15.6, shape.second_toe_longer_mm = 3.9;
  shape.big_toe_height_mm = 20.4, shape.fifth_toe_height_mm = 13.3;
  const MadeFoot made = make_foot(shape);
  // A straight side tells nothing: the first joint's usual place, at 73.5 % (A1), is 5.6 mm before this foot's own, and
  // a tenth of a millimetre of noise moves it by as much as its spread, 2 % of the length.
  const double within_mm = 5.6 + 0.02 * shape.length_mm;
  for (const unsigned seed : {1u, 2u, 3u}) {
    CAPTURE(seed);
    const Foot foot = prepare_foot(scan_of(thrown(noisy(made.mesh, 0.4, seed), Side::right, Dice(seed).pose())));
    CHECK((foot.landmarks.first_joint - made.first_joint).norm() < within_mm);
    CHECK((foot.landmarks.fifth_joint - made.fifth_joint).norm() < within_mm);
  }
}

TEST_CASE("the MakeHuman feet stand on their second toe's axis with their landmarks") {
  if (!makehuman_is_here()) return;
  for (const Side side : {Side::right, Side::left})
    for (const double leg_mm : {90.0, 120.0, 250.0}) {
      CAPTURE(leg_mm);
      const MadeFoot truth = makehuman_foot(side, leg_mm);
      const Motion pose = Dice(static_cast<unsigned>(leg_mm)).pose();
      const Foot foot = prepare_foot(scan_of(thrown(truth.mesh, side, pose)));
      CHECK(foot.side == side);
      CHECK(foot.chance_of_wrong_side < 0.05);
      check_landmarks(foot, truth, kScanDimension_mm);
      // Its heel hovers 1 mm over the lowest skin of its ball, so a floor under both is tilted by 1 mm in 50 to 180 mm.
      CHECK(turn_deg(foot.foot_from_scan * pose) < 1.5);
    }
}

TEST_CASE("the same foot moved or mirrored is the same foot") {
  const Mesh& mesh = usual_foot().mesh;
  const Foot first = prepare_foot(scan_of(mesh));
  // Cells of 3 mm lie differently in a turned scan: landmarks are steady to a fraction of a cell.
  const Foot turned = prepare_foot(scan_of(moved(mesh, Dice(77).pose())));
  const Foot mirrored = prepare_foot(scan_of(mirrored_y(mesh)));
  CHECK(mirrored.side == Side::left);
  for (const Foot& other : {turned, mirrored}) {
    CHECK(other.mesh.vertices.size() == first.mesh.vertices.size());
    CHECK((other.landmarks.first_joint - first.landmarks.first_joint).norm() < 2.0);
    CHECK((other.landmarks.toe_tips[0] - first.landmarks.toe_tips[0]).norm() < 2.0);
    CHECK(longest_toe(other.landmarks.toe_tips) == WithinMm{longest_toe(first.landmarks.toe_tips), 0.5});
  }
}

TEST_CASE("same scan, same bytes, any number of threads") {
  const MeshFile scan = scan_of(thrown(usual_foot().mesh, Side::left, Dice(5).pose()));
  set_thread_limit(1);
  const Foot one = prepare_foot(scan);
  set_thread_limit(2);
  const Foot two = prepare_foot(scan);
  set_thread_limit(0);
  CHECK(one.mesh.vertices == two.mesh.vertices);
  CHECK(one.mesh.triangles == two.mesh.triangles);
  CHECK(one.landmarks.toe_tips == two.landmarks.toe_tips);
  CHECK(one.likeness_mm == two.likeness_mm);
}

TEST_CASE("the maker's own points and side override") {
  const MadeFoot& made = usual_foot();
  const Motion pose = Dice(9).pose();
  FootPreparation settings;
  settings.side = Side::left;
  const Vec3 own = mirrored_y(Mesh{{made.first_joint - Vec3(4.0, 0.0, 0.0)}, {}}).vertices[0];
  settings.landmarks.first_joint = 0.1 * (pose * own);
  const Foot foot = prepare_foot(scan_of(thrown(made.mesh, Side::left, pose), 0.1), settings);
  CHECK(foot.side_from == Told::by_option);
  CHECK(foot.landmarks.by_hand[1]);
  CHECK_FALSE(foot.landmarks.by_hand[0]);
  CHECK((foot.landmarks.first_joint - (made.first_joint - Vec3(4.0, 0.0, 0.0))).norm() < 1.5);
  CHECK(foot.facts.units == LengthUnit::centimetre);
}

TEST_CASE("spots marked never to be pressed stay on their skin") {
  const MadeFoot& made = usual_foot();
  for (const Side side : {Side::right, Side::left}) {
    const Motion pose = Dice(11).pose();
    FootPreparation settings;
    const auto in_file = [&](const Vec3& p) {
      return Vec3(0.1 * (pose * (side == Side::left ? mirrored_y(Mesh{{p}, {}}).vertices[0] : p)));
    };
    settings.landmarks.never_press = {{in_file(made.first_joint + Vec3(0.0, 3.0, 0.0)), "bunion"},
                                      {in_file(made.toe_tips[4]), ""}};
    const Foot foot = prepare_foot(scan_of(thrown(made.mesh, side, pose), 0.1), settings);
    REQUIRE(foot.landmarks.never_press.size() == 2);
    CHECK(foot.landmarks.never_press[0].what == "bunion");
    // To the nearest vertex: 2 mm apart; the foot is stood again to 1 mm.
    CHECK((foot.landmarks.never_press[0].at - made.first_joint).norm() < 3.0);
    CHECK((foot.landmarks.never_press[1].at - made.toe_tips[4]).norm() < 3.0);
  }
}
