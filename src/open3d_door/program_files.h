#pragma once

// Private to open3d_door: where the files that belong to the program lie.

#include <filesystem>
#include <string>
#include <vector>

namespace lastroom::open3d_door {

/// Beside the program, in the lib folder next to its own, and where the build put it; the nearest first.
std::vector<std::filesystem::path> places_of(const std::string& name);

}  // namespace lastroom::open3d_door
