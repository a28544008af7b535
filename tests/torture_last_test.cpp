// Lasts that no digitiser should make, under a clean scan: the whole job, from bytes to verdict.
#include "torture_case.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

Mesh foot() { return base().foot.mesh; }
Mesh last() { return base().last.mesh; }

/// The last in two pieces, as makers cut them to pull them from the shoe; of the cut's faces nothing was scanned.
Mesh sawn_through(double gap_mm) {
  const auto front = [](const Vec3& v) { return v.x() > 120.0; };
  const auto rear = [&](const Vec3& v) { return v.x() < 120.0 + gap_mm; };
  return joined(without(last(), front), without(last(), rear));
}

Mesh closed_last() {
  LastShape shape = base().last_shape;
  shape.open_at_top = false;
  return make_last(base().foot, shape).mesh;
}

std::vector<TortureCase> last_cases() {
  const auto last_is = [](const char* name, const char* refusal, const std::function<Mesh()>& make,
                          Otherwise otherwise = Otherwise::nothing) {
    return TortureCase{name, refusal,
                       [make](Job& job) {
                         job.last_name = "last.ply";
                         job.last_bytes = ply_binary(make());
                       },
                       0.0, otherwise};
  };
  const auto exact = [](const char* name, const char* refusal, const std::function<Mesh()>& make) {
    return TortureCase{name, refusal, [make](Job& job) {
                         job.last_name = "last.obj";
                         job.last_bytes = exact_obj(make());
                       }};
  };
  return {
      last_is("closed at the top", kWorks, [] { return closed_last(); }),
      last_is("soup of single triangles", kWorks, [] { return soup(last(), 0.0); }),
      last_is("soup with gaps of 0.01 mm", "no flat bottom|no bottom with a feather edge|no last's size",
              [] { return soup(last(), 0.01); }),
      last_is("all triangles inside out", kWorks, [] { return flipped(last(), 1.0); }),
      last_is("half the triangles inside out", kWorks, [] { return flipped(last(), 0.5); }),
      last_is("every triangle twice, once inside out", kWorks, [] { return joined(last(), flipped(last(), 1.0)); }),
      last_is("double walls 5 mm apart", kWorks, [] { return double_walled(last(), 5.0); }),
      last_is("a solid wall of 3 mm: double walls joined at the rim", "inner wall",
              [] { return solid_walled(last(), 3.0); }),
      last_is("a last in a ball", "no last's size",
              [] { return joined(last(), ball_of(Vec3::Constant(220.0), Vec3(140.0, 0.0, 60.0))); }),
      last_is("a last pierced by a ball", kWorks,
              [] { return joined(last(), ball_of(Vec3::Constant(25.0), Vec3(120.0, 0.0, 60.0))); }),
      last_is("sawn through, 8 mm lost with the cut's faces", "its width does not fit",
              [] { return sawn_through(8.0); }),
      last_is("half a million triangles around one vertex", kWorks, [] { return with_fan(last()); }),
      last_is("needles between far vertices", kWorks, [] { return with_needles(last(), 50); }),
      last_is("fins on a hundred edges", kWorks, [] { return with_fins(last(), 100); }),
      last_is(
          "holes of 10 % of the area", "separate toes, holes", [] { return with_holes(last(), 0.1, 8.0); },
          Otherwise::like_clean),
      last_is("pinholes of 10 % of the area", "separate toes, holes", [] { return with_holes(last(), 0.1, 3.0); }),
      last_is("five hundred specks around it", kWorks, [] { return with_specks(last(), 500, 400.0); }),
      last_is("one giant triangle hanging on it", kWorks,
              [] {
                Mesh mesh = last();
                mesh.vertices.emplace_back(1e4, 1e4, 1e4);
                mesh.triangles.push_back({0, 1, index_of(mesh.vertices.size() - 1)});
                return mesh;
              }),
      last_is("a million copies of one point", kWorks,
              [] {
                Mesh mesh = last();
                mesh.vertices.insert(mesh.vertices.end(), 1'000'000, mesh.vertices.front());
                return mesh;
              }),
      TortureCase{"noise of 0.3 mm", kWorks, [](Job& job) { job.last = rough(last(), 0.3); }, 0.9},
      TortureCase{"voxels of 1 mm", kWorks, [](Job& job) { job.last = on_grid(last(), 1.0); }, 0.5},
      last_is("one shell of 530,000 triangles", kWorks, [] { return split_in_four(split_in_four(last())); }),
      last_is("upside down", kWorks,
              [] { return moved(last(), Motion(Eigen::AngleAxisd(3.0, Vec3(1.0, 0.1, 0.0).normalized()))); }),
      exact("coordinates near 1e9", kWorks, [] { return shifted(last(), Vec3(1e9, -1e9, 1e9)); }),
      exact("scaled by 1e9", "no last's size", [] { return scaled(last(), 1e9); }),
      exact("scaled to 1e-9", "no last's size", [] { return scaled(last(), 1e-9); }),
      exact("scaled to 1e300", "none of its triangles", [] { return scaled(last(), 1e300); }),
      exact("scaled to 1e-300", "at one place", [] { return scaled(last(), 1e-300); }),
      last_is("bare points of a last that is open at the top", kWorks, [] { return points_on(last(), 50'000); }),
      last_is("50 points", "too few for a", [] { return points_on(last(), 50); }),
      last_is("a bottle of Klein", "this is no last", [] { return klein_bottle(); }),
      last_is("a band of Moebius", "this is no last", [] { return moebius_band(); }),
      last_is("one triangle", "too few for a",
              [] {
                return Mesh{{Vec3(0, 0, 0), Vec3(250, 0, 0), Vec3(0, 100, 0)}, {{0, 1, 2}}};
              }),
      last_is("a flat sheet", "too few for a", [] { return box_of(Vec3(280.0, 100.0, 0.0)); }),
      last_is(
          "the scan as last", "separate toes, holes", [] { return foot(); }, Otherwise::not_clear),
      last_is("only the bottom of it", "no height over the heel",
              [] { return without(last(), [](const Vec3& v) { return v.z() > 15.0; }); }),
      last_is("only the rear half of it", "width does not fit",
              [] { return without(last(), [](const Vec3& v) { return v.x() > 140.0; }); }),
      last_is("only the front half of it", "width does not fit",
              [] { return without(last(), [](const Vec3& v) { return v.x() < 140.0; }); }),
  };
}

}  // namespace

TEST_CASE("damaged lasts that press by much give the clean last's answer, or a sentence") {
  run_cases("last.txt", Press::much, last_cases());
}

TEST_CASE("damaged lasts that press by little give the clean last's answer, or a sentence") {
  run_cases("last.txt", Press::little, last_cases());
}
