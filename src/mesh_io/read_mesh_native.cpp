#include "digest/digest.h"
#include "files/input_file.h"
#include "mesh_io/mesh_bytes.h"
#include "mesh_io/raw_mesh.h"
#include "open3d_adapter/open3d_adapter.h"

namespace lastroom {

MeshFile read_mesh(const std::filesystem::path& path, const ReadLimits& limits) {
  const std::string name = shown_name(path);
  const FileBytes file = read_bytes(path, limits.largest_file_bytes);
  if (is_read_here(path)) return mesh_in(name, file.bytes(), limits);
  std::string sha256 = sha256_of(file.bytes());
  RawMesh raw;
  raw.mesh = open3d_adapter::read_rare_format(path, name);
  raw.vertices_in_file = raw.mesh.vertices.size();
  raw.triangles_in_file = raw.mesh.triangles.size();
  check_limits(name, raw.vertices_in_file, raw.triangles_in_file, limits);
  MeshFile result = cleaned(name, std::move(raw));
  result.sha256 = std::move(sha256);
  return result;
}

}  // namespace lastroom
