#include "digest/digest.h"

#include <cstdint>

namespace lastroom {

std::string sha256_of(std::span<const char> bytes) {
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::string hex;
  for (const char c : sha256(bytes)) {
    const auto byte = static_cast<unsigned char>(c);
    hex += {kDigits[byte >> 4], kDigits[byte & 15]};
  }
  return hex;
}

std::string base64(std::string_view bytes) {
  constexpr std::string_view kDigits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  text.reserve(4 * ((bytes.size() + 2) / 3));
  for (std::size_t at = 0; at < bytes.size(); at += 3) {
    std::uint32_t three = 0;
    for (std::size_t i = at; i < at + 3; ++i)
      three = three << 8 | (i < bytes.size() ? static_cast<unsigned char>(bytes[i]) : 0u);
    const std::size_t given = std::min<std::size_t>(3, bytes.size() - at);
    for (std::size_t i = 0; i < 4; ++i) text += i <= given ? kDigits[three >> (18 - 6 * i) & 63] : '=';
  }
  return text;
}

}  // namespace lastroom
