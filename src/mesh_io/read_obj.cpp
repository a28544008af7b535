#include "mesh_io/raw_mesh.h"
#include "mesh_io/text_scanner.h"

namespace lastroom {
namespace {

// The vertex of "7", "7/1", "7//3" or "7/1/3"; counting from 1, or backwards from the newest vertex with -1.
std::uint32_t corner(TextScanner& text, std::size_t vertices) {
  const std::int64_t index = text.integer();
  if (text.peek() == '/') text.word();  // texture and normal
  const std::int64_t place = index > 0 ? index - 1 : static_cast<std::int64_t>(vertices) + index;
  return index != 0 && place >= 0 && place < kNoVertex ? static_cast<std::uint32_t>(place) : kNoVertex;
}

// A backslash at the end of a line says that the next one goes on (some modellers wrap their faces so).
bool face_is_over(TextScanner& text) {
  for (; !text.line_is_over(); text.skip_space()) {
    if (text.peek() != '\\') return false;
    text.word();
  }
  return true;
}

}  // namespace

RawMesh read_obj(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  RawMesh raw;
  Mesh& mesh = raw.mesh;
  TextScanner text(name, bytes);
  std::vector<std::uint32_t> corners;
  for (text.skip_space(); !text.at_end(); text.skip_space()) {
    const std::string_view word = text.word();
    if (word == "v") {
      const double x = text.number(), y = text.number(), z = text.number();
      mesh.vertices.emplace_back(x, y, z);
      if (mesh.vertices.size() > limits.largest_triangles) check_limits(name, mesh.vertices.size(), 0, limits);
    } else if (word == "f" || word == "fo") {  // fo: an old spelling
      corners.clear();
      while (!face_is_over(text)) corners.push_back(corner(text, mesh.vertices.size()));
      add_fan(raw, corners);
      if (mesh.triangles.size() > limits.largest_triangles) check_limits(name, 0, mesh.triangles.size(), limits);
    }
    text.skip_line();
  }
  raw.vertices_in_file = mesh.vertices.size();
  raw.triangles_in_file = mesh.triangles.size();
  return raw;
}

}  // namespace lastroom
