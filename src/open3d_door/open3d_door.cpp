#include "open3d_door/open3d_door.h"

#include <dlfcn.h>

#include "error.h"
#include "open3d_door/module/entry_points.h"
#include "open3d_door/program_files.h"

namespace lastroom::open3d_door {
namespace {

// Loaded once and never unloaded: Open3D leaves threads behind.
const EntryPoints* entry_points() {
  static const EntryPoints* const points = []() -> const EntryPoints* {
    for (const std::filesystem::path& place : places_of("liblastroom_open3d.so"))
      if (void* const module = ::dlopen(place.c_str(), RTLD_NOW | RTLD_LOCAL))
        return static_cast<const EntryPoints*>(::dlsym(module, "lastroom_open3d_entry_points"));
    return nullptr;
  }();
  return points;
}

const EntryPoints& needed_for(const std::string& deed) {
  const EntryPoints* const points = entry_points();
  if (points == nullptr)
    throw InputError(deed +
                     " needs liblastroom_open3d.so, which is not beside the program; install it, or give a "
                     "closed mesh as .stl, .ply, .obj, .off or .glb");
  return *points;
}

}  // namespace

Mesh surface_from_points(const std::vector<Vec3>& points_mm, double spacing_mm) {
  Mesh mesh;
  const std::string reason = needed_for("A scan of bare points").surface_from_points(points_mm, spacing_mm, mesh);
  if (!reason.empty())
    throw InputError("The scan's bare points give no surface (" + reason + "); export the scan as a mesh");
  return mesh;
}

Mesh decimated(const Mesh& mesh, std::size_t triangles) {
  Mesh result;
  const std::string reason = needed_for("So large a mesh").decimate(mesh, triangles, result);
  if (!reason.empty()) throw InputError("The mesh can't be made smaller (" + reason + "); reduce it and try again");
  return result;
}

}  // namespace lastroom::open3d_door
