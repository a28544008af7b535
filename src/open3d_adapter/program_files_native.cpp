#include "open3d_adapter/program_files.h"

#include <dlfcn.h>

#include <mutex>

#include "open3d_adapter/open3d_adapter.h"

namespace lastroom::open3d_adapter {
namespace {

struct ToldFolder {
  std::mutex guard;
  std::filesystem::path folder;
};
ToldFolder& told() {
  static ToldFolder told;
  return told;
}

std::filesystem::path folder_of_program() {
  std::error_code error;
  return std::filesystem::read_symlink("/proc/self/exe", error).parent_path();
}

/// Of the shared library that this function is in. Of a program the system knows the first word of its command line,
/// and what is looked for from a relative one could be planted in the working folder: that is not taken.
std::filesystem::path folder_of_this_code() {
  Dl_info info{};
  if (::dladdr(reinterpret_cast<const void*>(&folder_of_this_code), &info) == 0 || info.dli_fname == nullptr) return {};
  const std::filesystem::path file = info.dli_fname;
  return file.is_absolute() ? file.parent_path() : std::filesystem::path();
}

}  // namespace

void look_first_in(const std::filesystem::path& folder) {
  const std::lock_guard lock(told().guard);
  told().folder = folder;
}

std::vector<std::filesystem::path> places_of(const std::string& name) {
  std::vector<std::filesystem::path> places;
  {
    const std::lock_guard lock(told().guard);
    if (!told().folder.empty()) places.push_back(told().folder / name);
  }
  if (const std::filesystem::path folder = folder_of_program(); !folder.empty()) {
    places.push_back(folder / name);
    places.push_back(folder.parent_path() / "lib" / "lastroom" / name);
  }
  if (const std::filesystem::path folder = folder_of_this_code(); !folder.empty() && folder != folder_of_program()) {
    places.push_back(folder / name);
    places.push_back(folder.parent_path().parent_path() / "lastroom" / name);
  }
  return places;
}

}  // namespace lastroom::open3d_adapter
