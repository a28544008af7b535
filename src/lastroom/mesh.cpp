#include "lastroom/mesh.h"

#include "files/input_file.h"
#include "lastroom/inside.h"
#include "mesh_io/mesh_bytes.h"
#include "open3d_adapter/open3d_adapter.h"

#define LASTROOM_TEXT_OF(number) #number
#define LASTROOM_NUMBERS(major, minor, patch) \
  LASTROOM_TEXT_OF(major) "." LASTROOM_TEXT_OF(minor) "." LASTROOM_TEXT_OF(patch)

namespace lastroom_v0 {

std::string_view version() {
  return LASTROOM_NUMBERS(LASTROOM_VERSION_MAJOR, LASTROOM_VERSION_MINOR, LASTROOM_VERSION_PATCH);
}

lastroom::ReadLimits limits_of(const MeshLimits& limits) {
  return {limits.largest_file_bytes, limits.largest_triangles};
}

std::optional<lastroom::LengthUnit> unit_of(const std::optional<Unit>& unit) {
  if (!unit) return std::nullopt;
  switch (*unit) {
    case Unit::mm:
      return lastroom::LengthUnit::millimetre;
    case Unit::cm:
      return lastroom::LengthUnit::centimetre;
    case Unit::m:
      return lastroom::LengthUnit::metre;
    case Unit::inch:
      return lastroom::LengthUnit::inch;
  }
  throw std::invalid_argument("lastroom: no such unit");
}

const std::string& GivenMesh::name() const { return inside_->file.name; }
const std::string& GivenMesh::sha256() const { return inside_->file.sha256; }
Mesh GivenMesh::mesh() const { return {inside_->file.mesh.vertices, inside_->file.mesh.triangles}; }

GivenMesh read_mesh(const std::filesystem::path& file, const MeshLimits& limits) {
  return GivenMesh(
      made<GivenInside>(0, [&](GivenInside& in) { in.file = lastroom::read_mesh(file, limits_of(limits)); }));
}

GivenMesh read_mesh(const std::string& name, std::span<const char> bytes, const MeshLimits& limits) {
  return GivenMesh(made<GivenInside>(
      0, [&](GivenInside& in) { in.file = lastroom::mesh_in(lastroom::shown_name(name), bytes, limits_of(limits)); }));
}

GivenMesh given_mesh(Mesh mesh, const std::string& name, const MeshLimits& limits) {
  return GivenMesh(made<GivenInside>(0, [&](GivenInside& in) {
    in.file = lastroom::mesh_of_arrays(lastroom::shown_name(name),
                                       {std::move(mesh.vertices), std::move(mesh.triangles)}, limits_of(limits));
  }));
}

void look_for_helpers_in(const std::filesystem::path& folder) { lastroom::open3d_adapter::look_first_in(folder); }

}  // namespace lastroom_v0
