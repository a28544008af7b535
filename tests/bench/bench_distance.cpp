// What our signed distance costs: building, asking, by size, order and threads.
//   build/bench_distance --benchmark_repetitions=5 --benchmark_report_aggregates_only=true

#include "bench_cases.h"
#include "geometry/hierarchy.h"

namespace lastroom::bench {
namespace {

void build(benchmark::State& state) {
  const Mesh& mesh = last(state.range(0), false);
  set_thread_limit(static_cast<int>(state.range(1)));
  for (auto _ : state) benchmark::DoNotOptimize(SignedDistance(mesh));
  tell(state, "lastroom build", mesh, false, "-", 0, state.range(1));
}
/// The tree that finds the nearest triangle, without what the signs are read from: what other libraries build.
void build_tree(benchmark::State& state) {
  const Mesh& mesh = last(state.range(0), false);
  set_thread_limit(static_cast<int>(state.range(1)));
  for (auto _ : state) benchmark::DoNotOptimize(build_hierarchy(mesh, distance_boxes(mesh)).leaves.get());
  tell(state, "lastroom, the tree alone build", mesh, false, "-", 0, state.range(1));
}
void builds(benchmark::internal::Benchmark* b) {
  b->ArgsProduct({{k50Thousand, k200Thousand, k1Million}, {1, 2}})
      ->ArgNames({"f", "threads"})
      ->Unit(benchmark::kMillisecond)
      ->UseRealTime();
}
BENCHMARK(build)->Apply(builds);
BENCHMARK(build_tree)->Apply(builds);

void ask(benchmark::State& state, const char* who, InstructionSet instructions) {
  const bool open = state.range(3) != 0;
  const Mesh& mesh = last(state.range(0), open);
  const std::vector<Vec3>& cloud = points(state.range(1), state.range(2));
  set_thread_limit(static_cast<int>(state.range(4)));
  const SignedDistance distance(mesh, instructions);
  for (auto _ : state) benchmark::DoNotOptimize(distance.at(cloud));
  tell(state, who, mesh, open, cloud_name(state.range(2)), cloud.size(), state.range(4));
}
const std::vector<std::string> kNames = {"f", "scan_f", "cloud", "open", "threads"};
BENCHMARK_CAPTURE(ask, lastroom, "lastroom", InstructionSet::best)
    ->ArgsProduct({{k50Thousand, k200Thousand, k1Million},
                   {k50ThousandPoints, k200ThousandPoints, k1MillionPoints},
                   {scan_in_order},
                   {0},
                   {1, 2}})
    ->ArgsProduct({{k50Thousand, k200Thousand, k1Million}, {k200ThousandPoints}, {scan_in_order}, {1}, {1}})
    ->ArgsProduct({{k50Thousand, k200Thousand, k1Million}, {k50ThousandPoints}, {scan_shuffled, far_away}, {0, 1}, {1}})
    ->ArgNames(kNames)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK_CAPTURE(ask, lastroom_plain, "lastroom, no AVX2", InstructionSet::plain)
    ->ArgsProduct({{k50Thousand, k200Thousand, k1Million}, {k200ThousandPoints}, {scan_in_order}, {0}, {1}})
    ->ArgNames(kNames)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();

}  // namespace
}  // namespace lastroom::bench

BENCHMARK_MAIN();
