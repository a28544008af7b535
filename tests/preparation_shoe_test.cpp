// Shoes and boots are neither feet nor lasts. The shoes are made from lasts of our own making, with the thicknesses
// that the trade uses (common practice, no source).
#include <doctest/doctest.h>

#include "error.h"
#include "made_shoe.h"
#include "preparation/other_body.h"

namespace lastroom::test {
namespace {

MeshFile file_of(const Mesh& mesh) {
  MeshFile file;
  file.name = "body.stl";
  file.mesh = mesh;
  return file;
}

/// A shoe may be refused as a last, or be doubted before anything else is said of it.
bool is_taken_as_last(const Mesh& mesh) {
  try {
    const Last last = prepare_last(file_of(mesh));
    refuse_shoe(last);
    return !doubt_of_a_last(last);
  } catch (const InputError&) {
    return false;
  }
}

}  // namespace

TEST_CASE("a shoe or a boot is no foot and no last, the last that it was made on is one") {
  const MadeFoot foot = make_foot({});
  for (const double heel_mm : {8.0, 25.0, 60.0}) {
    LastShape form;
    form.heel_height_mm = heel_mm;
    const MadeLast last = make_last(foot, form);
    CAPTURE(heel_mm);
    CHECK(is_taken_as_last(last.mesh));
    ShoeShape flat, heeled, scanned_inside, boot;
    flat.hollow = heeled.hollow = false;
    flat.heel_block_ratio = scanned_inside.heel_block_ratio = 0.0;
    boot.top_line_mm = 180.0;
    for (const ShoeShape& shape : {flat, heeled, scanned_inside, boot}) {
      CAPTURE(shape.hollow);
      CAPTURE(shape.heel_block_ratio);
      CAPTURE(shape.top_line_mm);
      const Mesh shoe = made_shoe(last, shape);
      CHECK_THROWS_AS(prepare_foot(file_of(shoe)), InputError);
      CHECK_FALSE(is_taken_as_last(shoe));
    }
  }
}

TEST_CASE("how like it is, is told in words") {
  Foot foot;
  Last last;
  for (const auto& [strays_mm, of_foot, of_last] : {std::tuple{0.4, "likeness.foot.close", "likeness.last.close"},
                                                    {3.0, "likeness.foot.fair", "likeness.last.close"},
                                                    {5.4, "likeness.foot.rough", "likeness.last.fair"},
                                                    {19.0, "likeness.foot.rough", "likeness.last.rough"}}) {
    foot.likeness_mm = last.likeness_mm = strays_mm;
    CHECK(likeness_of(foot).key == of_foot);
    CHECK(likeness_of(last).key == of_last);
  }
}

}  // namespace lastroom::test
