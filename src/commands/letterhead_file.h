#pragma once

#include <filesystem>

#include "report/outputs.h"

namespace lastroom {

/// Reads a maker's letterhead: a JSON object of texts {"name", "telephone", "mail", "sign_off"}, "address", a list of
/// lines, and "logo", the name of a picture's file relative to this one; all may be left out. Throws InputError on
/// anything else.
Letterhead read_letterhead(const std::filesystem::path& file);
/// The letterhead's file and its logo's, as far as they are named.
std::vector<std::filesystem::path> letterhead_files(const std::filesystem::path& file);
/// The same from the file's text; `name` stands in front of an error.
Letterhead parse_letterhead(std::string_view json, const std::string& name, const std::filesystem::path& folder = {});

}  // namespace lastroom
