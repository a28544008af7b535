#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "geometry/mesh.h"
#include "message.h"

namespace lastroom {

struct ReadLimits {
  std::uint64_t largest_file_bytes = 2'000'000'000;
  std::uint64_t largest_triangles = 20'000'000;
};

/// What a file holds, still in its own unit and frame; vertices at exactly the same place are one vertex.
struct MeshFile {
  std::string name;    ///< without folders
  std::string sha256;  ///< of the file's bytes, lower-case hex
  Mesh mesh;           ///< bare points when it has no triangles
  std::uint64_t vertices_in_file = 0, triangles_in_file = 0;
  std::optional<double> mm_per_unit;  ///< told by the format itself (glTF is in metres); else unknown
  std::vector<Message> repairs;       ///< sentences in plain words, for the report
};

/// Reads .stl .ply (both binary and ASCII) .obj .off .glb .gltf itself; anything else through Open3D's readers.
/// Content decides where it contradicts the extension of an STL ("solid" in a binary file).
/// Faces with more than three corners are split into fans; faces with bad indices, repeated corners or non-finite
/// vertices are dropped and counted in `repairs`. Throws InputError when the file can't be used.
MeshFile read_mesh(const std::filesystem::path& file, const ReadLimits& limits = {});

/// Vertices at exactly the same place become one (first place kept in order), triangles that lost a corner or repeat
/// another are dropped. Returns how many vertices were merged.
std::size_t weld(Mesh& mesh);

}  // namespace lastroom
