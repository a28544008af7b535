#include <doctest/doctest.h>

#include "made.h"
#include "makehuman_feet.h"
#include "preparation/other_body.h"

namespace lastroom::test {
namespace {

/// A foot by its landmarks, whose skin is a block with upright walls: as wide everywhere as said.
Foot block(double length_mm, double width_mm) {
  Foot foot;
  foot.landmarks.toe_tips.fill(Vec3(length_mm, 0.0, 5.0));
  for (int corner = 0; corner < 8; ++corner)
    foot.mesh.vertices.emplace_back(corner & 1 ? 0.55 * length_mm : 0.0, (corner & 2 ? 0.5 : -0.5) * width_mm,
                                    corner & 4 ? 0.4 * length_mm : 0.0);
  foot.mesh.triangles = {{0, 1, 5}, {0, 5, 4}, {1, 3, 7}, {1, 7, 5}, {3, 2, 6}, {3, 6, 7}, {2, 0, 4}, {2, 4, 6}};
  return foot;
}

Last as_last(const MadeFoot& foot) {
  Last last;
  last.mesh = foot.mesh;
  last.heel_back = foot.heel;
  last.toe_end = foot.toe_tips[0];
  return last;
}

}  // namespace

TEST_CASE("a body as narrow above as a last's cone is doubted as a foot") {
  // The top of a last is some 50 mm wide (common practice, no source), at 257 mm 0.19; the ankle bones of men lie 75 mm
  // apart at 271 mm of foot length (ANSUR II's bimalleolar breadth, from memory), which is 0.28.
  CHECK(doubt_of_a_foot(block(257.0, 49.0)));
  CHECK_FALSE(doubt_of_a_foot(block(271.0, 75.0)));
  CHECK_FALSE(doubt_of_a_foot(prepared(make_foot({}))));
}

TEST_CASE("a foot taken as a last is doubted, a last is not") {
  const MadeFoot foot = make_foot({});
  CHECK(doubt_of_a_last(as_last(foot)));
  for (double heel_mm : {5.0, 25.0, 60.0}) {
    LastShape shape;
    shape.heel_height_mm = heel_mm;
    CAPTURE(heel_mm);
    CHECK_FALSE(doubt_of_a_last(prepared(make_last(foot, shape))));
  }
}

TEST_CASE("MakeHuman's foot is doubted as a last and not as a foot") {
  if (!makehuman_is_here()) return;
  const MadeFoot foot = makehuman_foot(Side::right);
  CHECK_FALSE(doubt_of_a_foot(prepared(foot)));
  CHECK(doubt_of_a_last(as_last(foot)));
}

}  // namespace lastroom::test
