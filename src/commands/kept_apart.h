#pragma once

#include <filesystem>
#include <vector>

namespace lastroom {

/// Throws OutputError when an output is an input, lies inside one that is a folder, or is a folder that holds one, or
/// when two outputs are one. Names may go through links, and may not be there yet. Empty names count as none.
void keep_apart(const std::vector<std::filesystem::path>& inputs, const std::vector<std::filesystem::path>& outputs);

}  // namespace lastroom
