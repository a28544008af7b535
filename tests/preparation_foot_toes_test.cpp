#include <doctest/doctest.h>

#include "error.h"
#include "preparation_foot_cases.h"
#include "solid.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

const MadeFoot& usual_foot() {
  static const MadeFoot foot = make_foot({});
  return foot;
}

/// Clefts filled where no ball of 12 mm can enter: what is left of them are hollows of the outline and on top.
const Mesh& fused() {
  static const Mesh mesh = closed_by_ball(usual_foot().mesh, 12.0, 2.5);
  return mesh;
}

std::size_t seen(const FootLandmarks& marks) {
  return static_cast<std::size_t>(std::count_if(marks.toe_borders.begin(), marks.toe_borders.end(),
                                                [](const ToeBorder& border) { return border.seen; }));
}

/// Each border runs between the tips of its two toes: by construction those lie 15 mm and more apart across the foot.
void check_borders(const FootLandmarks& found, const MadeFoot& truth) {
  for (std::size_t k = 0; k < 4; ++k) {
    if (!found.toe_borders[k].seen) continue;
    CAPTURE(k);
    CHECK(found.toe_borders[k].tip.y() < truth.toe_tips[k].y());
    CHECK(found.toe_borders[k].tip.y() > truth.toe_tips[k + 1].y());
  }
}

}  // namespace

TEST_CASE("groups run from one seen border to the next and are called by their toes") {
  FootLandmarks marks;
  CHECK(toe_groups(marks).size() == 5);
  CHECK(english(toe_message(toe_groups(marks)[4])) == "fifth toe");
  marks.toe_borders[1] = {Vec2::Zero(), Vec2::Zero(), 0.6, false};
  marks.toe_borders[2] = {Vec2::Zero(), Vec2::Zero(), 0.5, false};
  marks.toe_borders[3].probability = 0.97;
  const std::vector<ToeGroup> groups = toe_groups(marks);
  REQUIRE(groups.size() == 3);
  CHECK(groups[1] == ToeGroup{1, 3, 0.97});  // as surely as the borders it ends at
  CHECK(english(toe_message(groups[1])) == "second to fourth toe");
  CHECK(group_of_toe(marks, 3) == groups[1]);
  for (ToeBorder& border : marks.toe_borders) border.seen = false;
  CHECK(english(toe_message(toe_groups(marks).front())) == "toes");
}

TEST_CASE("the four borders of a foot whose toes stand apart are seen, fine or coarse, either side") {
  for (const double edge_mm : {2.0, 4.0}) {
    CAPTURE(edge_mm);
    FootShape shape;
    shape.edge_mm = edge_mm;
    const MadeFoot made = make_foot(shape);
    for (const Side side : {Side::right, Side::left}) {
      const Foot foot = prepare_foot(scan_of(thrown(made.mesh, side, Dice(3).pose())));
      CHECK(seen(foot.landmarks) == 4);
      check_borders(foot.landmarks, made);
    }
  }
}

TEST_CASE("toes that run together are no refusal, and no border is put where none is seen") {
  const Foot foot = prepare_foot(scan_of(thrown(fused(), Side::left, Dice(4).pose())));
  CHECK(foot.side == Side::left);
  CHECK(seen(foot.landmarks) < 4);
  check_borders(foot.landmarks, usual_foot());
  CHECK(longest_toe(foot.landmarks.toe_tips) == WithinMm{longest_toe(usual_foot().toe_tips), kScanDimension_mm});
  CHECK(tells(foot, "can't be told apart; they are judged as one"));
}

TEST_CASE("a toe that has lost its end is called short, and a whole one is not") {
  MadeFoot made = usual_foot();
  CHECK_FALSE(tells(prepare_foot(scan_of(made.mesh)), "is short beside the others"));
  constexpr double kLost_mm = 16.0, kHalfToe_mm = 8.0;
  const Vec3 tip = made.toe_tips[2];
  for (Vec3& p : made.mesh.vertices)
    if (const double beyond_mm = p.x() - (tip.x() - kLost_mm);
        beyond_mm > 0.0 && std::abs(p.y() - tip.y()) < kHalfToe_mm)
      p.x() -= 0.9 * beyond_mm;
  CHECK(tells(prepare_foot(scan_of(made.mesh)), "The third toe is short beside the others"));
}

TEST_CASE("toes that the maker has pointed at are told apart") {
  FootPreparation settings;
  for (std::size_t toe = 0; toe < 5; ++toe) settings.landmarks.toe_tips[toe] = usual_foot().toe_tips[toe];
  const Foot foot = prepare_foot(scan_of(fused()), settings);
  CHECK(seen(foot.landmarks) == 4);
  check_borders(foot.landmarks, usual_foot());
  for (std::size_t toe = 0; toe < 5; ++toe)  // the foot is stood again to 1 mm and half a degree: 2.3 mm at its front
    CHECK((foot.landmarks.toe_tips[toe] - usual_foot().toe_tips[toe]).norm() < 3.3);
}

TEST_CASE("the maker's toes unlock what was refused for want of them") {
  // Toes lifted by a quarter of a right angle, as a last's spring: refused while nobody says that it is a foot.
  const auto lifted = [](Vec3 p) {
    const double before = std::max(0.0, p.x() - 195.0);
    p.z() += 0.35 * before;
    return p;
  };
  Mesh mesh = fused();
  for (Vec3& p : mesh.vertices) p = lifted(p);
  CHECK_THROWS(prepare_foot(scan_of(mesh)));
  FootPreparation settings;
  for (std::size_t toe = 0; toe < 2; ++toe) settings.landmarks.toe_tips[toe] = lifted(usual_foot().toe_tips[toe]);
  const Foot foot = prepare_foot(scan_of(mesh), settings);
  CHECK(foot.landmarks.toe_borders[0].seen);
}

TEST_CASE("joints say how well they are known, and by hand they are known to 1.5 mm") {
  const Foot found = prepare_foot(scan_of(usual_foot().mesh));
  for (const auto& [joint, truth, sigma_mm] :
       {std::tuple(found.landmarks.first_joint, usual_foot().first_joint, found.landmarks.first_joint_sigma_mm),
        std::tuple(found.landmarks.fifth_joint, usual_foot().fifth_joint, found.landmarks.fifth_joint_sigma_mm)}) {
    CHECK(sigma_mm > 1.0);                           // bulges tell no more
    CHECK(sigma_mm < 0.02 * FootShape{}.length_mm);  // people's spread alone
    CHECK(std::abs(joint.x() - truth.x()) < 3.0 * sigma_mm);
  }
  FootPreparation settings;
  settings.landmarks.fifth_joint = usual_foot().fifth_joint;
  CHECK(prepare_foot(scan_of(usual_foot().mesh), settings).landmarks.fifth_joint_sigma_mm == WithinMm{1.5, 1e-9});
}

TEST_CASE("a small child's foot is one; where its unit could be two, it is asked for") {
  Mesh child = usual_foot().mesh;
  for (Vec3& p : child.vertices) p *= 125.0 / 262.0;
  CHECK(prepare_foot(scan_of(child)).facts.units == LengthUnit::millimetre);
  std::string refusal;  // 12.5 long: in inches a grown-up's 318 mm
  try {
    prepare_foot(scan_of(child, 0.1));
  } catch (const InputError& error) {
    refusal = error.what();
  }
  CAPTURE(refusal);
  CHECK(refusal.find("mm in inches or a small child's of 125 mm in cm") != std::string::npos);
  for (const LengthUnit unit : {LengthUnit::centimetre, LengthUnit::inch}) {
    FootPreparation settings;
    settings.units = unit;
    CHECK(prepare_foot(scan_of(child, 0.1), settings).facts.units == unit);
  }
}
