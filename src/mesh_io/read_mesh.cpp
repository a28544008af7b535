#include "mesh_io/read_mesh.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <bit>

#include "digest/digest.h"
#include "error.h"
#include "files/input_file.h"
#include "geometry/parallel.h"
#include "mesh_io/mesh_bytes.h"
#include "mesh_io/raw_mesh.h"

namespace lastroom {
namespace {

struct MeshFormat {
  std::string_view extension;
  RawMesh (*read)(const std::string&, std::span<const char>, const ReadLimits&);
};
constexpr std::array kMeshFormats{MeshFormat{".stl", read_stl},    MeshFormat{".ply", read_ply},
                                  MeshFormat{".obj", read_obj},    MeshFormat{".off", read_off},
                                  MeshFormat{".glb", read_gltf},   MeshFormat{".gltf", read_gltf},
                                  MeshFormat{".asc", read_points}, MeshFormat{".xyz", read_points}};

const MeshFormat* format_of(const std::filesystem::path& file) {
  std::string extension = file.extension().string();
  for (char& c : extension)  // scanners like to write .STL
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + ('a' - 'A'));
  const auto format = std::find_if(kMeshFormats.begin(), kMeshFormats.end(),
                                   [&](const MeshFormat& f) { return f.extension == extension; });
  return format == kMeshFormats.end() ? nullptr : &*format;
}

// A PLY or glTF file under a wrong name is told at once, instead of as damage.
void check_kind(const std::string& name, std::span<const char> bytes, const MeshFormat& format) {
  const std::string_view head(bytes.data(), std::min<std::size_t>(bytes.size(), 4));
  const auto is_really = [&](std::string_view extension) {
    throw InputError(about_file(
        "file.wrong_ending", name,
        {{"kind", UserText{std::string(extension.substr(1))}}, {"ending", UserText{std::string(extension)}}}));
  };
  if (format.extension != ".ply" && (head == "ply\n" || head == "ply\r")) is_really(".ply");
  if (format.extension != ".glb" && format.extension != ".gltf" && head == "glTF") is_really(".glb");
}

}  // namespace

MeshFile parse_mesh(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  const MeshFormat* format = format_of(name);
  if (format == nullptr) throw InputError(about_file("file.unknown_kind", name));
  check_kind(name, bytes, *format);
  try {
    return cleaned(name, format->read(name, bytes, limits));
  } catch (const std::bad_alloc&) {
    throw InputError(about_file("file.no_memory", name));
  }
}

bool is_read_here(const std::filesystem::path& file) { return format_of(file) != nullptr; }

MeshFile mesh_in(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  MeshFile result;
  std::string sha256;
  for_blocks(2, 1, [&](std::size_t job, std::size_t) {
    if (job == 0)
      sha256 = sha256_of(bytes);
    else
      result = parse_mesh(name, bytes, limits);
  });
  result.sha256 = std::move(sha256);
  return result;
}

MeshFile mesh_of_arrays(const std::string& name, Mesh mesh, const ReadLimits& limits) {
  static_assert(std::endian::native == std::endian::little && sizeof(Vec3) == 24 && sizeof(Triangle) == 12);
  RawMesh raw;
  raw.vertices_in_file = mesh.vertices.size();
  raw.triangles_in_file = mesh.triangles.size();
  check_limits(name, raw.vertices_in_file, raw.triangles_in_file, limits);
  std::string bytes;
  bytes.append(reinterpret_cast<const char*>(mesh.vertices.data()), raw.vertices_in_file * sizeof(Vec3));
  bytes.append(reinterpret_cast<const char*>(mesh.triangles.data()), raw.triangles_in_file * sizeof(Triangle));
  raw.mesh = std::move(mesh);
  MeshFile result = cleaned(name, std::move(raw));
  result.sha256 = sha256_of(bytes);
  return result;
}

}  // namespace lastroom
