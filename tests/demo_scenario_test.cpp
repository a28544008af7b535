#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>

#include "demo/scenario.h"
#include "geometry/iso_surface.h"
#include "mesh_io/read_mesh.h"
#include "near.h"

using namespace lastroom;
using lastroom::test::WithinMm;

namespace {

const std::vector<DemoFile>& files() {
  static const std::vector<DemoFile> made = demo_files();
  return made;
}

Mesh read_back(const DemoFile& file) {
  const std::filesystem::path folder = std::filesystem::temp_directory_path() / "lastroom_demo_scenario_test";
  std::filesystem::create_directories(folder);
  const std::filesystem::path path = folder / file.name;
  std::ofstream(path, std::ios::binary) << file.bytes;
  Mesh mesh = read_mesh(path).mesh;
  std::filesystem::remove_all(folder);
  return mesh;
}

double rms_mm(const Mesh& a, const Mesh& b) {
  double square = 0.0;
  for (std::size_t v = 0; v < a.vertices.size(); ++v) square += (a.vertices[v] - b.vertices[v]).squaredNorm();
  return std::sqrt(square / static_cast<double>(a.vertices.size()));
}

Mesh small_ball() {
  return iso_surface([](const Vec3& p) { return p.norm() - 20.0; }, {Vec3::Constant(-25.0), Vec3::Constant(25.0)}, 2.0);
}

}  // namespace

TEST_CASE("a demo pair has a name of its own, a sentence, and files that are there") {
  std::set<std::string> names, file_names;
  for (const DemoFile& file : files()) {
    CHECK(file_names.insert(file.name).second);
    CHECK(file.name.find('/') == std::string::npos);
  }
  std::set<std::string> asked_for;
  for (const DemoPair& pair : demo_pairs()) {
    CAPTURE(pair.name);
    CHECK(names.insert(pair.name).second);
    CHECK(pair.what_it_shows.back() == '.');
    CHECK(file_names.count(pair.scan_file) == 1);
    CHECK(file_names.count(pair.last_file) == 1);
    asked_for.insert({pair.scan_file, pair.last_file});
  }
  CHECK(asked_for == file_names);  // and no file that no pair uses
  CHECK(demo_pairs().front().name == "fits");
}

TEST_CASE("pairs that share a scan share the foot, so the scan is the truth for each of them") {
  for (const DemoPair& a : demo_pairs())
    for (const DemoPair& b : demo_pairs()) {
      if (a.scan_file != b.scan_file) continue;
      CHECK(a.foot.length_mm == b.foot.length_mm);
      CHECK(a.foot.joint_girth_mm == b.foot.joint_girth_mm);
      CHECK(a.foot.bunion_mm == b.foot.bunion_mm);
      CHECK(a.left == b.left);
    }
}

TEST_CASE("roughness is as large as ordered, and the pose a rigid motion of its seed") {
  const Mesh ball = small_ball();
  const Mesh smooth = as_scanned(ball, 0.0, 7), rough = as_scanned(ball, 0.3, 7), other = as_scanned(ball, 0.0, 8);
  CHECK(rms_mm(smooth, rough) == WithinMm{0.3, 1e-9});
  CHECK(smooth.triangles == ball.triangles);
  CHECK(volume_mm3(smooth) == doctest::Approx(volume_mm3(ball)).epsilon(1e-9));  // a mirror would turn the sign
  CHECK((smooth.vertices[0] - smooth.vertices[100]).norm() ==
        WithinMm{(ball.vertices[0] - ball.vertices[100]).norm(), 1e-9});
  CHECK(rms_mm(smooth, other) > 10.0);
  CHECK(as_scanned(ball, 0.3, 7).vertices == rough.vertices);
}

TEST_CASE("the files read back as the feet and lasts they were made from") {
  for (const DemoFile& file : files()) {
    CAPTURE(file.name);
    const Mesh mesh = read_back(file);
    const bool scan = file.name.ends_with(".ply");
    CHECK((scan || file.name.ends_with(".stl")));
    if (scan) CHECK(file.bytes.starts_with("ply"));
    if (!scan) CHECK(file.bytes.size() == 84 + 50 * mesh.triangles.size());  // binary STL's size by its definition
    CHECK(mesh.triangles.size() > 10000);
    CHECK(volume_mm3(mesh) > 0.0);
    // A foot or a last of this client is longer than 240 mm and nothing here reaches 500 mm.
    const double across = bounds(mesh).size().norm();
    CHECK(across > 240.0);
    CHECK(across < 600.0);
  }
}

TEST_CASE("the floor is left in one scan, around the foot and not under it") {
  const std::vector<DemoPair> pairs = demo_pairs();
  const auto with_floor = std::find_if(pairs.begin(), pairs.end(), [](const DemoPair& p) { return p.floor_left_in; });
  REQUIRE(with_floor != pairs.end());
  const auto named = [&](const DemoFile& f) { return f.name == with_floor->scan_file; };
  const Mesh scan = read_back(*std::find_if(files().begin(), files().end(), named));
  const Mesh foot = make_foot(with_floor->foot).mesh;
  CHECK(scan.vertices.size() > foot.vertices.size());
  // 40 mm of floor on every side of a 262 x 100 mm foot: about (262 + 80) (100 + 80) less the foot's own ground.
  const double floor = area_mm2(scan) - area_mm2(foot);
  CHECK(floor > 342.0 * 180.0 - 1.5 * 262.0 * 100.0);
  CHECK(floor < 342.0 * 180.0);
}

TEST_CASE("the same demo twice is the same bytes") {
  const std::vector<DemoFile> again = demo_files();
  REQUIRE(again.size() == files().size());
  for (std::size_t f = 0; f < again.size(); ++f) CHECK(again[f].bytes == files()[f].bytes);
}
