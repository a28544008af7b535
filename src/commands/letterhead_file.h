#pragma once

#include <filesystem>

#include "report/outputs.h"

namespace lastroom {

/// Reads a maker's letterhead: a JSON object of texts {"name", "telephone", "mail", "sign_off"} and "address", a list
/// of lines; all may be left out. Throws InputError on anything else.
Letterhead read_letterhead(const std::filesystem::path& file);
/// The same from the file's text; `name` stands in front of an error.
Letterhead parse_letterhead(std::string_view json, const std::string& name);

}  // namespace lastroom
