#include "error.h"
#include "mesh_io/gltf_document.h"
#include "mesh_io/raw_mesh.h"

namespace lastroom {
namespace {

using nlohmann::json;

// glTF 2.0, 3.5.3 "Transformations": a 4x4 matrix by columns, or translation * rotation * scale.
Eigen::Affine3d motion_of(const GltfDocument& document, const json& node) {
  const auto numbers = [&](const char* key, std::vector<double> values) {
    const auto found = node.find(key);
    if (found == node.end()) return values;
    if (!found->is_array() || found->size() != values.size()) gltf_damaged(document.name, {"gltf.node_place"});
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (!(*found)[i].is_number()) gltf_damaged(document.name, {"gltf.node_place"});
      values[i] = (*found)[i].get<double>();
    }
    return values;
  };
  Eigen::Affine3d motion = Eigen::Affine3d::Identity();
  if (node.contains("matrix")) {
    const std::vector<double> m = numbers("matrix", std::vector<double>(16));
    motion.matrix().topRows<3>() = Eigen::Map<const Eigen::Matrix4d>(m.data()).topRows<3>();
    return motion;
  }
  const std::vector<double> t = numbers("translation", {0, 0, 0}), r = numbers("rotation", {0, 0, 0, 1}),
                            s = numbers("scale", {1, 1, 1});
  motion.translate(Vec3(t[0], t[1], t[2])).rotate(Eigen::Quaterniond(r[3], r[0], r[1], r[2]).normalized());
  return motion.scale(Vec3(s[0], s[1], s[2]));
}

void add_primitive(const GltfDocument& document, const json& primitive, const Eigen::Affine3d& motion, RawMesh& raw,
                   const ReadLimits& limits) {
  enum Mode : std::uint64_t { points = 0, triangles = 4, strip = 5, fan = 6 };
  const json mode_or_default = primitive.value("mode", json(4u));
  const std::uint64_t mode = mode_or_default.is_number_unsigned() ? mode_or_default.get<std::uint64_t>() : 4;
  if (mode != points && mode != triangles && mode != strip && mode != fan) return;  // lines are no surface
  const auto attributes = primitive.find("attributes");
  if (attributes == primitive.end() || !attributes->is_object() || !attributes->contains("POSITION")) return;

  // Refused before the memory is taken: many primitives may share one accessor.
  const json& places_at = gltf_item(document, "accessors", (*attributes)["POSITION"]);
  Mesh& mesh = raw.mesh;
  const std::size_t offset = mesh.vertices.size();
  check_limits(document.name, offset + gltf_count(document, places_at), 0, limits);
  std::vector<Vec3> places = gltf_places(document, places_at);
  std::vector<std::uint32_t> corners;
  if (primitive.contains("indices")) {
    const json& indices_at = gltf_item(document, "accessors", primitive["indices"]);
    const std::uint64_t corners_each = mode == triangles ? 3 : 1;
    raw.triangles_in_file += gltf_count(document, indices_at) / corners_each;
    check_limits(document.name, 0, raw.triangles_in_file, limits);
    corners = gltf_indices(document, indices_at);
  } else {
    corners.resize(places.size());
    for (std::size_t i = 0; i < corners.size(); ++i) corners[i] = static_cast<std::uint32_t>(i);
  }
  for (std::uint32_t& corner : corners)
    corner = corner < places.size() ? static_cast<std::uint32_t>(corner + offset) : kNoVertex;

  const std::size_t first = mesh.triangles.size();
  if (mode == strip) add_strip(mesh.triangles, corners);
  if (mode == fan) add_fan(raw, corners);
  if (mode == triangles)
    for (std::size_t i = 2; i < corners.size(); i += 3)
      mesh.triangles.push_back({corners[i - 2], corners[i - 1], corners[i]});
  check_limits(document.name, 0, mesh.triangles.size(), limits);  // strips without indices have one a vertex
  if (motion.linear().determinant() < 0.0)  // a mirror turns the triangles inside out (glTF 2.0, 3.7.4)
    for (std::size_t i = first; i < mesh.triangles.size(); ++i) std::swap(mesh.triangles[i][1], mesh.triangles[i][2]);
  for (const Vec3& place : places) mesh.vertices.push_back(motion * place);
}

void add_mesh(const GltfDocument& document, const json& mesh, const Eigen::Affine3d& motion, RawMesh& raw,
              const ReadLimits& limits) {
  const auto primitives = mesh.find("primitives");
  if (primitives == mesh.end() || !primitives->is_array()) return;
  // Each counts as a triangle at least: many nodes may share a mesh of many primitives that draw nothing.
  raw.triangles_in_file += primitives->size();
  check_limits(document.name, 0, raw.triangles_in_file, limits);
  for (const json& primitive : *primitives)
    if (primitive.is_object()) add_primitive(document, primitive, motion, raw, limits);
}

const json& array_of(const json& object, const char* key) {
  static const json kNone = json::array();
  const auto found = object.find(key);
  return found != object.end() && found->is_array() ? *found : kNone;
}

// The nodes that stand in the scene: those the default scene names, else those that are nobody's child.
std::vector<json> roots_of(const GltfDocument& document) {
  const json& scenes = array_of(document.json, "scenes");
  if (!scenes.empty()) {
    const json& scene = gltf_item(document, "scenes", document.json.value("scene", json(0u)));
    const json& nodes = array_of(scene, "nodes");
    return {nodes.begin(), nodes.end()};
  }
  const json& nodes = array_of(document.json, "nodes");
  std::vector<std::uint8_t> is_child(nodes.size(), 0);
  for (const json& node : nodes)
    for (const json& child : array_of(node, "children"))
      if (child.is_number_unsigned() && child.get<std::size_t>() < nodes.size()) is_child[child.get<std::size_t>()] = 1;
  std::vector<json> roots;
  for (std::size_t i = 0; i < nodes.size(); ++i)
    if (!is_child[i]) roots.emplace_back(i);
  return roots;
}

RawMesh read_scene(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  const GltfDocument document = open_gltf(name, bytes);
  RawMesh raw;
  raw.mm_per_unit = 1000.0;  // glTF 2.0, 3.4: metres
  const std::size_t nodes = array_of(document.json, "nodes").size();
  if (nodes == 0)
    for (const json& mesh : array_of(document.json, "meshes"))
      add_mesh(document, mesh, Eigen::Affine3d::Identity(), raw, limits);

  struct Visit {
    json node;
    Eigen::Affine3d motion;
  };
  std::vector<Visit> open;
  for (const json& root : roots_of(document)) open.push_back({root, Eigen::Affine3d::Identity()});
  for (std::size_t visited = 0; !open.empty(); ++visited) {
    // A node has one parent (glTF 2.0, 3.5.2), so more visits, made or waiting, than nodes mean a loop.
    if (visited + open.size() > nodes) gltf_damaged(name, {"gltf.node_loop"});
    const Visit visit = std::move(open.back());
    open.pop_back();
    const json& node = gltf_item(document, "nodes", visit.node);
    const Eigen::Affine3d motion = visit.motion * motion_of(document, node);
    if (node.contains("mesh")) add_mesh(document, gltf_item(document, "meshes", node["mesh"]), motion, raw, limits);
    const json& children = array_of(node, "children");
    for (auto child = children.rbegin(); child != children.rend(); ++child) open.push_back({*child, motion});
  }
  raw.vertices_in_file = raw.mesh.vertices.size();
  raw.triangles_in_file = raw.mesh.triangles.size();
  return raw;
}

}  // namespace

RawMesh read_gltf(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  try {
    return read_scene(name, bytes, limits);
  } catch (const json::exception&) {  // a number where a text should be, and the like
    gltf_damaged(name, {"gltf.json"});
  }
}

}  // namespace lastroom
