#pragma once

#include <filesystem>

#include "preparation/foot.h"

namespace lastroom {

/// Reads the maker's own points: a JSON object of name -> [x, y, z] in the scan file's coordinates and unit. Throws
/// InputError on anything else. "never_press" is a list of spots: points, or {"at": point, "what": "bunion"}.
HandLandmarks read_landmarks(const std::filesystem::path& file);
/// The same of one of two feet: the file holds such an object under "left" and under "right"; either may be left out.
HandLandmarks read_landmarks(const std::filesystem::path& file, Side side);
/// The same from the file's text; `name` stands in front of an error.
HandLandmarks parse_landmarks(std::string_view json, const std::string& name);

}  // namespace lastroom
