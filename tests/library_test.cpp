// The library as a guest of another program: its public headers alone are included here.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <limits>
#include <thread>

#include "lastroom/fit.h"
#include "library_given.h"

using namespace lastroom;
using namespace library_test;

TEST_CASE("the version of the headers is the project's") {
  CHECK(version() == LASTROOM_VERSION);  // of CMakeLists.txt
}

TEST_CASE("arrays, bytes and files are judged alike, to the last digit") {
  const Demo& demo = fifth_toe_pressed();
  const GivenMesh scan = read_mesh(demo.scan_name, demo.scan), last = read_mesh(demo.last_name, demo.last);
  const Fit by_bytes = fit(Foot(scan), Last(last));
  const Fit by_arrays = fit(Foot(given_mesh(scan.mesh(), "arrays")), Last(given_mesh(last.mesh(), "arrays")));
  const auto folder = std::filesystem::temp_directory_path() / ("lastroom_library_test_" + std::to_string(getpid()));
  std::filesystem::create_directories(folder);
  std::ofstream(folder / demo.scan_name, std::ios::binary) << demo.scan;
  const GivenMesh file = read_mesh(folder / demo.scan_name);
  std::filesystem::remove_all(folder);

  CHECK(file.sha256() == scan.sha256());
  CHECK(file.name() == demo.scan_name);
  REQUIRE(by_bytes.result().zones.size() == by_arrays.result().zones.size());
  for (std::size_t z = 0; z < by_bytes.result().zones.size(); ++z) {
    const ZoneResult &a = by_bytes.result().zones[z], &b = by_arrays.result().zones[z];
    CAPTURE(a.zone);
    CHECK(a.zone == b.zone);
    CHECK(a.verdict == b.verdict);
    CHECK(a.p05_mm == b.p05_mm);
    CHECK(a.sigma_mm == b.sigma_mm);
  }
  CHECK(by_bytes.result().pose.last_from_scan == by_arrays.result().pose.last_from_scan);
}

TEST_CASE("the same bytes with any number of threads, and from two calls at once") {
  const Demo& demo = fifth_toe_pressed();
  const auto judged = [&](int threads) {
    const Foot foot(read_mesh(demo.scan_name, demo.scan), {.threads = threads});
    const Last last(read_mesh(demo.last_name, demo.last), {.threads = threads});
    return fit(foot, last, default_rules(), {.threads = threads}).result_json();
  };
  std::string one, two;
  std::thread beside([&] { two = judged(2); });
  one = judged(1);
  beside.join();
  CHECK(one == two);
}

TEST_CASE("a fit has what was told of it, and leaves the environment alone") {
  const Demo& demo = fifth_toe_pressed();
  const Foot foot(read_mesh(demo.scan_name, demo.scan));
  const Last last(read_mesh(demo.last_name, demo.last));
  const Fit standard = fit(foot, last, default_rules(), {.wearer = Wearer::standard, .threads = 1});
  const Result& r = standard.result();
  CHECK(r.verdict == Verdict::pinch);  // the scenario presses the fifth toe
  CHECK(r.side == Side::right);
  CHECK(r.wearer == Wearer::standard);
  REQUIRE_FALSE(r.findings.empty());
  CHECK_FALSE(r.findings.front().advice.empty());
  CHECK(std::getenv("OMP_NUM_THREADS") == nullptr);

  // A rigid motion (Euclid): its rotation is orthogonal with determinant 1; the last row is that of an affine map.
  const Eigen::Matrix3d rotation = r.pose.last_from_scan.topLeftCorner<3, 3>();
  CHECK((rotation * rotation.transpose() - Eigen::Matrix3d::Identity()).norm() < 1e-12);  // rounding of 9 products
  CHECK(rotation.determinant() == doctest::Approx(1.0).epsilon(1e-12));
  CHECK(r.pose.last_from_scan.row(3) == Eigen::RowVector4d(0, 0, 0, 1));

  // Nobody asked about the wearer: not laxer, nothing to pull in, and a sheet for who checks the fit.
  const Fit unknown = fit(foot, last);
  CHECK(unknown.result().verdict >= r.verdict);
  CHECK(unknown.result().tightening.joint_girth_mm == 0.0);
  std::vector<std::string> names;
  for (const auto& [name, bytes] : unknown.pages({.language = "de"})) names.push_back(name);
  CHECK(names ==
        std::vector<std::string>{"report.html", "client.html", "referral.html", "clearance.ply", "result.json"});
}

TEST_CASE("the posed skin's rear part lies where the pose says, and its room is the zones'") {
  const Demo& demo = fifth_toe_pressed();
  const GivenMesh scan = read_mesh(demo.scan_name, demo.scan);
  const Fit judged = fit(Foot(scan), Last(read_mesh(demo.last_name, demo.last)));
  const PosedSkin skin = judged.skin();
  REQUIRE(skin.clearance_mm.size() == skin.mesh.vertices.size());
  const Matrix4& last_from_scan = judged.result().pose.last_from_scan;
  // The rearmost of the heel is a vertex of the scan (in mm), moved by the rear part's motion.
  const auto heel = std::min_element(skin.mesh.vertices.begin(), skin.mesh.vertices.end(),
                                     [](const Vector3& a, const Vector3& b) { return a.x() < b.x(); });
  double nearest_mm = std::numeric_limits<double>::infinity();
  for (const Vector3& p : scan.mesh().vertices)
    nearest_mm = std::min(nearest_mm, ((last_from_scan * p.homogeneous()).head<3>() - *heel).norm());
  CHECK(nearest_mm < 1e-9);  // two motions of coordinates below 1e3 mm, each exact to 1e-13
  std::size_t judged_there = 0;
  for (const double mm : skin.clearance_mm) judged_there += std::isfinite(mm) ? 1 : 0;
  CHECK(judged_there > skin.clearance_mm.size() / 2);
}

TEST_CASE("what can't be used is refused by key, and damage in arrays is no danger") {
  const Demo& demo = fifth_toe_pressed();
  const auto key_of = [](const auto& work) {
    try {
      work();
    } catch (const Refused& refused) {
      CHECK(std::string(refused.what()).size() > 20);
      return refused.key;
    }
    return std::string();
  };
  CHECK(key_of([] { given_mesh({}, "nothing"); }) == "mesh.no_vertices");
  CHECK(key_of([] { read_mesh(std::filesystem::path("/nowhere/foot.ply")); }) == "file.missing");
  CHECK(key_of([&] { read_mesh(demo.scan_name, demo.scan, {.largest_triangles = 10}); }) == "mesh.too_many_vertices");
  CHECK(key_of([] { parse_rules("<rules/>", "mine.xml"); }) != "");
  CHECK(key_of([&] { given_mesh({{{0, 0, 0}, {9, 0, 0}, {0, 9, 0}}, {{0, 1, 2}}}, "sheet"); }) == "");
  CHECK(key_of([&] { Last(given_mesh({{{0, 0, 0}, {9, 0, 0}, {0, 9, 0}}, {{0, 1, 2}}}, "sheet")); }) != "");

  // Corners that point nowhere, repeat or are no numbers are dropped.
  Mesh mesh = read_mesh(demo.scan_name, demo.scan).mesh();
  const Foot before(given_mesh(mesh, "whole"));
  mesh.vertices.push_back(Vector3::Constant(std::numeric_limits<double>::quiet_NaN()));
  const auto bad = static_cast<std::uint32_t>(mesh.vertices.size() - 1);
  mesh.triangles.push_back({0, 1, bad});
  mesh.triangles.push_back({0, 1, 4'000'000'000});
  mesh.triangles.push_back({5, 5, 6});
  const Foot after(given_mesh(mesh, "damaged"));
  CHECK(after.repairs().size() > before.repairs().size());
  REQUIRE(after.measures().size() == before.measures().size());
  for (std::size_t i = 0; i < after.measures().size(); ++i) CHECK(after.measures()[i].mm == before.measures()[i].mm);

  const Foot foot(read_mesh(demo.scan_name, demo.scan));
  const Last last(read_mesh(demo.last_name, demo.last));
  for (const FitOptions& wrong : {FitOptions{.sock_mm = -1.0}, FitOptions{.scan_error_mm = 0.0},
                                  FitOptions{.sock_mm = std::numeric_limits<double>::quiet_NaN()}})
    CHECK_THROWS_AS(fit(foot, last, default_rules(), wrong), std::invalid_argument);
  CHECK(Last(read_mesh(demo.scan_name, demo.scan)).repairs().front().starts_with("Look at this first"));
}
