#pragma once

#include <span>
#include <string>
#include <string_view>

namespace lastroom {

/// SHA-256 (FIPS 180-4) of the bytes: 32 bytes.
std::string sha256(std::span<const char> bytes);
/// The same in lower-case hex.
std::string sha256_of(std::span<const char> bytes);

/// Base 64 with padding, on one line (RFC 4648, section 4).
std::string base64(std::string_view bytes);

}  // namespace lastroom
