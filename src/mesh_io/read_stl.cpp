#include <fmt/format.h>

#include <cstring>

#include "error.h"
#include "mesh_io/index_table.h"
#include "mesh_io/raw_mesh.h"
#include "mesh_io/text_scanner.h"

namespace lastroom {
namespace {

constexpr std::size_t kHeaderBytes = 84;    // 80 free bytes and the number of triangles
constexpr std::size_t kTriangleBytes = 50;  // normal and three corners as float32, and two bytes nobody agrees on

bool begins_with_solid(std::span<const char> bytes) {
  const std::string_view text(bytes.data(), std::min<std::size_t>(bytes.size(), 512));
  const std::size_t first = text.find_first_not_of(" \t\r\n\xEF\xBB\xBF");
  if (first == std::string_view::npos || text.size() - first < 5) return false;
  std::string word(text.substr(first, 5));
  for (char& c : word) c = static_cast<char>(c | 0x20);
  return word == "solid";
}

bool looks_like_text(std::span<const char> bytes) {
  return std::none_of(bytes.begin(),
                      bytes.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(bytes.size(), 512)),
                      [](char c) { return static_cast<unsigned char>(c) < 9 || c == 127; });
}

RawMesh read_binary(std::span<const char> bytes, std::size_t count) {
  RawMesh raw;
  raw.welded = true;
  raw.vertices_in_file = 3 * count;
  raw.triangles_in_file = count;
  std::vector<Vec3>& vertices = raw.mesh.vertices;
  vertices.reserve(count / 2 + count / 16 + 16);  // a closed surface has half as many vertices as triangles (Euler)
  raw.mesh.triangles.resize(count);
  VertexWelder welder(vertices, count / 2 + 16);
  constexpr std::size_t kBatch = VertexWelder::kBatch / 3;
  std::array<Vec3, VertexWelder::kBatch> corners;
  for (std::size_t first = 0; first < count; first += kBatch) {
    const std::size_t n = std::min(kBatch, count - first);
    for (std::size_t i = 0; i < n; ++i) {
      std::array<float, 9> c;
      std::memcpy(c.data(), &bytes[kHeaderBytes + kTriangleBytes * (first + i) + 12], sizeof c);
      for (std::size_t k = 0; k < 3; ++k) corners[3 * i + k] = Vec3(c[3 * k], c[3 * k + 1], c[3 * k + 2]);
    }
    welder.add(corners.data(), 3 * n, raw.mesh.triangles[first].data());
  }
  return raw;
}

RawMesh read_text(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  RawMesh raw;
  raw.welded = true;
  VertexWelder welder(raw.mesh.vertices, bytes.size() / 500);  // a facet takes about 250 bytes
  TextScanner text(name, bytes);
  std::vector<std::uint32_t> loop;
  bool in_facet = false, ended = false;
  const auto is = [](std::string_view word, std::string_view key) {
    return word.size() == key.size() &&
           std::equal(word.begin(), word.end(), key.begin(), [](char a, char b) { return (a | 0x20) == b; });
  };
  for (text.skip_space(); !text.at_end(); text.skip_space()) {
    const std::string_view word = text.word();
    if (is(word, "vertex")) {
      if (!in_facet) text.fail({"stl.vertex_outside"});
      const double x = text.number(), y = text.number(), z = text.number();
      const Vec3 place(x, y, z);
      welder.add(&place, 1, &loop.emplace_back());
      ++raw.vertices_in_file;
      check_limits(name, raw.vertices_in_file, 0, limits);  // here already: a facet may never end
    } else if (is(word, "facet")) {
      if (in_facet) text.fail({"stl.facet_inside"});
      in_facet = true;
      ended = false;
      text.skip_line();  // its normal; we trust the corners
    } else if (is(word, "endfacet")) {
      if (loop.size() < 3) text.fail({"stl.facet_short"});
      add_fan(raw, loop);
      check_limits(name, raw.vertices_in_file, raw.mesh.triangles.size(), limits);
      loop.clear();
      in_facet = false;
    } else if (is(word, "solid") || is(word, "endsolid")) {
      ended = is(word, "endsolid");
      text.skip_line();  // its name
    } else if (!is(word, "outer") && !is(word, "loop") && !is(word, "endloop")) {
      if (raw.mesh.triangles.empty() && !in_facet) throw InputError(about_file("stl.text", name));
      if (text.at_end()) text.cut_off();
      text.fail({"stl.not_part"});
    }
  }
  if (in_facet) text.cut_off();
  if (!ended && !raw.mesh.triangles.empty()) raw.repairs.push_back({"repair.no_closing_word"});
  raw.triangles_in_file = raw.mesh.triangles.size();
  return raw;
}

}  // namespace

RawMesh read_stl(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  std::uint32_t count = 0;
  if (bytes.size() >= kHeaderBytes) std::memcpy(&count, &bytes[80], sizeof count);
  const std::uint64_t needed = kHeaderBytes + kTriangleBytes * std::uint64_t{count};
  const bool exact_size = bytes.size() >= kHeaderBytes && bytes.size() == needed;

  // Some programs begin binary files with "solid" as well: the size decides.
  if (!exact_size && looks_like_text(bytes)) {
    if (begins_with_solid(bytes)) return read_text(name, bytes, limits);
    throw InputError(about_file("stl.text", name));
  }
  if (bytes.size() < kHeaderBytes) throw InputError(about_file("stl.too_few_bytes", name, {{"count", bytes.size()}}));
  if (bytes.size() < needed)
    throw InputError(about_file(
        "stl.too_short", name,
        {{"told", std::uint64_t{count}}, {"count", std::uint64_t{(bytes.size() - kHeaderBytes) / kTriangleBytes}}}));
  if (count == 0) throw InputError(about_file("stl.no_triangles", name));
  check_limits(name, 3 * std::uint64_t{count}, count, limits);
  RawMesh raw = read_binary(bytes, count);
  if (!exact_size) raw.repairs.push_back({"repair.bytes_after", {{"count", std::uint64_t{bytes.size() - needed}}}});
  return raw;
}

}  // namespace lastroom
