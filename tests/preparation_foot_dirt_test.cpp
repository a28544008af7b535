#include <doctest/doctest.h>

#include <algorithm>

#include "error.h"
#include "preparation/foot_cloud.h"
#include "preparation_foot_cases.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

const MadeFoot& usual_foot() {
  static const MadeFoot foot = make_foot({});
  return foot;
}

/// A floor of 450 x 400 mm, 4 mm apart, into which the skin below 1.5 mm has melted.
Mesh on_floor(const Mesh& foot) {
  Mesh mesh = part_where(foot, [](const Vec3& p) { return p.z() > 1.5; });
  constexpr std::uint32_t kSteps = 110;
  const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
  Dice dice(1);
  for (std::uint32_t i = 0; i <= kSteps; ++i)
    for (std::uint32_t j = 0; j <= kSteps; ++j)
      mesh.vertices.emplace_back(-100.0 + 4.1 * i, -200.0 + 3.7 * j, 0.2 * dice.normal());
  for (std::uint32_t i = 0; i < kSteps; ++i)
    for (std::uint32_t j = 0; j < kSteps; ++j) {
      const std::uint32_t a = first + i * (kSteps + 1) + j, b = a + kSteps + 1;
      mesh.triangles.push_back({a, b, a + 1});
      mesh.triangles.push_back({a + 1, b, b + 1});
    }
  return mesh;
}

}  // namespace

TEST_CASE("noise moves landmarks by little more than itself") {
  unsigned seed = 40;
  for (const double noise_mm : {0.2, 0.5, 0.8}) {
    CAPTURE(noise_mm);
    const Mesh rough = noisy(usual_foot().mesh, noise_mm, ++seed);
    const Foot foot = prepare_foot(scan_of(thrown(rough, Side::left, Dice(seed).pose())));
    CHECK(foot.side == Side::left);
    // An extreme among some hundred cells stands out by 2.5 deviations of a cell's mean, and a length has two ends.
    check_landmarks(foot, usual_foot(), 1.0 + 2.5 * noise_mm);
  }
}

TEST_CASE("a floor that was scanned along is taken away, and the foot stands on it") {
  const Motion pose = Dice(51).pose();
  const Foot foot = prepare_foot(scan_of(thrown(on_floor(usual_foot().mesh), Side::right, pose)));
  CHECK(tells(foot, "floor"));
  CHECK(foot.sole_missing);
  CHECK(tells(foot, "sole was not scanned"));
  check_landmarks(foot, usual_foot(), kScanDimension_mm);
  const Motion there_and_back = foot.foot_from_scan * pose;
  CHECK(there_and_back.translation().z() == WithinMm{0.0, 0.2});  // the floor's own roughness
  CHECK((there_and_back.linear() * Vec3::UnitZ() - Vec3::UnitZ()).norm() < 0.002);
}

TEST_CASE("loose specks go and are counted") {
  Mesh mesh = usual_foot().mesh;
  for (const Vec3& at : {Vec3(60.0, 150.0, 40.0), Vec3(150.0, -120.0, 10.0)}) {
    const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
    for (const Vec3& corner : {Vec3(0, 0, 0), Vec3(5, 0, 0), Vec3(0, 5, 0)}) mesh.vertices.push_back(at + corner);
    mesh.triangles.push_back({first, first + 1, first + 2});
  }
  const Foot foot = prepare_foot(scan_of(mesh));
  CHECK(tells(foot, "2 loose pieces"));
  CHECK(foot.facts.triangles == mesh.triangles.size());
  check_landmarks(foot, usual_foot(), 1.0);
}

TEST_CASE("a soup whose corners nearly meet is joined") {
  Mesh soup;
  Dice dice(3);
  for (const Triangle& t : usual_foot().mesh.triangles) {
    const auto first = static_cast<std::uint32_t>(soup.vertices.size());
    for (std::uint32_t v : t)
      soup.vertices.push_back(usual_foot().mesh.vertices[v] + 2e-5 * Vec3(dice.unit(), dice.unit(), dice.unit()));
    soup.triangles.push_back({first, first + 1, first + 2});
  }
  const Foot foot = prepare_foot(scan_of(soup));
  CHECK(tells(foot, "nearly met"));
  CHECK(foot.mesh.vertices.size() < usual_foot().mesh.vertices.size() * 11 / 10);
  check_landmarks(foot, usual_foot(), 1.0);
}

TEST_CASE("skin that is inside out, in whole or in patches, is turned") {
  Mesh inside_out = usual_foot().mesh;
  for (Triangle& t : inside_out.triangles) std::swap(t[0], t[1]);
  const Foot whole = prepare_foot(scan_of(inside_out));
  CHECK(tells(whole, "inside out"));
  CHECK(whole.side == Side::right);
  CHECK(volume_mm3(whole.mesh) > 0.0);

  Mesh patched = usual_foot().mesh;
  for (std::size_t i = 0; i < patched.triangles.size(); i += 7)
    std::swap(patched.triangles[i][0], patched.triangles[i][1]);
  const Foot mended = prepare_foot(scan_of(patched));
  CHECK(tells(mended, "faced the wrong way"));
  CHECK(volume_mm3(mended.mesh) == WithinMm{volume_mm3(whole.mesh), 1e-3 * volume_mm3(whole.mesh)});
  check_landmarks(mended, usual_foot(), 1.0);
}

TEST_CASE("holes between toes and in the sole do no harm") {
  const MadeFoot& made = usual_foot();
  const Mesh mesh = part_where(made.mesh, [&](const Vec3& p) {
    for (std::size_t toe = 0; toe < 4; ++toe) {
      const Vec3 web = (made.toe_tips[toe] + made.toe_tips[toe + 1]) / 2.0 - Vec3(25.0, 0.0, -3.0);
      if ((p - web).norm() < 8.0) return false;
    }
    return (p - Vec3(110.0, 10.0, 10.0)).norm() > 25.0;
  });
  const Foot foot = prepare_foot(scan_of(thrown(mesh, Side::left, Dice(61).pose())));
  CHECK(foot.side == Side::left);
  CHECK_FALSE(foot.sole_missing);
  check_landmarks(foot, made, 1.5);
}

TEST_CASE("a foot without its sole is told") {
  const Mesh mesh = part_where(usual_foot().mesh, [](const Vec3& p) { return p.z() > 3.0; });
  const Foot foot = prepare_foot(scan_of(thrown(mesh, Side::right, Dice(71).pose())));
  CHECK(foot.sole_missing);
  CHECK(tells(foot, "sole was not scanned"));
  check_landmarks(foot, usual_foot(), 3.0 + 1.0);  // the floor lies where the skin ends, 3 mm up
}

TEST_CASE("bare points get a surface first") {
  Mesh points = usual_foot().mesh;
  points.triangles.clear();
  const Foot foot = prepare_foot(scan_of(thrown(points, Side::right, Dice(81).pose())));
  CHECK(tells(foot, "bare points"));
  CHECK(foot.side == Side::right);
  check_landmarks(foot, usual_foot(), kScanDimension_mm);
}

TEST_CASE("a stray point far away leaves bare points the surface they had") {
  Mesh points{usual_foot().mesh.vertices, {}};
  const Foot clean = prepare_foot(scan_of(points));
  CHECK_FALSE(tells(clean, "far away"));
  points.vertices.emplace_back(0.0, 0.0, 9000.0);
  points.vertices.emplace_back(-2000.0, 100.0, 0.0);
  const Foot foot = prepare_foot(scan_of(points));
  CHECK(tells(foot, "2 points far away"));
  CHECK(foot.mesh.vertices == clean.mesh.vertices);
  CHECK(foot.landmarks.toe_tips == clean.landmarks.toe_tips);
}

TEST_CASE("a cloud takes memory for its points, not for the room between them") {
  Mesh apart;  // a grid over their box would have 1e18 cells
  for (const double at : {0.0, 1e6}) {
    const auto n = static_cast<std::uint32_t>(apart.vertices.size());
    for (const Vec3& p : {Vec3(0.0, 0.0, 0.0), Vec3(0.5, 0.0, 0.0), Vec3(0.0, 0.5, 0.0)})
      apart.vertices.push_back(Vec3::Constant(at) + p);
    apart.triangles.push_back({n, n + 1, n + 2});
  }
  CHECK(cloud_of(apart, 1.0).points.size() == 2);
  Mesh sheets;  // half a million cells each
  for (std::uint32_t i = 0; i < 20; ++i) {
    for (const Vec3& p : {Vec3(0.0, 0.0, 2.0 * i), Vec3(999.0, 0.0, 2.0 * i), Vec3(0.0, 999.0, 2.0 * i)})
      sheets.vertices.push_back(p);
    sheets.triangles.push_back({3 * i, 3 * i + 1, 3 * i + 2});
  }
  CHECK_THROWS_AS(cloud_of(sheets, 1.0), InputError);
}
