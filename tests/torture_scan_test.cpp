// Scans that no scanner should make, in lasts that press the fifth toe: the whole job, from bytes to verdict.
#include "torture.h"
#include "torture_case.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

constexpr double kDistant = 1e6;

Mesh foot() { return base().foot.mesh; }
Mesh last() { return base().last.mesh; }

std::vector<TortureCase> scan_cases() {
  const auto scan = [](const char* name, const char* refusal, const std::function<Mesh()>& make, double end_mm = 0.0) {
    return TortureCase{name, refusal, [make](Job& job) { job.scan = make(); }, end_mm};
  };
  const auto exact = [](const char* name, const char* refusal, const std::function<Mesh()>& make) {
    return TortureCase{name, refusal, [make](Job& job) {
                         job.scan_name = "scan.obj";
                         job.scan_bytes = exact_obj(make());
                       }};
  };
  const auto text = [](const char* name, const char* refusal, const char* file_name,
                       const std::function<std::string()>& make) {
    return TortureCase{name, refusal, [file_name, make](Job& job) {
                         job.scan_name = file_name;
                         job.scan_bytes = make();
                       }};
  };
  const double nan = std::nan(""), infinite = std::numeric_limits<double>::infinity();
  const auto with_every_hundredth = [](double value) {
    Mesh mesh = foot();
    for (std::size_t i = 0; i < mesh.vertices.size(); i += 100) mesh.vertices[i].y() = value;
    return mesh;
  };
  // An end moves by a hole's radius, half a voxel, or the three spreads at which the dice for noise stop.
  return {
      // The surface.
      scan("soup of single triangles", kWorks, [] { return soup(foot(), 0.0); }),
      scan("soup with gaps of 0.01 mm", kWorks, [] { return soup(foot(), 0.01); }),
      scan("all triangles inside out", kWorks, [] { return flipped(foot(), 1.0); }),
      scan("half the triangles inside out", kWorks, [] { return flipped(foot(), 0.5); }),
      scan("every triangle twice", kWorks,
           [] {
             Mesh mesh = foot();
             mesh.triangles.insert(mesh.triangles.end(), mesh.triangles.begin(), mesh.triangles.end());
             return mesh;
           }),
      scan("every triangle twice, once inside out", kWorks, [] { return joined(foot(), flipped(foot(), 1.0)); }),
      scan("double walls 1 mm apart", kWorks, [] { return double_walled(foot(), 1.0); }),
      TortureCase{"double walls 5 mm apart", "inner wall", [](Job& job) { job.scan = double_walled(foot(), 5.0); }, 0.0,
                  Otherwise::like_clean},
      scan("a solid wall of 3 mm: double walls joined at the rim", "inner wall",
           [] { return solid_walled(without(foot(), [](const Vec3& v) { return v.z() > 100.0; }), 3.0); }),
      scan("a foot in a ball", "this is no bare foot",
           [] { return joined(foot(), ball_of(Vec3::Constant(220.0), Vec3(130.0, 0.0, 60.0))); }),
      scan("a foot pierced by a ball", kWorks,
           [] { return joined(foot(), ball_of(Vec3::Constant(25.0), Vec3(120.0, 0.0, 60.0))); }),
      scan("a foot crossed by a sheet", "this is no bare foot",
           [] { return joined(foot(), shifted(box_of(Vec3(0.1, 300.0, 300.0)), Vec3(120.0, -150.0, -20.0))); }),
      TortureCase{"folded skin: 1.5 mm of noise on 2 mm triangles", kWorks,
                  [](Job& job) { job.scan = rough(foot(), 1.5); }, 4.5},
      scan("needles between far vertices", kWorks, [] { return with_needles(foot(), 50); }),
      scan("fins on a hundred edges", kWorks, [] { return with_fins(foot(), 100); }),
      scan("half a million triangles around one vertex", kWorks, [] { return with_fan(foot()); }),
      scan("one giant triangle beside it", "this is no bare foot",
           [] {
             Mesh giant;
             giant.vertices = {Vec3(-1e4, -1e4, -50.0), Vec3(1e4, -1e4, -50.0), Vec3(0.0, 1e4, -50.0)};
             giant.triangles = {{0, 1, 2}};
             return joined(foot(), giant);
           }),
      scan("one giant triangle hanging on it", "this is no bare foot",
           [] {
             Mesh mesh = foot();
             mesh.vertices.emplace_back(1e4, 1e4, 1e4);
             mesh.triangles.push_back({0, 1, index_of(mesh.vertices.size() - 1)});
             return mesh;
           }),
      scan(
          "holes of 10 % of the area", kWorks, [] { return with_holes(foot(), 0.1, 8.0); }, 8.0),
      scan(
          "pinholes of 10 % of the area", kWorks, [] { return with_holes(foot(), 0.1, 2.5); }, 2.5),
      scan(
          "a third of the area lost", kWorks, [] { return with_holes(foot(), 0.33, 12.0); }, 12.0),
      scan("no sole", kWorks, [] { return without(foot(), [](const Vec3& v) { return v.z() < 3.0; }); }),
      scan("five hundred specks around it", kWorks, [] { return with_specks(foot(), 500, 400.0); }),
      scan("a ball of 60 mm beside it", kWorks,
           [] { return joined(foot(), ball_of(Vec3::Constant(30.0), Vec3(130.0, 200.0, 30.0))); }),
      scan("two feet", "holds two bodies",
           [] { return joined(foot(), moved(mirrored_y(foot()), Motion(Eigen::Translation3d(0, 160, 0)))); }),
      scan(
          "voxels of 1 mm", kWorks, [] { return on_grid(foot(), 1.0); }, 0.5),
      scan(
          "voxels of 5 mm", kWorks, [] { return on_grid(foot(), 5.0); }, 2.5),
      // Coordinates.
      scan("a million copies of one point", kWorks,
           [] {
             Mesh mesh = foot();
             mesh.vertices.insert(mesh.vertices.end(), 1'000'000, mesh.vertices.front());
             return mesh;
           }),
      scan("nothing but a million copies of one point", "holds no surface",
           [] {
             return Mesh{std::vector<Vec3>(1'000'000, Vec3(1, 2, 3)), {}};
           }),
      scan("unused vertices a kilometre away", kWorks,
           [] {
             Mesh mesh = foot();
             for (int i = 0; i < 1000; ++i) mesh.vertices.emplace_back(kDistant, i, -kDistant);
             return mesh;
           }),
      scan("a kilometre from the origin", kWorks, [] { return shifted(foot(), Vec3::Constant(kDistant)); }),
      exact("coordinates near 1e9", kWorks, [] { return shifted(foot(), Vec3(1e9, -1e9, 1e9)); }),
      scan("coordinates near 1e9, rounded to float32", "this is no bare foot",
           [] { return shifted(foot(), Vec3::Constant(1e9)); }),
      exact("scaled by 1e9", "no foot's length", [] { return scaled(foot(), 1e9); }),
      exact("scaled to 1e-9", "no foot's length", [] { return scaled(foot(), 1e-9); }),
      exact("scaled to 1e300", "no vertex has a usable place", [] { return scaled(foot(), 1e300); }),
      exact("scaled to 1e-300", "holds no surface", [] { return scaled(foot(), 1e-300); }),
      exact("every hundredth vertex not a number", kWorks, [=] { return with_every_hundredth(nan); }),
      exact("every hundredth vertex infinite", kWorks, [=] { return with_every_hundredth(infinite); }),
      exact("every hundredth vertex at 1e200", kWorks, [=] { return with_every_hundredth(1e200); }),
      exact("every hundredth vertex 10 m away", "this is no bare foot", [=] { return with_every_hundredth(1e4); }),
      exact("all vertices not a number", "no vertex has a usable place", [=] { return scaled(foot(), nan); }),
      text("indices out of range", kWorks, "scan.obj",
           [] {
             std::string obj = exact_obj(foot());
             for (int i = 0; i < 300; ++i) obj += fmt::format("f {} 4000000000 {}\n", i + 1, -999999 - i);
             return obj;
           }),
      // Points without triangles.
      scan("50 points", "holds no surface", [] { return points_on(foot(), 50); }),
      scan("500 points", "too few for a", [] { return points_on(foot(), 500); }),
      scan("5,000 points", "too few for a", [] { return points_on(foot(), 5'000); }),
      scan("50,000 points", kWorks, [] { return points_on(foot(), 50'000); }),
      scan("500,000 points", kWorks, [] { return points_on(foot(), 500'000); }),
      scan("50,000 points, a tenth of them anywhere", kWorks,
           [] {
             Mesh points = points_on(foot(), 45'000);
             Dice dice(11);
             for (int i = 0; i < 5'000; ++i)
               points.vertices.emplace_back(dice.uniform(-50, 350), dice.uniform(-150, 150), dice.uniform(-50, 200));
             return points;
           }),
      scan("points on a line", "holds two bodies",
           [] {
             Mesh points;
             for (int i = 0; i < 10'000; ++i) points.vertices.emplace_back(0.026 * i, 0.0, 0.0);
             return points;
           }),
      // Things that are no foot's surface.
      scan("a bottle of Klein", "this is no bare foot", [] { return klein_bottle(); }),
      scan("a band of Moebius", "this is no bare foot", [] { return moebius_band(); }),
      scan("one triangle", "this is no bare foot",
           [] {
             return Mesh{{Vec3(0, 0, 0), Vec3(250, 0, 0), Vec3(0, 100, 0)}, {{0, 1, 2}}};
           }),
      scan("a flat sheet", "this is no bare foot", [] { return box_of(Vec3(250.0, 100.0, 0.0)); }),
      scan("triangles without area", "holds a flat sheet",
           [] {
             Mesh mesh = foot();
             for (Vec3& v : mesh.vertices) v = Vec3(v.x(), 2.0 * v.x(), 0.0);
             return mesh;
           }),
      scan("the last as scan", "this is no bare foot|no toes can be told apart", [] { return last(); }),
      TortureCase{"swapped roles", "this is no bare foot|no toes can be told apart",
                  [](Job& job) { std::swap(job.scan, job.last); }},
      // Pieces, poses, sizes of mesh.
      scan("cut at the ankle, 70 mm up", kWorks,
           [] { return without(foot(), [](const Vec3& v) { return v.z() > 70.0; }); }),
      scan("cut at 40 mm", "this is no bare foot",
           [] { return without(foot(), [](const Vec3& v) { return v.z() > 40.0; }); }),
      scan("no toes", "no toes where", [] { return without(foot(), [](const Vec3& v) { return v.x() > 190.0; }); }),
      scan("no heel", "no heel where", [] { return without(foot(), [](const Vec3& v) { return v.x() < 60.0; }); }),
      scan("the inside half", "no heel where",
           [] { return without(foot(), [](const Vec3& v) { return v.y() < 0.0; }); }),
      scan("upside down", kWorks,
           [] { return moved(foot(), Motion(Eigen::AngleAxisd(3.0, Vec3(1.0, 0.1, 0.0).normalized()))); }),
      scan("edges of 6 mm", kWorks, [] { return on_grid(coarse_foot(), 0.001); }),
      scan("one shell of 370,000 triangles", kWorks, [] { return split_in_four(split_in_four(coarse_foot())); }),
  };
}

}  // namespace

TEST_CASE("damaged scans in a last that presses by much give the clean scan's answer, or a sentence") {
  run_cases("scan.txt", Press::much, scan_cases());
}

TEST_CASE("damaged scans in a last that presses by little give the clean scan's answer, or a sentence") {
  run_cases("scan.txt", Press::little, scan_cases());
}

TEST_CASE("five million points") {
  if (std::getenv("LASTROOM_FIVE_MILLION") == nullptr) return;  // a minute: tests/robustness.sh asks for it
  run_cases("scan.txt", Press::much,
            {{"5,000,000 points", kWorks, [](Job& job) { job.scan = points_on(foot(), 5'000'000); }}});
}
