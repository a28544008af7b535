#include "mesh_io/gltf_document.h"

#include <algorithm>
#include <cstring>

#include "error.h"

namespace lastroom {
namespace {

using nlohmann::json;

// A JSON tree takes some hundred bytes an item, however short its text ("[[[["). A mesh's description has a few hundred
// items; buffers in base64 are one item each. Our choice.
constexpr std::ptrdiff_t kMostJsonItems = 2'000'000;

std::uint32_t u32_at(std::span<const char> bytes, std::size_t at) {
  std::uint32_t value;
  std::memcpy(&value, &bytes[at], sizeof value);
  return value;
}

json parsed(const std::string& name, std::span<const char> text) {
  const auto begins_item = [](char c) { return c == '[' || c == '{' || c == ','; };
  if (std::count_if(text.begin(), text.end(), begins_item) > kMostJsonItems)
    throw InputError(about_file("gltf.json_too_large", name));
  json tree = json::parse(text.begin(), text.end(), nullptr, false);
  if (tree.is_discarded() || !tree.is_object()) gltf_damaged(name, {"gltf.json"});
  return tree;
}

// glTF 2.0, 4.4 "Binary glTF Layout": magic, version, length, then chunks of length, type, bytes.
std::pair<std::span<const char>, std::span<const char>> glb_chunks(const std::string& name,
                                                                   std::span<const char> bytes) {
  if (bytes.size() < 20) gltf_damaged(name, {"gltf.short"});
  if (u32_at(bytes, 4) != 2) throw InputError(about_file("gltf.version", name));
  if (u32_at(bytes, 8) > bytes.size()) gltf_damaged(name, {"gltf.early"});
  bytes = bytes.first(u32_at(bytes, 8));
  std::span<const char> text, data;
  for (std::size_t at = 12; at + 8 <= bytes.size();) {
    const std::size_t length = u32_at(bytes, at);
    if (length > bytes.size() - at - 8) gltf_damaged(name, {"gltf.early"});
    const std::span<const char> chunk = bytes.subspan(at + 8, length);
    const std::string_view type(&bytes[at + 4], 4);
    if (type == "JSON" && text.empty()) text = chunk;
    if (type == std::string_view("BIN\0", 4) && data.empty()) data = chunk;
    at += 8 + (length + 3) / 4 * 4;
  }
  if (text.empty()) gltf_damaged(name, {"gltf.no_json"});
  return {text, data};
}

std::vector<char> from_base64(const std::string& name, std::string_view text) {
  constexpr std::string_view kAlphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::array<signed char, 256> value_of;
  value_of.fill(-1);
  for (std::size_t i = 0; i < kAlphabet.size(); ++i)
    value_of[static_cast<unsigned char>(kAlphabet[i])] = static_cast<signed char>(i);
  while (!text.empty() && text.back() == '=') text.remove_suffix(1);
  std::vector<char> bytes;
  bytes.reserve(text.size() / 4 * 3 + 3);
  std::uint32_t bits = 0;
  int held = 0;
  for (char c : text) {
    const int value = value_of[static_cast<unsigned char>(c)];
    if (value < 0) gltf_damaged(name, {"gltf.base64"});
    bits = bits << 6 | static_cast<std::uint32_t>(value);
    held += 6;
    if (held >= 8) {
      held -= 8;
      bytes.push_back(static_cast<char>(bits >> held & 0xFF));
    }
  }
  return bytes;
}

// A whole number that is not negative; `missing` when the key is not there.
std::uint64_t whole(const GltfDocument& document, const json& object, const char* key, std::uint64_t missing) {
  const auto found = object.find(key);
  if (found == object.end()) return missing;
  if (!found->is_number_unsigned()) gltf_damaged(document.name, {"gltf.not_whole", {{"name", UserText{key}}}});
  return found->get<std::uint64_t>();
}

struct Strided {
  const char* first = nullptr;
  std::uint64_t count = 0, stride = 0;
};

Strided items_of(const GltfDocument& document, const json& accessor, std::uint64_t item_bytes) {
  const std::string& name = document.name;
  if (!accessor.is_object()) gltf_damaged(name, {"gltf.no_accessor"});
  if (accessor.contains("sparse")) throw InputError(about_file("gltf.sparse", name));
  if (!accessor.contains("bufferView")) gltf_damaged(name, {"gltf.no_data"});
  const json& view = gltf_item(document, "bufferViews", accessor["bufferView"]);
  const std::uint64_t buffer = whole(document, view, "buffer", document.buffers.size());
  if (buffer >= document.buffers.size()) gltf_damaged(name, {"gltf.no_buffer"});
  const std::span<const char> bytes = document.buffers[buffer];
  const std::uint64_t view_offset = whole(document, view, "byteOffset", 0);
  const std::uint64_t view_bytes = whole(document, view, "byteLength", 0);
  if (view_offset > bytes.size() || view_bytes > bytes.size() - view_offset) gltf_damaged(name, {"gltf.outside"});
  const std::uint64_t offset = whole(document, accessor, "byteOffset", 0);
  const std::uint64_t stride = whole(document, view, "byteStride", item_bytes);
  const std::uint64_t count = whole(document, accessor, "count", 0);
  if (stride < item_bytes || stride > 252) gltf_damaged(name, {"gltf.stride"});  // 252: glTF 2.0, 5.11.4
  if (count > 0 && (offset > view_bytes || item_bytes > view_bytes - offset ||
                    count - 1 > (view_bytes - offset - item_bytes) / stride))
    gltf_damaged(name, {"gltf.outside"});
  return {count > 0 ? bytes.data() + view_offset + offset : nullptr, count, stride};
}

}  // namespace

void gltf_damaged(const std::string& name, const Message& what) {
  throw InputError(about_file("gltf.damaged", name, {{"what", what}}));
}

const json& gltf_item(const GltfDocument& document, const char* array, const json& index) {
  const auto items = document.json.find(array);
  if (items == document.json.end() || !items->is_array() || !index.is_number_unsigned() ||
      index.get<std::uint64_t>() >= items->size() || !(*items)[index.get<std::size_t>()].is_object())
    gltf_damaged(document.name, {"gltf.no_entry", {{"name", UserText{array}}}});
  return (*items)[index.get<std::size_t>()];
}

GltfDocument open_gltf(const std::string& name, std::span<const char> bytes) {
  GltfDocument document{.name = name, .json = {}, .decoded = {}, .buffers = {}};
  std::span<const char> text = bytes, data;
  if (bytes.size() >= 4 && std::string_view(bytes.data(), 4) == "glTF") std::tie(text, data) = glb_chunks(name, bytes);
  document.json = parsed(name, text);

  const auto required = document.json.find("extensionsRequired");
  if (required != document.json.end() && required->is_array())
    for (const json& extension : *required)
      if (extension.is_string()) {
        const std::string& needed = extension.get_ref<const std::string&>();
        if (needed.find("compression") != std::string::npos || needed.find("quantization") != std::string::npos)
          throw InputError(about_file("gltf.compressed", name));
      }

  const auto buffers = document.json.find("buffers");
  if (buffers == document.json.end() || !buffers->is_array()) return document;
  document.decoded.reserve(buffers->size());
  for (const json& buffer : *buffers) {
    if (!buffer.is_object()) gltf_damaged(name, {"gltf.no_buffer"});
    const auto uri = buffer.find("uri");
    std::span<const char> content = data;
    if (uri != buffer.end()) {
      if (!uri->is_string()) gltf_damaged(name, {"gltf.no_buffer"});
      const std::string_view address = uri->get_ref<const std::string&>();
      const std::size_t comma = address.find(";base64,");
      if (address.substr(0, 5) != "data:" || comma == std::string_view::npos)
        throw InputError(about_file("gltf.other_file", name));
      document.decoded.push_back(from_base64(name, address.substr(comma + 8)));
      content = document.decoded.back();
    }
    if (whole(document, buffer, "byteLength", 0) > content.size()) gltf_damaged(name, {"gltf.buffer_early"});
    document.buffers.push_back(content);
  }
  return document;
}

std::uint64_t gltf_count(const GltfDocument& document, const json& accessor) {
  return items_of(document, accessor, 1).count;
}

std::vector<Vec3> gltf_places(const GltfDocument& document, const json& accessor) {
  constexpr std::uint64_t kFloat = 5126;
  if (whole(document, accessor, "componentType", 0) != kFloat || accessor.value("type", "") != "VEC3")
    throw InputError(about_file("gltf.no_floats", document.name));
  const Strided items = items_of(document, accessor, 12);
  std::vector<Vec3> places(items.count);
  for (std::uint64_t i = 0; i < items.count; ++i) {
    float c[3];
    std::memcpy(c, items.first + i * items.stride, sizeof c);
    places[i] = Vec3(c[0], c[1], c[2]);
  }
  return places;
}

std::vector<std::uint32_t> gltf_indices(const GltfDocument& document, const json& accessor) {
  const std::uint64_t type = whole(document, accessor, "componentType", 0);
  const std::uint64_t bytes = type == 5121 ? 1 : type == 5123 ? 2 : type == 5125 ? 4 : 0;  // unsigned byte, short, int
  if (bytes == 0) gltf_damaged(document.name, {"gltf.index_type"});
  const Strided items = items_of(document, accessor, bytes);
  std::vector<std::uint32_t> indices(items.count, 0);
  for (std::uint64_t i = 0; i < items.count; ++i) std::memcpy(&indices[i], items.first + i * items.stride, bytes);
  return indices;
}

}  // namespace lastroom
