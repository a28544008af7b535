// Reading a mesh from a file that is in memory already (the page cache), to a welded mesh: ours, which also makes its
// SHA-256 and looks for damage, against Open3D's readers with RemoveDuplicatedVertices.

#include <open3d/geometry/TriangleMesh.h>
#include <open3d/io/TriangleMeshIO.h>

#include <array>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <utility>

#include "bench_cases.h"
#include "digest/digest.h"
#include "files/input_file.h"
#include "mesh_io/raw_mesh.h"
#include "mesh_io/read_mesh.h"
#include "mesh_io/write_mesh.h"

namespace lastroom::bench {
namespace {

struct Format {
  const char* name;
  std::string (*write)(const Mesh&);
};
constexpr Format kFormats[] = {{"binary.stl", stl_binary}, {"ascii.stl", stl_ascii}, {"binary.ply", ply_binary},
                               {"ascii.ply", ply_ascii},   {"text.obj", obj_text},   {"text.off", off_text},
                               {"binary.glb", glb}};

std::filesystem::path written(const Format& format, std::int64_t frequency) {
  const std::filesystem::path file =
      std::filesystem::temp_directory_path() / ("lastroom-bench-" + std::to_string(frequency) + "-" + format.name);
  std::ofstream(file, std::ios::binary) << format.write(last(frequency, false));
  return file;
}

void tell(benchmark::State& state, const Format& format, const std::filesystem::path& file, std::size_t vertices) {
  state.SetLabel(format.name);
  state.SetBytesProcessed(state.iterations() * static_cast<std::int64_t>(std::filesystem::file_size(file)));
  state.counters["vertices"] = static_cast<double>(vertices);
  std::filesystem::remove(file);
}

void ours(benchmark::State& state) {
  const Format& format = kFormats[state.range(0)];
  const auto file = written(format, state.range(1));
  std::size_t vertices = 0;
  for (auto _ : state) vertices = read_mesh(file).mesh.vertices.size();
  tell(state, format, file, vertices);
}

void open3d_readers(benchmark::State& state) {
  const Format& format = kFormats[state.range(0)];
  const auto file = written(format, state.range(1));
  std::size_t vertices = 0;
  for (auto _ : state) {
    open3d::geometry::TriangleMesh mesh;
    open3d::io::ReadTriangleMesh(file.string(), mesh);
    vertices = mesh.RemoveDuplicatedVertices().vertices_.size();
  }
  tell(state, format, file, vertices);
}

/// What our reading of a binary PLY consists of, one after the other. SHA-256 runs beside decoding and cleaning.
void stages(benchmark::State& state) {
  constexpr Format kPly = kFormats[2];
  const auto file = written(kPly, state.range(0));
  const ReadLimits limits;
  std::array<double, 4> seconds = {};
  auto since = std::chrono::steady_clock::now();
  const auto note = [&](double& stage) {
    const auto now = std::chrono::steady_clock::now();
    stage += std::chrono::duration<double>(now - std::exchange(since, now)).count();
  };
  std::size_t vertices = 0;
  for (auto _ : state) {
    since = std::chrono::steady_clock::now();
    const FileBytes bytes = read_bytes(file, limits.largest_file_bytes);
    note(seconds[0]);
    benchmark::DoNotOptimize(sha256_of(bytes.bytes()));
    note(seconds[1]);
    RawMesh raw = read_ply("file", bytes.bytes(), limits);
    note(seconds[2]);
    vertices = cleaned("file", std::move(raw)).mesh.vertices.size();
    note(seconds[3]);
  }
  tell(state, kPly, file, vertices);
  constexpr const char* kStages[] = {"into memory", "SHA-256", "decoded", "welded and cleaned"};
  for (std::size_t i = 0; i < seconds.size(); ++i)
    state.counters[kStages[i]] = 1e3 * seconds[i] / static_cast<double>(state.iterations());
}

const std::vector<std::vector<std::int64_t>> kArguments{{0, 1, 2, 3, 4, 5, 6}, {k200Thousand, k1Million}};
BENCHMARK(ours)->ArgsProduct(kArguments)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(open3d_readers)->ArgsProduct(kArguments)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(stages)->Arg(k200Thousand)->Arg(k1Million)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
}  // namespace lastroom::bench

BENCHMARK_MAIN();
