#pragma once

// Private to mesh_io: the container side of glTF 2.0 (JSON, buffers, accessors), every size checked.

#include <array>
#include <nlohmann/json.hpp>
#include <span>
#include <string>
#include <vector>

#include "geometry/mesh.h"
#include "message.h"

namespace lastroom {

struct GltfDocument {
  std::string name;  ///< of the file, for messages
  nlohmann::json json;
  std::vector<std::vector<char>> decoded;      ///< buffers that were written as base64
  std::vector<std::span<const char>> buffers;  ///< into `decoded` or the file
};

/// `bytes` must outlive the document. Throws InputError.
GltfDocument open_gltf(const std::string& name, std::span<const char> bytes);

/// The object at `index` of a top-level array. Throws InputError when there is none.
const nlohmann::json& gltf_item(const GltfDocument& document, const char* array, const nlohmann::json& index);

/// How many items an accessor has, checked against the bytes that are there.
std::uint64_t gltf_count(const GltfDocument& document, const nlohmann::json& accessor);
std::vector<Vec3> gltf_places(const GltfDocument& document, const nlohmann::json& accessor);
std::vector<std::uint32_t> gltf_indices(const GltfDocument& document, const nlohmann::json& accessor);

[[noreturn]] void gltf_damaged(const std::string& name, const Message& what);

}  // namespace lastroom
