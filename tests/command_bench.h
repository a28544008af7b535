#pragma once

// The program as its users meet it: files in, exit status, sentences and files out (contract: commands and exit
// status).

#include <sys/wait.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "demo/make_last.h"
#include "mesh_io/write_mesh.h"

namespace command_bench {

using namespace lastroom;
namespace fs = std::filesystem;

/// A folder of its own, removed at the end.
struct Bench {
  fs::path folder = fs::temp_directory_path() / ("lastroom_command_test_" + std::to_string(getpid()));
  Bench() { fs::create_directories(folder); }
  ~Bench() { fs::remove_all(folder); }
  std::string put(const std::string& name, const std::string& bytes) const {
    std::ofstream(folder / name, std::ios::binary) << bytes;
    return (folder / name).string();
  }
  std::string path(const std::string& name) const { return (folder / name).string(); }
};

struct Run {
  int status = -1;
  std::string out, err;
};

inline std::string slurp(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline Run lastroom_run(const Bench& bench, const std::string& arguments, const std::string& environment = "") {
  const fs::path out = bench.folder / "stdout", err = bench.folder / "stderr";
  const std::string command =
      environment + LASTROOM_PROGRAM + " " + arguments + " >'" + out.string() + "' 2>'" + err.string() + "' </dev/null";
  const int status = std::system(command.c_str());
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, slurp(out), slurp(err)};
}

inline Mesh box_mesh(const Vec3& size) {
  Mesh mesh;
  for (int i = 0; i < 8; ++i) mesh.vertices.push_back(Vec3(i & 1, i >> 1 & 1, i >> 2 & 1).cwiseProduct(size));
  mesh.triangles = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                    {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  return mesh;
}

inline Mesh joined(Mesh a, const Mesh& b) {
  const auto shift = static_cast<std::uint32_t>(a.vertices.size());
  a.vertices.insert(a.vertices.end(), b.vertices.begin(), b.vertices.end());
  for (const Triangle& t : b.triangles) a.triangles.push_back({t[0] + shift, t[1] + shift, t[2] + shift});
  return a;
}

inline Mesh scaled(Mesh mesh, double factor) {
  for (Vec3& v : mesh.vertices) v *= factor;
  return mesh;
}

struct DemoFiles : Bench {
  MadeFoot foot = make_foot({});
  MadeLast made_last = make_last(foot, {});
  std::string scan = put("foot.ply", ply_binary(foot.mesh));
  std::string last = put("last.stl", stl_binary(made_last.mesh));
  std::string pair = "'" + scan + "' '" + last + "' ";
};

}  // namespace command_bench
