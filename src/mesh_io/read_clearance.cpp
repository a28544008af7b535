#include "mesh_io/read_clearance.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstring>
#include <limits>
#include <string_view>

#include "error.h"

namespace lastroom {
namespace {

constexpr std::size_t kVertexBytes = 3 * 4 + 3 + 4 + 1, kFaceBytes = 1 + 3 * 4;
constexpr std::string_view kEnd = "end_header\n";

[[noreturn]] void not_ours(const std::string& name) {
  throw InputError(name + ": is no clearance.ply as lastroom writes it; make the result again with: lastroom check");
}

std::size_t count_after(std::string_view header, std::string_view words, const std::string& name) {
  const std::size_t at = header.find(words);
  std::size_t count = 0;
  if (at == std::string_view::npos) not_ours(name);
  const char* const first = header.data() + at + words.size();
  if (std::from_chars(first, header.data() + header.size(), count).ec != std::errc()) not_ours(name);
  return count;
}

template <class T>
T value_at(const char* data) {
  T value;
  std::memcpy(&value, data, sizeof value);
  return value;
}

}  // namespace

ClearanceMesh parse_clearance_ply(std::span<const char> bytes, const std::string& name) {
  constexpr std::size_t kLongestHeader = 1000;
  const std::string_view text(bytes.data(), bytes.size());
  const std::size_t end = text.substr(0, kLongestHeader).find(kEnd);
  if (end == std::string_view::npos) not_ours(name);
  const std::string_view header = text.substr(0, end);
  const std::size_t vertices = count_after(header, "element vertex ", name);
  const std::size_t faces = count_after(header, "element face ", name);
  const std::string expected = fmt::format(
      "ply\nformat binary_little_endian 1.0\ncomment lengths in millimetres\nelement vertex {}\nproperty float x\n"
      "property float y\nproperty float z\nproperty uchar red\nproperty uchar green\nproperty uchar blue\n"
      "property float clearance\nproperty uchar judged\nelement face {}\nproperty list uchar int vertex_indices\n",
      vertices, faces);
  const std::size_t body = text.size() - end - kEnd.size();
  if (header != expected || vertices > body / kVertexBytes || faces > body / kFaceBytes ||
      body != vertices * kVertexBytes + faces * kFaceBytes)
    not_ours(name);

  ClearanceMesh result;
  const char* data = text.data() + end + kEnd.size();
  for (std::size_t i = 0; i < vertices; ++i, data += kVertexBytes) {
    result.mesh.vertices.emplace_back(value_at<float>(data), value_at<float>(data + 4), value_at<float>(data + 8));
    const bool judged = data[19] != 0;
    result.clearance_mm.push_back(judged ? value_at<float>(data + 15) : std::numeric_limits<double>::quiet_NaN());
    constexpr double kFarthest_mm = 2000.0;  // no foot stands that far from its last (our choice)
    const double clearance_mm = judged ? result.clearance_mm.back() : 0.0;
    if (!(result.mesh.vertices.back().cwiseAbs().maxCoeff() <= kFarthest_mm) ||
        !(std::abs(clearance_mm) <= kFarthest_mm))
      not_ours(name);
  }
  for (std::size_t i = 0; i < faces; ++i, data += kFaceBytes) {
    const auto triangle = value_at<Triangle>(data + 1);
    if (*data != 3 || *std::ranges::max_element(triangle) >= vertices) not_ours(name);
    result.mesh.triangles.push_back(triangle);
  }
  return result;
}

}  // namespace lastroom
