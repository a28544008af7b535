#include <doctest/doctest.h>
#include <fmt/format.h>

#include "demo/make_last.h"
#include "error.h"
#include "preparation_foot_cases.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

/// The message of the refusal; empty when the scan was accepted.
std::string refusal(const Mesh& mesh, const FootPreparation& settings = {}) {
  try {
    prepare_foot(scan_of(mesh), settings);
  } catch (const InputError& error) {
    CHECK(std::string(error.what()).find("foot.stl: ") == 0);
    return error.what();
  }
  return "";
}

bool says(const std::string& message, const std::string& words) { return message.find(words) != std::string::npos; }

Mesh box_of(const Vec3& size) {
  Mesh box;
  for (int i = 0; i < 8; ++i)
    box.vertices.push_back(size.cwiseProduct(Vec3(i & 1 ? 1.0 : 0.0, i & 2 ? 1.0 : 0.0, i & 4 ? 1.0 : 0.0)));
  box.triangles = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                   {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  return box;
}

Mesh ball_of(const Vec3& radii) {
  constexpr std::uint32_t kRings = 40, kRound = 80;
  Mesh ball;
  for (std::uint32_t i = 0; i <= kRings; ++i)
    for (std::uint32_t j = 0; j < kRound; ++j) {
      const double a = std::numbers::pi * i / kRings, b = 2.0 * std::numbers::pi * j / kRound;
      ball.vertices.push_back(
          radii.cwiseProduct(Vec3(std::sin(a) * std::cos(b), std::sin(a) * std::sin(b), std::cos(a))));
    }
  for (std::uint32_t i = 0; i < kRings; ++i)
    for (std::uint32_t j = 0; j < kRound; ++j) {
      const std::uint32_t p = i * kRound + j, q = i * kRound + (j + 1) % kRound;
      ball.triangles.push_back({p, p + kRound, q});
      ball.triangles.push_back({q, p + kRound, q + kRound});
    }
  return ball;
}

}  // namespace

TEST_CASE("cubes, boxes, balls and sheets are no feet") {
  CHECK(says(refusal(box_of({100, 100, 100})), "no bare foot"));
  CHECK_FALSE(refusal(box_of({250, 100, 100})).empty());
  CHECK(says(refusal(ball_of({100, 100, 100})), "no bare foot"));
  CHECK(says(refusal(ball_of({125, 50, 40})), "no bare foot"));
  CHECK_FALSE(refusal(box_of({250, 100, 0.1})).empty());
  CHECK(says(refusal(Mesh{{Vec3::Zero()}, {}}), "no surface"));
}

TEST_CASE("parts of a foot, and two feet, are told as such") {
  const Mesh foot = make_foot({}).mesh;
  CHECK(says(refusal(part_where(foot, [](const Vec3& p) { return p.x() < 190.0; })), "no toes"));
  CHECK(says(refusal(part_where(foot, [](const Vec3& p) { return p.x() > 40.0; })), "no heel"));
  CHECK_FALSE(refusal(part_where(foot, [](const Vec3& p) { return p.x() < 130.0; })).empty());
  CHECK_FALSE(refusal(part_where(foot, [](const Vec3& p) { return p.x() > 130.0; })).empty());
  Mesh two = foot;
  const Mesh other = moved(mirrored_y(foot), Motion(Eigen::Translation3d(10.0, 160.0, 0.0)));
  for (const Triangle& t : other.triangles) {
    Triangle shifted = t;
    for (std::uint32_t& v : shifted) v += static_cast<std::uint32_t>(foot.vertices.size());
    two.triangles.push_back(shifted);
  }
  two.vertices.insert(two.vertices.end(), other.vertices.begin(), other.vertices.end());
  CHECK(says(refusal(two), "two bodies"));
}

TEST_CASE("facets that lie apart are told as such, before anything is done with each") {
  const Mesh foot = make_foot({}).mesh;
  Mesh apart;
  for (const Triangle& t : foot.triangles) {
    const auto n = static_cast<std::uint32_t>(apart.vertices.size());
    const Vec3 middle = (foot.vertices[t[0]] + foot.vertices[t[1]] + foot.vertices[t[2]]) / 3.0;
    for (const std::uint32_t v : t) apart.vertices.push_back(middle + 0.5 * (foot.vertices[v] - middle));
    apart.triangles.push_back({n, n + 1, n + 2});
  }
  CHECK(says(refusal(apart), fmt::format("do not meet ({} pieces)", foot.triangles.size())));
}

TEST_CASE("a last is no foot") {
  const MadeFoot foot = make_foot({});
  for (const ToeStyle toe : {ToeStyle::round, ToeStyle::almond, ToeStyle::squared})
    for (const double heel_mm : {10.0, 25.0, 50.0}) {
      CAPTURE(heel_mm);
      LastShape shape;
      shape.toe = toe;
      shape.heel_height_mm = heel_mm;
      CHECK_FALSE(refusal(make_last(foot, shape).mesh).empty());
    }
}

TEST_CASE("a hand, a head and both feet of the MakeHuman body are refused") {
  if (!makehuman_is_here()) return;
  CHECK(says(refusal(makehuman_part(BodyPart::hand)), "no bare foot"));
  CHECK(says(refusal(makehuman_part(BodyPart::head)), "no bare foot"));
  CHECK(says(refusal(makehuman_part(BodyPart::both_feet)), "two bodies"));
}

TEST_CASE("a side or a unit that cannot be is refused") {
  const Mesh foot = make_foot({}).mesh;
  FootPreparation settings;
  settings.side = Side::left;
  CHECK(says(refusal(foot, settings), "right foot, but left was given; correct the side or leave it out"));
  CHECK_FALSE(says(refusal(foot, settings), "mirror"));
  Mesh one_axis_flipped = foot;  // as files are that were written with another axis up: also inside out
  for (Vec3& p : one_axis_flipped.vertices) p.y() = -p.y();
  settings.side = Side::right;
  CHECK(says(refusal(one_axis_flipped, settings), "mirror the scan back"));
  settings = {};
  settings.units = LengthUnit::metre;
  CHECK(says(refusal(foot, settings), "--scan-units"));
  Mesh doll = foot;  // 52 mm long: neither mm nor cm nor m nor inches
  for (Vec3& p : doll.vertices) p *= 0.2;
  CHECK(says(refusal(doll), "no foot's length"));
  CHECK(says(refusal(doll), "--scan-units"));
}

TEST_CASE("a point given far from the skin is refused") {
  FootPreparation settings;
  settings.landmarks.heel = Vec3(-60.0, 0.0, 20.0);
  CHECK(says(refusal(make_foot({}).mesh, settings), "off the skin"));
  settings.landmarks = {};
  settings.landmarks.never_press = {{make_foot({}).first_joint, ""}, {Vec3(100.0, 0.0, 190.0), "a wound"}};
  CHECK(says(refusal(make_foot({}).mesh, settings), "never_press point 2"));
}

TEST_CASE("points given for other parts of the foot are refused") {
  const MadeFoot made = make_foot({});
  const auto refused = [&](const HandLandmarks& given) {
    FootPreparation settings;
    settings.landmarks = given;
    return refusal(made.mesh, settings);
  };
  HandLandmarks given;
  given.heel = made.toe_tips[1];
  CHECK(says(refused(given), "the heel point given lies where this foot has none"));
  given.toe_tips[1] = made.heel;
  CHECK(says(refused(given), "the heel point and the tip of toe 2 given lie in each other's places"));
  given = {};
  given.first_joint = made.fifth_joint;
  given.fifth_joint = made.first_joint;
  CHECK(says(refused(given), "in each other's places"));
  for (const std::size_t toe : {0u, 1u, 2u, 3u}) {
    CAPTURE(toe);
    given = {};
    given.toe_tips[toe] = made.toe_tips[toe + 1];
    given.toe_tips[toe + 1] = made.toe_tips[toe];
    CHECK(says(refused(given), "in each other's places"));
  }
  for (const double far : {1e5, 1e300}) {
    given = {};
    given.first_joint = Vec3(far, 0.0, 0.0);
    CHECK(says(refused(given), "more than 1000 % of the foot's length off the skin"));
  }
  given = {made.heel, made.first_joint, made.fifth_joint, {}, {}};
  for (std::size_t toe = 0; toe < 5; ++toe) given.toe_tips[toe] = made.toe_tips[toe];
  CHECK(refused(given).empty());
  given.toe_tips[1] = made.toe_tips[0] + Vec3(0.0, 3.0, 8.0);  // the second toe lies over the big one
  CHECK(refused(given).empty());
}
