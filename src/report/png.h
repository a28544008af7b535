#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace lastroom {

/// A picture of few colours.
struct Picture {
  int columns = 0, rows = 0;
  std::vector<std::uint32_t> palette;  ///< 0xRRGGBB, at most 16
  std::vector<std::uint8_t> pixel;     ///< of the palette, row by row from above
};

/// Its bytes as PNG (ISO/IEC 15948), four bits a pixel, not compressed: zlib is not in the browser's build.
std::string png(const Picture& picture);

}  // namespace lastroom
