// A whole check of two small meshes: made feet and lasts, coarse, whose vertices and triangles the bytes damage. Each
// pair is judged or refused with InputError, and what is printed is finite. Built and run by tests/fuzz.sh.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <cstring>

#include "demo/make_last.h"
#include "error.h"
#include "fitting.h"
#include "report/outputs.h"

using namespace lastroom;

namespace {

/// The next bytes as numbers; zeros at the end.
class Bytes {
 public:
  Bytes(const std::uint8_t* data, std::size_t size) : at_(data), end_(data + size) {}
  bool empty() const { return at_ == end_; }
  template <class T>
  T next() {
    T value{};
    const std::size_t count = std::min(sizeof(T), static_cast<std::size_t>(end_ - at_));
    std::memcpy(&value, at_, count);
    at_ += count;
    return value;
  }

 private:
  const std::uint8_t *at_, *end_;
};

/// One order of the bytes, applied to the mesh.
void damage(Mesh& mesh, Bytes& bytes) {
  if (mesh.vertices.empty() || mesh.triangles.empty()) return;
  const auto deed = bytes.next<std::uint8_t>();
  Vec3& v = mesh.vertices[bytes.next<std::uint16_t>() % mesh.vertices.size()];
  const std::size_t t = bytes.next<std::uint16_t>() % mesh.triangles.size();
  const float number = bytes.next<float>();
  if (!std::isfinite(number)) return;  // the readers let none through
  switch (deed % 8) {
    case 0:
      v.x() = static_cast<double>(number);
      break;
    case 1:
      v.z() = static_cast<double>(number);
      break;
    case 2:
      std::swap(mesh.triangles[t][0], mesh.triangles[t][1]);
      break;
    case 3:
      mesh.triangles.resize(t);
      break;
    case 4:
      mesh.triangles.erase(mesh.triangles.begin(), mesh.triangles.begin() + static_cast<std::ptrdiff_t>(t));
      break;
    case 5:
      for (Vec3& p : mesh.vertices) p *= static_cast<double>(number);
      break;
    case 6:
      for (Vec3& p : mesh.vertices) p.x() += static_cast<double>(number) * p.z();
      break;
    default:
      mesh.triangles.clear();
  }
}

MeshFile as_file(const char* name, Mesh mesh) {
  // As parse_mesh leaves a mesh: places a float can hold, three corners each.
  const auto held = [](const Vec3& v) { return v.cwiseAbs().maxCoeff() < 3e38; };
  if (!std::all_of(mesh.vertices.begin(), mesh.vertices.end(), held)) mesh = {};
  MeshFile file;
  file.name = name;
  file.mesh = std::move(mesh);
  weld(file.mesh);
  file.vertices_in_file = file.mesh.vertices.size();
  file.triangles_in_file = file.mesh.triangles.size();
  return file;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const MadeFoot foot = [] {
    FootShape shape;
    shape.edge_mm = 7.0;
    return make_foot(shape);
  }();
  static const Mesh last = [] {
    LastShape shape;
    shape.edge_mm = 8.0;
    return make_last(foot, shape).mesh;
  }();
  static const Rules rules = default_rules();
  Bytes bytes(data, size);
  Mesh scan_mesh = foot.mesh, last_mesh = last;
  while (!bytes.empty()) damage(bytes.next<std::uint8_t>() % 2 == 0 ? scan_mesh : last_mesh, bytes);
  try {
    const Fitting fitting = fit_foot_in_last(as_file("scan.ply", std::move(scan_mesh)),
                                             as_file("last.stl", std::move(last_mesh)), rules, {});
    for (const ZoneVerdict& zone : fitting.assessment.zones)
      if (!std::isfinite(zone.clearance.p05_mm) || !std::isfinite(zone.chance_of_pinch)) std::abort();
    if (result_json(fitting).empty() || report_html(fitting, {}).empty()) std::abort();
  } catch (const InputError&) {
  }
  return 0;
}
