#include <fmt/format.h>

#include "error.h"
#include "mesh_io/raw_mesh.h"
#include "mesh_io/text_scanner.h"

namespace lastroom {
namespace {

// OFF, with C (colours), N (normals), ST (texture places) in front; these follow x, y, z on the line and are skipped.
// 4 and n (four and more dimensions) and BINARY are not meshes of a foot that any scanner writes.
void read_keyword(const std::string& name, TextScanner& text) {
  text.skip_space_and_comments();
  if ((text.peek() >= '0' && text.peek() <= '9')) return;  // the keyword may be left out
  const std::string_view word = text.word();
  if (word.find("4OFF") != std::string_view::npos || word.find("nOFF") != std::string_view::npos)
    throw InputError(about_file("off.dimensions", name));
  if (word != "OFF" && word != "COFF" && word != "NOFF" && word != "CNOFF" && word != "STOFF" && word != "STCOFF" &&
      word != "STNOFF" && word != "STCNOFF")
    throw InputError(about_file("off.other", name));
  text.skip_blanks();
  if (text.peek() == 'B') throw InputError(about_file("off.binary", name));
}

}  // namespace

RawMesh read_off(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  RawMesh raw;
  Mesh& mesh = raw.mesh;
  TextScanner text(name, bytes);
  read_keyword(name, text);
  const auto count = [&] {
    text.skip_space_and_comments();
    const std::int64_t value = text.integer();
    // "0 0 0" and its line end are 6 bytes, a face is no shorter: a larger claim can't be true.
    if (value < 0 || static_cast<std::uint64_t>(value) > text.left() / 5 + 1)
      throw InputError(about_file("off.too_short", name, {{"count", Quantity{static_cast<double>(value), 0}}}));
    return static_cast<std::uint64_t>(value);
  };
  const std::uint64_t vertices = count(), faces = count();
  if (!text.line_is_over()) text.integer();  // the number of edges, which nobody needs
  check_limits(name, vertices, faces, limits);

  mesh.vertices.reserve(vertices);
  for (std::uint64_t i = 0; i < vertices; ++i) {
    text.skip_space_and_comments();
    const double x = text.number(), y = text.number(), z = text.number();
    mesh.vertices.emplace_back(x, y, z);
    text.skip_line();
  }
  mesh.triangles.reserve(faces);
  std::vector<std::uint32_t> corners;
  for (std::uint64_t i = 0; i < faces; ++i) {
    text.skip_space_and_comments();
    const std::int64_t size = text.integer();
    if (size < 0 || static_cast<std::uint64_t>(size) > text.left()) text.cut_off();
    corners.clear();
    for (std::int64_t k = 0; k < size; ++k) {
      const std::int64_t index = text.integer();
      corners.push_back(index >= 0 && index < kNoVertex ? static_cast<std::uint32_t>(index) : kNoVertex);
    }
    text.skip_line();  // a colour may follow
    add_fan(raw, corners);
    if (mesh.triangles.size() > limits.largest_triangles) check_limits(name, 0, mesh.triangles.size(), limits);
  }
  raw.vertices_in_file = mesh.vertices.size();
  raw.triangles_in_file = mesh.triangles.size();
  return raw;
}

}  // namespace lastroom
