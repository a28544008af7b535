#pragma once

// Private to mesh_io: what every reader hands over, and what read_mesh does with it.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mesh_io/read_mesh.h"
#include "message.h"

namespace lastroom {

constexpr std::uint32_t kNoVertex = 0xFFFFFFFFu;  ///< an index that can't be right; its triangle is dropped

/// A file's content before cleaning. Triangles may point anywhere, vertices may be NaN.
struct RawMesh {
  Mesh mesh;
  std::uint64_t vertices_in_file = 0, triangles_in_file = 0;
  std::uint64_t short_faces = 0;  ///< faces of fewer than three corners, which were left out
  bool welded = false;            ///< the reader has merged equal vertices already
  std::optional<double> mm_per_unit;
  std::vector<Message> repairs;
};

/// Adds a face as a fan of triangles around its first corner, or counts it as short.
void add_fan(RawMesh& raw, std::span<const std::uint32_t> corners);
/// Adds a triangle strip; triangles with a repeated corner are how strips turn and are left out silently.
void add_strip(std::vector<Triangle>& triangles, std::span<const std::uint32_t> corners);

/// What the file claims is refused before memory is taken for it. Throws InputError.
void check_limits(const std::string& name, std::uint64_t vertices, std::uint64_t triangles, const ReadLimits& limits);

/// Welds, drops what can't be used and counts it in the repairs. Throws InputError when nothing is left.
MeshFile cleaned(const std::string& name, RawMesh raw);

// One reader a format; `bytes` is the whole file. All throw InputError with `name` in front.
RawMesh read_stl(const std::string& name, std::span<const char> bytes, const ReadLimits& limits);
RawMesh read_ply(const std::string& name, std::span<const char> bytes, const ReadLimits& limits);
RawMesh read_obj(const std::string& name, std::span<const char> bytes, const ReadLimits& limits);
RawMesh read_off(const std::string& name, std::span<const char> bytes, const ReadLimits& limits);
RawMesh read_points(const std::string& name, std::span<const char> bytes, const ReadLimits& limits);
RawMesh read_gltf(const std::string& name, std::span<const char> bytes, const ReadLimits& limits);

/// Whether there is a reader for files with this ending above; other formats need the Open3D door.
bool is_read_here(const std::filesystem::path& file);
/// The whole of read_mesh but for the file and its SHA-256; no reader is behind the Open3D door. For tests and fuzzing.
MeshFile parse_mesh(const std::string& name, std::span<const char> bytes, const ReadLimits& limits);

}  // namespace lastroom
