#include "open3d_adapter/open3d_adapter.h"

#include <dlfcn.h>

#include "error.h"
#include "open3d_adapter/module/entry_points.h"
#include "open3d_adapter/program_files.h"

namespace lastroom::open3d_adapter {
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

const EntryPoints& needed_module() {
  if (module().points != nullptr) return *module().points;
  const std::string& why = module().why_not;
  throw InputError(why.empty() ? Message{"open3d.absent"} : Message{"open3d.not_loaded", {{"why", UserText{why}}}});
}

}  // namespace

Mesh surface_from_points(const std::vector<Vec3>& points_mm, double spacing_mm) {
  Mesh mesh;
  const std::string reason = needed_module().surface_from_points(points_mm, spacing_mm, mesh);
  if (!reason.empty()) throw InputError({"open3d.no_surface", {{"why", UserText{reason}}}});
  return mesh;
}

}  // namespace lastroom::open3d_adapter
