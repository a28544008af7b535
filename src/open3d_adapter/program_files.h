#pragma once

// Private to open3d_adapter: where the files that belong to the program lie.

#include <filesystem>
#include <string>
#include <vector>

namespace lastroom::open3d_adapter {

/// Where `look_first_in` said; beside the program, and in ../lib/lastroom from there; beside the shared library that
/// this code is in, if it is in one, and in ../../lastroom from there (from Python's dist-packages). No folder of a
/// build is remembered: what was installed or moved finds its own.
std::vector<std::filesystem::path> places_of(const std::string& name);

}  // namespace lastroom::open3d_adapter
