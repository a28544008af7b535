// Standing a foot in its last: ours against Open3D's point-to-plane ICP from the same start (5 degrees and 10 mm off
// the truth). `error_mm` is how far the instep's landmark ends from where it belongs.

#include <benchmark/benchmark.h>
#include <open3d/geometry/PointCloud.h>
#include <open3d/pipelines/registration/Registration.h>

#include <map>
#include <numbers>

#include "geometry/parallel.h"
#include "made.h"
#include "registration/registration.h"

namespace lastroom::bench {
namespace {

struct Pair {
  Foot foot;
  Last last;
  Motion last_from_foot;
};

const Pair& pair_of(std::int64_t edge_um) {
  static std::map<std::int64_t, Pair> made;
  auto [entry, fresh] = made.try_emplace(edge_um);
  if (fresh) {
    FootShape foot;
    const MadeFoot inside = make_foot(foot);
    foot.edge_mm = static_cast<double>(edge_um) / 1000.0;
    LastShape shape;
    shape.edge_mm = foot.edge_mm;
    const MadeLast last = make_last(inside, shape);
    entry->second = {test::prepared(make_foot(foot)), test::prepared(last), last.last_from_foot};
  }
  return entry->second;
}

void tell(benchmark::State& state, const Pair& pair, const Motion& found, double iterations) {
  const Vec3 instep(0.55 * 262.0, 0.0, 65.0);  // of the made foot, rear part
  state.counters["points"] = static_cast<double>(pair.foot.mesh.vertices.size());
  state.counters["iterations"] = iterations;
  state.counters["error_mm"] = (found * instep - pair.last_from_foot * instep).norm();
}

void ours(benchmark::State& state) {
  const Pair& pair = pair_of(state.range(0));
  set_thread_limit(static_cast<int>(state.range(1)));
  const FootMeasures foot_measures = measure_foot(pair.foot);
  const LastMeasures last_measures = measure_last(pair.last);
  const SkinMap skin = map_skin(pair.foot);
  const SignedDistance surface(pair.last.mesh);
  Registration found;
  for (auto _ : state) found = register_foot_in_last(pair.foot, skin, pair.last, surface);
  tell(state, pair, found.last_from_foot, found.iterations);
  state.SetLabel("lastroom");
}

void open3d_icp(benchmark::State& state) {
  using namespace open3d;
  const Pair& pair = pair_of(state.range(0));
  geometry::PointCloud scan, last;
  scan.points_ = pair.foot.mesh.vertices;
  last.points_ = pair.last.mesh.vertices;
  last.normals_ = vertex_normals(pair.last.mesh);
  Motion off = Motion::Identity();
  off.linear() = Eigen::AngleAxisd(5.0 * std::numbers::pi / 180.0, Vec3(1.0, 1.0, 1.0).normalized()).toRotationMatrix();
  off.translation() = Vec3(10.0, 0.0, 0.0);
  const Motion start = off * pair.last_from_foot;
  const pipelines::registration::TransformationEstimationPointToPlane to_plane;
  const auto icp = [&](int iterations) {
    return pipelines::registration::RegistrationICP(
        scan, last, 30.0, start.matrix(), to_plane,
        pipelines::registration::ICPConvergenceCriteria(1e-6, 1e-6, iterations));
  };
  constexpr int kIterations = 18;  // where it stopped by itself on such a pair; counted, so that the cost is per one
  Motion found = Motion::Identity();
  for (auto _ : state) found.matrix() = icp(kIterations).transformation_;
  tell(state, pair, found, kIterations);
  state.SetLabel("Open3D ICP, point to plane");
}

BENCHMARK(ours)
    ->ArgsProduct({{2000, 1000}, {1, 0}})
    ->ArgNames({"edge_um", "threads"})
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK(open3d_icp)->ArgsProduct({{2000, 1000}})->ArgNames({"edge_um"})->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
}  // namespace lastroom::bench

BENCHMARK_MAIN();
