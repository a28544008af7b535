#include "mesh_io/write_mesh.h"

#include <fmt/format.h>

#include <bit>
#include <cassert>
#include <charconv>
#include <cstring>
#include <nlohmann/json.hpp>

#include "number_text.h"

namespace lastroom {
namespace {

static_assert(std::endian::native == std::endian::little, "the binary formats are written as the machine stores them");

template <typename T>
void put(std::string& out, T value) {
  char bytes[sizeof(T)];
  std::memcpy(bytes, &value, sizeof value);
  out.append(bytes, sizeof value);
}

void put(std::string& out, const Vec3& v) {
  for (double c : v) put(out, static_cast<float>(c));
}

// The shortest text that reads back as the same float32.
void put_text(std::string& out, float value) {
  char digits[24];
  out.append(digits, number_to(digits, digits + sizeof digits, value));
}

void put_text(std::string& out, const Vec3& v) {
  for (int k = 0; k < 3; ++k) {
    if (k > 0) out += ' ';
    put_text(out, static_cast<float>(v[k]));
  }
}

void put_text(std::string& out, std::uint32_t value) {
  char digits[12];
  out.append(digits, std::to_chars(digits, digits + sizeof digits, value).ptr);
}

Vec3 unit_normal(const Mesh& mesh, const Triangle& t) {
  const Vec3& a = mesh.vertices[t[0]];
  return (mesh.vertices[t[1]] - a).cross(mesh.vertices[t[2]] - a).normalized();
}

std::string ply_header(const MeshView& mesh, std::string_view format, std::string_view more_of_a_vertex = {}) {
  std::string out = fmt::format(
      "ply\nformat {} 1.0\ncomment lengths in millimetres\nelement vertex {}\nproperty float x\nproperty float y\n"
      "property float z\n{}",
      format, mesh.vertices.size(), more_of_a_vertex);
  if (!mesh.triangles.empty())
    out += fmt::format("element face {}\nproperty list uchar int vertex_indices\n", mesh.triangles.size());
  return out + "end_header\n";
}

void put_binary_faces(std::string& out, const MeshView& mesh) {
  for (const Triangle& t : mesh.triangles) {
    out += '\3';
    put(out, t);
  }
}

}  // namespace

std::string stl_binary(const Mesh& mesh) {
  std::string out = "binary STL, lengths in millimetres";  // must not begin with "solid"
  out.reserve(84 + 50 * mesh.triangles.size());
  out.resize(80, ' ');
  put(out, static_cast<std::uint32_t>(mesh.triangles.size()));
  for (const Triangle& t : mesh.triangles) {
    put(out, unit_normal(mesh, t));
    for (std::uint32_t corner : t) put(out, mesh.vertices[corner]);
    put(out, std::uint16_t{0});
  }
  return out;
}

std::string stl_ascii(const Mesh& mesh) {
  std::string out = "solid mesh\n";
  for (const Triangle& t : mesh.triangles) {
    out += "facet normal ";
    put_text(out, unit_normal(mesh, t));
    out += "\n outer loop\n";
    for (std::uint32_t corner : t) {
      out += "  vertex ";
      put_text(out, mesh.vertices[corner]);
      out += '\n';
    }
    out += " endloop\nendfacet\n";
  }
  return out + "endsolid mesh\n";
}

std::string ply_binary(const Mesh& mesh) {
  std::string out = ply_header(mesh, "binary_little_endian");
  out.reserve(out.size() + 12 * mesh.vertices.size() + 13 * mesh.triangles.size());
  for (const Vec3& v : mesh.vertices) put(out, v);
  put_binary_faces(out, mesh);
  return out;
}

std::string ply_ascii(const Mesh& mesh) {
  std::string out = ply_header(mesh, "ascii");
  for (const Vec3& v : mesh.vertices) {
    put_text(out, v);
    out += '\n';
  }
  for (const Triangle& t : mesh.triangles) {
    out += '3';
    for (std::uint32_t corner : t) put_text(out += ' ', corner);
    out += '\n';
  }
  return out;
}

std::string obj_text(const Mesh& mesh) {
  std::string out = "# lengths in millimetres\n";
  for (const Vec3& v : mesh.vertices) {
    put_text(out += "v ", v);
    out += '\n';
  }
  for (const Triangle& t : mesh.triangles) {
    out += 'f';
    for (std::uint32_t corner : t) put_text(out += ' ', corner + 1);
    out += '\n';
  }
  return out;
}

std::string off_text(const Mesh& mesh) {
  std::string out = fmt::format("OFF\n{} {} 0\n", mesh.vertices.size(), mesh.triangles.size());
  for (const Vec3& v : mesh.vertices) {
    put_text(out, v);
    out += '\n';
  }
  for (const Triangle& t : mesh.triangles) {
    out += '3';
    for (std::uint32_t corner : t) put_text(out += ' ', corner);
    out += '\n';
  }
  return out;
}

std::string ply_with_clearance(const MeshView& mesh, const std::vector<VertexColour>& colours,
                               const std::vector<float>& clearance_mm, const std::vector<std::uint8_t>& judged) {
  assert(colours.size() == mesh.vertices.size() && clearance_mm.size() == mesh.vertices.size() &&
         judged.size() == mesh.vertices.size());
  std::string out = ply_header(mesh, "binary_little_endian",
                               "property uchar red\nproperty uchar green\nproperty uchar blue\n"
                               "property float clearance\nproperty uchar judged\n");
  out.reserve(out.size() + 20 * mesh.vertices.size() + 13 * mesh.triangles.size());
  for (std::size_t i = 0; i < mesh.vertices.size(); ++i) {
    put(out, mesh.vertices[i]);
    put(out, std::array{colours[i].red, colours[i].green, colours[i].blue});
    put(out, clearance_mm[i]);
    put(out, judged[i]);
  }
  put_binary_faces(out, mesh);
  return out;
}

std::string ply_with_change(const Mesh& mesh, const std::vector<VertexColour>& colours,
                            const std::vector<float>& added_mm) {
  assert(colours.size() == mesh.vertices.size() && added_mm.size() == mesh.vertices.size());
  std::string out = ply_header(mesh, "binary_little_endian",
                               "property uchar red\nproperty uchar green\nproperty uchar blue\nproperty float added\n");
  for (std::size_t i = 0; i < mesh.vertices.size(); ++i) {
    put(out, mesh.vertices[i]);
    put(out, std::array{colours[i].red, colours[i].green, colours[i].blue});
    put(out, added_mm[i]);
  }
  put_binary_faces(out, mesh);
  return out;
}

std::string glb(const Mesh& mesh) {
  using nlohmann::json;
  // glTF 2.0, 3.4 "Coordinate System and Units": metres, y up. (x, y, z) mm -> (x, z, -y) m keeps the handedness.
  std::string data;
  data.reserve(12 * mesh.vertices.size() + 12 * mesh.triangles.size());
  constexpr float kBig = std::numeric_limits<float>::max();
  std::array<float, 3> low{kBig, kBig, kBig}, high{-kBig, -kBig, -kBig};
  for (const Vec3& v : mesh.vertices) {
    const std::array<float, 3> p{static_cast<float>(v.x() / 1000.0), static_cast<float>(v.z() / 1000.0),
                                 static_cast<float>(-v.y() / 1000.0)};
    put(data, p);
    for (std::size_t k = 0; k < 3; ++k) {
      low[k] = std::min(low[k], p[k]);
      high[k] = std::max(high[k], p[k]);
    }
  }
  const std::size_t index_offset = data.size();
  for (const Triangle& t : mesh.triangles) put(data, t);

  constexpr int kFloat = 5126, kUnsignedInt = 5125, kVertices = 34962, kIndices = 34963, kPoints = 0, kTriangles = 4;
  json document;
  document["asset"] = {{"version", "2.0"}, {"generator", "lastroom"}};
  document["scene"] = 0;
  document["scenes"] = json::array({{{"nodes", {0}}}});
  document["nodes"] = json::array({{{"mesh", 0}}});
  json primitive = {{"attributes", {{"POSITION", 0}}}, {"mode", mesh.triangles.empty() ? kPoints : kTriangles}};
  document["bufferViews"] =
      json::array({{{"buffer", 0}, {"byteOffset", 0}, {"byteLength", index_offset}, {"target", kVertices}}});
  document["accessors"] = json::array({{{"bufferView", 0},
                                        {"componentType", kFloat},
                                        {"count", mesh.vertices.size()},
                                        {"type", "VEC3"},
                                        {"min", low},
                                        {"max", high}}});
  if (!mesh.triangles.empty()) {
    primitive["indices"] = 1;
    document["bufferViews"].push_back({{"buffer", 0},
                                       {"byteOffset", index_offset},
                                       {"byteLength", data.size() - index_offset},
                                       {"target", kIndices}});
    document["accessors"].push_back(
        {{"bufferView", 1}, {"componentType", kUnsignedInt}, {"count", 3 * mesh.triangles.size()}, {"type", "SCALAR"}});
  }
  document["meshes"] = json::array({{{"primitives", json::array({primitive})}}});
  document["buffers"] = json::array({{{"byteLength", data.size()}}});

  std::string text = document.dump();
  text.resize((text.size() + 3) / 4 * 4, ' ');  // chunks are multiples of four bytes; `data` is one already
  std::string out = "glTF";
  put(out, std::uint32_t{2});
  put(out, static_cast<std::uint32_t>(12 + 8 + text.size() + 8 + data.size()));
  put(out, static_cast<std::uint32_t>(text.size()));
  out += "JSON" + text;
  put(out, static_cast<std::uint32_t>(data.size()));
  out.append("BIN\0", 4);
  return out + data;
}

}  // namespace lastroom
