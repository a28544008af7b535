#include "open3d_door/open3d_door.h"

#include <dlfcn.h>

#include "error.h"
#include "open3d_door/module/entry_points.h"
#include "open3d_door/program_files.h"

namespace lastroom::open3d_door {
namespace {

struct Module {
  const EntryPoints* points = nullptr;
  std::string why_not;  ///< it is there and can't be loaded
};

// Loaded once and never unloaded: Open3D leaves threads behind.
const Module& module() {
  static const Module loaded = [] {
    Module found;
    for (const std::filesystem::path& place : places_of("liblastroom_open3d.so")) {
      if (void* const library = ::dlopen(place.c_str(), RTLD_NOW | RTLD_LOCAL)) {
        found.points = static_cast<const EntryPoints*>(::dlsym(library, "lastroom_open3d_entry_points"));
        break;
      }
      const char* const why = ::dlerror();
      std::error_code error;
      if (why != nullptr && std::filesystem::exists(place, error)) found.why_not = why;
    }
    return found;
  }();
  return loaded;
}

const EntryPoints& needed_for(const std::string& deed) {
  if (module().points != nullptr) return *module().points;
  const std::string& why = module().why_not;
  throw InputError(
      deed + " needs liblastroom_open3d.so, which " +
      (why.empty() ? "is not beside the program; install it" : "can't be loaded (" + why + "); install what it needs") +
      ", or give a closed mesh as .stl, .ply, .obj, .off or .glb");
}

}  // namespace

Mesh surface_from_points(const std::vector<Vec3>& points_mm, double spacing_mm) {
  Mesh mesh;
  const std::string reason = needed_for("A scan of bare points").surface_from_points(points_mm, spacing_mm, mesh);
  if (!reason.empty())
    throw InputError("The scan's bare points give no surface (" + reason + "); export the scan as a mesh");
  return mesh;
}

}  // namespace lastroom::open3d_door
