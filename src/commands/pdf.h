#pragma once

#include <filesystem>

namespace lastroom {

/// Prints a finished HTML page to PDF with Chromium, if one is installed (chromium, chromium-browser or google-chrome
/// on the PATH). Throws OutputError with one sentence when there is none or it fails; no half-written file is left.
void print_pdf(const std::filesystem::path& html, const std::filesystem::path& pdf, bool overwrite);

}  // namespace lastroom
