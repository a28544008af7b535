#include <open3d/geometry/PointCloud.h>
#include <open3d/geometry/TriangleMesh.h>
#include <open3d/io/ModelIO.h>
#include <open3d/io/PointCloudIO.h>
#include <open3d/utility/Logging.h>
#include <open3d/visualization/rendering/Model.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <filesystem>

#include "open3d_adapter/confine.h"
#include "open3d_adapter/reader/reader_protocol.h"

// lastroom_open3d_reader FILE: a mesh in one of the rarer formats, for rare_format.cpp. The readers of Open3D and
// assimp believe what a file says, so they run in a process of their own: whatever they do with a stranger's file, they
// take no more memory and time than told, open no file but that one, make no connection, and take nobody along when
// they end.

namespace {

using namespace lastroom::open3d_adapter;

struct Points {
  std::vector<Eigen::Vector3d> vertices;
  std::vector<std::array<std::uint32_t, 3>> triangles;
};

void limit(int resource, std::uint64_t most, std::uint64_t grace = 0) {
  const rlimit both{most, most + grace};
  ::setrlimit(static_cast<__rlimit_resource>(resource), &both);
}

bool is_cloud(const std::filesystem::path& file) {
  std::string extension = file.extension().string();
  std::transform(extension.begin(), extension.end(), extension.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  constexpr std::array kClouds{".xyzn", ".xyzrgb", ".pcd", ".pts"};
  return std::find(kClouds.begin(), kClouds.end(), extension) != kClouds.end();
}

bool read(const std::string& file, Points& mesh) {
  if (is_cloud(file)) {
    open3d::geometry::PointCloud points;
    open3d::io::ReadPointCloudOption option;
    option.remove_nan_points = true;
    option.remove_infinite_points = true;
    if (!open3d::io::ReadPointCloud(file, points, option)) return false;
    mesh.vertices = std::move(points.points_);
    return !mesh.vertices.empty();
  }
  // Not ReadTriangleMesh: that leaves every part where its own file frame has it and forgets the scene's scale.
  open3d::visualization::rendering::TriangleMeshModel model;
  if (!open3d::io::ReadTriangleModel(file, model, {})) return false;
  for (const auto& part : model.meshes_) {
    const auto offset = static_cast<std::uint32_t>(mesh.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), part.mesh->vertices_.begin(), part.mesh->vertices_.end());
    for (const Eigen::Vector3i& t : part.mesh->triangles_) {
      const auto corner = [&](int k) { return static_cast<std::uint32_t>(t[k]) + offset; };
      mesh.triangles.push_back({corner(0), corner(1), corner(2)});
    }
  }
  return !mesh.vertices.empty();
}

bool say(int out, const void* bytes, std::size_t count) {
  for (const char* at = static_cast<const char*>(bytes); count > 0;) {
    const ssize_t written = ::write(out, at, count);
    if (written <= 0) return false;
    at += written;
    count -= static_cast<std::size_t>(written);
  }
  return true;
}

int run(const std::string& file, int out) {
  try {
    open3d::utility::SetVerbosityLevel(open3d::utility::VerbosityLevel::Error);
    Points mesh;
    if (!read(file, mesh)) return kNoMesh;
    const ReaderHeader header{mesh.vertices.size(), mesh.triangles.size()};
    const bool said = say(out, &header, sizeof header) &&
                      say(out, mesh.vertices.data(), mesh.vertices.size() * sizeof mesh.vertices[0]) &&
                      say(out, mesh.triangles.data(), mesh.triangles.size() * sizeof mesh.triangles[0]);
    return said ? kRead : kNoMesh;
  } catch (const std::bad_alloc&) {
    return kOutOfMemory;
  } catch (...) {
    return kNoMesh;
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return kNoMesh;
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  limit(RLIMIT_DATA, kReaderBytes);
  limit(RLIMIT_CPU, kReaderSeconds, 5);  // ended by SIGXCPU before SIGKILL, so that it is known why
  limit(RLIMIT_FSIZE, 0);
  limit(RLIMIT_CORE, 0);
  if (!forbid_network() || !forbid_files_but(argv[1])) return kNotShutIn;
  const int out = ::dup(STDOUT_FILENO);
  ::dup2(STDERR_FILENO, STDOUT_FILENO);  // Open3D prints on standard output when it fails
  ::_exit(run(argv[1], out));            // not the libraries' own farewells: what they hold may be damaged
}
