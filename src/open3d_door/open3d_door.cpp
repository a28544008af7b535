#include "open3d_door/open3d_door.h"

#include <dlfcn.h>

#include <stdexcept>

#include "error.h"
#include "open3d_door/module/entry_points.h"

namespace lastroom::open3d_door {
namespace {

std::vector<std::filesystem::path> places_of_module() {
  constexpr const char* kName = "liblastroom_open3d.so";
  std::vector<std::filesystem::path> places;
  std::error_code error;
  const std::filesystem::path program = std::filesystem::read_symlink("/proc/self/exe", error);
  if (!error) {
    places.push_back(program.parent_path() / kName);
    places.push_back(program.parent_path().parent_path() / "lib" / "lastroom" / kName);
  }
  places.emplace_back(LASTROOM_OPEN3D_MODULE);  // where the build put it
  return places;
}

// Loaded once and never unloaded: Open3D leaves threads behind.
const EntryPoints* entry_points() {
  static const EntryPoints* const points = []() -> const EntryPoints* {
    for (const std::filesystem::path& place : places_of_module())
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

Mesh read_rare_format(const std::filesystem::path& file) {
  const std::string name = file.filename().string();
  Mesh mesh;
  const std::string reason = needed_for(name + ": this kind of file").read_rare_format(file.string(), mesh);
  if (!reason.empty()) throw InputError(name + ": " + reason + "; export it as .stl, .ply, .obj, .off or .glb");
  return mesh;
}

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
