// What Open3D takes on the files of bench_check, in a process of its own, so that its memory is told alone:
//   open3d_files read scan.stl last.stl      reads both
//   open3d_files arrays scan.stl last.stl    takes the distance of the scan's vertices; the welded meshes are given to
//                                            it as arrays (its own reader would leave six times as many vertices)

#include <open3d/core/Tensor.h>
#include <open3d/geometry/TriangleMesh.h>
#include <open3d/io/TriangleMeshIO.h>
#include <open3d/t/geometry/RaycastingScene.h>

#include <chrono>
#include <cstdio>
#include <cstring>

#include "mesh_io/read_mesh.h"

namespace {

using namespace open3d;
using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) { return std::chrono::duration<double>(Clock::now() - start).count(); }

/// Float32, as Open3D wants them; the mesh itself is gone afterwards.
std::pair<core::Tensor, core::Tensor> tensors(const char* file) {
  const lastroom::Mesh mesh = lastroom::read_mesh(file).mesh;
  core::Tensor vertices({static_cast<int64_t>(mesh.vertices.size()), 3}, core::Float32);
  float* to = vertices.GetDataPtr<float>();
  for (const lastroom::Vec3& v : mesh.vertices)
    for (int k = 0; k < 3; ++k) *to++ = static_cast<float>(v[k]);
  core::Tensor triangles({static_cast<int64_t>(mesh.triangles.size()), 3}, core::UInt32);
  std::memcpy(triangles.GetDataPtr<std::uint32_t>(), mesh.triangles.data(), mesh.triangles.size() * 12);
  return {vertices, triangles};
}

}  // namespace

int main(int count, char** words) {
  if (count != 4) return 1;
  if (std::strcmp(words[1], "read") == 0) {
    const auto start = Clock::now();
    geometry::TriangleMesh scan, last;
    io::ReadTriangleMesh(words[2], scan);
    io::ReadTriangleMesh(words[3], last);
    std::printf("{\"read\": %.4f}\n", seconds_since(start));
    return scan.vertices_.empty() || last.vertices_.empty() ? 1 : 0;
  }
  const core::Tensor points = tensors(words[2]).first;
  const auto [vertices, triangles] = tensors(words[3]);
  const auto start = Clock::now();
  t::geometry::RaycastingScene scene;
  scene.AddTriangles(vertices, triangles);
  const core::Tensor distance = scene.ComputeDistance(points);
  std::printf("{\"distance\": %.4f}\n", seconds_since(start));
  return distance.NumElements() == points.GetLength() ? 0 : 1;
}
