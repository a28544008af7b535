#pragma once

#include <Eigen/Geometry>
#include <array>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <stdexcept>
#include <string>
#include <vector>

#include "lastroom/version.h"

namespace lastroom_v0 {

/// Not aligned, so that who compiles with other instructions (-march=...) lays it out as the library does.
using Matrix4 = Eigen::Matrix<double, 4, 4, Eigen::DontAlign>;
using Vector3 = Eigen::Vector3d;

/// Triangles over vertices, or bare points where there are none.
struct Mesh {
  std::vector<Vector3> vertices;
  std::vector<std::array<std::uint32_t, 3>> triangles;
};

enum class Unit { mm, cm, m, inch };

/// What is refused before memory is taken for it.
struct MeshLimits {
  std::uint64_t largest_file_bytes = 2'000'000'000;
  std::uint64_t largest_triangles = 20'000'000;  ///< and three vertices for each
};

/// What was given can't be used: `what()` is a sentence in English with the name, what is wrong and what to do; `key`
/// the same for programs ("mesh.no_vertices"; they are those of result.json's `*_key`).
struct Refused : std::runtime_error {
  Refused(const std::string& sentence, std::string its_key) : std::runtime_error(sentence), key(std::move(its_key)) {}
  std::string key;
};

struct GivenInside;

/// A mesh as it was given, in its own unit and frame, in any pose, closed or open, even inside out. Vertices at exactly
/// the same place have become one; triangles with a bad index, a repeated corner or a corner that is no number are
/// dropped and counted. Can't be changed; copies share it.
class GivenMesh {
 public:
  explicit GivenMesh(std::shared_ptr<const GivenInside> inside) : inside_(std::move(inside)) {}
  const std::string& name() const;    ///< without folders; stands in messages and on pages
  const std::string& sha256() const;  ///< lower-case hex: of the file's bytes; of arrays see `given_mesh`
  Mesh mesh() const;                  ///< a copy
  const GivenInside& inside() const { return *inside_; }  ///< for the library itself

 private:
  std::shared_ptr<const GivenInside> inside_;
};

/// Reads .stl .ply .obj .off .glb .gltf, and points as .asc .xyz .ply; other formats through the Open3D reader, a
/// process of its own (where that is installed: `look_for_helpers_in`). Throws Refused.
GivenMesh read_mesh(const std::filesystem::path& file, const MeshLimits& limits = {});
/// The same from a file's bytes, without the Open3D reader; the name's ending tells the format. Throws Refused.
GivenMesh read_mesh(const std::string& name, std::span<const char> bytes, const MeshLimits& limits = {});
/// A mesh in memory. Its hash is of the vertices (x, y, z, each a binary64) and then the triangles (three 32-bit
/// indices each), all little-endian. Throws Refused.
GivenMesh given_mesh(Mesh mesh, const std::string& name, const MeshLimits& limits = {});

/// Where the Open3D module and reader lie, which bare points and rare formats need: `lastroom_HELPERS` of the CMake
/// package. Else they are looked for beside the running program and in ../lib/lastroom from there. Holds for the whole
/// process; to be said before the first such mesh.
void look_for_helpers_in(const std::filesystem::path& folder);

}  // namespace lastroom_v0
