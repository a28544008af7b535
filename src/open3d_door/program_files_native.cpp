#include "open3d_door/program_files.h"

namespace lastroom::open3d_door {

std::vector<std::filesystem::path> places_of(const std::string& name) {
  std::vector<std::filesystem::path> places;
  std::error_code error;
  const std::filesystem::path program = std::filesystem::read_symlink("/proc/self/exe", error);
  if (!error) {
    places.push_back(program.parent_path() / name);
    places.push_back(program.parent_path().parent_path() / "lib" / "lastroom" / name);
  }
  places.push_back(std::filesystem::path(LASTROOM_OPEN3D_FOLDER) / name);
  return places;
}

}  // namespace lastroom::open3d_door
