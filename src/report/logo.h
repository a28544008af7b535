#pragma once

#include <string>
#include <string_view>

#include "report/outputs.h"

namespace lastroom {

/// A maker's logo from its file's bytes: a PNG, JPEG or SVG. Throws InputError on anything else; `name` stands in
/// front.
Logo parse_logo(std::string_view bytes, const std::string& name);

}  // namespace lastroom
