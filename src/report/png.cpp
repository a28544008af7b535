#include "report/png.h"

#include <algorithm>
#include <array>

namespace lastroom {
namespace {

std::string big_endian(std::uint32_t value) {
  std::string bytes;
  for (int shift = 24; shift >= 0; shift -= 8) bytes += static_cast<char>(value >> shift & 0xFF);
  return bytes;
}

/// ISO/IEC 15948, annex D.
std::uint32_t crc32(const std::string& bytes) {
  std::uint32_t crc = 0xFFFFFFFF;
  for (const char byte : bytes) {
    crc ^= static_cast<std::uint8_t>(byte);
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 1) != 0 ? 0xEDB88320 ^ crc >> 1 : crc >> 1;
  }
  return ~crc;
}

std::string chunk(const std::string& name, const std::string& data) {
  return big_endian(static_cast<std::uint32_t>(data.size())) + name + data + big_endian(crc32(name + data));
}

/// RFC 1950 around stored blocks of RFC 1951.
std::string stored(const std::string& bytes) {
  constexpr std::size_t kMost = 65535;
  std::string stream = "\x78\x01";
  std::uint32_t a = 1, b = 0;
  for (const char byte : bytes) {
    a = (a + static_cast<std::uint8_t>(byte)) % 65521;
    b = (b + a) % 65521;
  }
  for (std::size_t at = 0; at < bytes.size() || at == 0; at += kMost) {
    const std::size_t size = std::min(kMost, bytes.size() - at);
    stream += at + kMost >= bytes.size() ? '\1' : '\0';
    for (const std::size_t length : {size, ~size}) {
      stream += static_cast<char>(length & 0xFF);
      stream += static_cast<char>(length >> 8 & 0xFF);
    }
    stream += bytes.substr(at, size);
  }
  return stream + big_endian(b << 16 | a);
}

}  // namespace

std::string png(const Picture& picture) {
  const auto columns = static_cast<std::size_t>(picture.columns), rows = static_cast<std::size_t>(picture.rows);
  std::string head = big_endian(static_cast<std::uint32_t>(columns)) + big_endian(static_cast<std::uint32_t>(rows));
  head += std::string("\x04\x03\x00\x00\x00", 5);  // four bits, palette, deflate, its filters, not interlaced
  std::string palette, lines;
  for (const std::uint32_t colour : picture.palette) palette += big_endian(colour).substr(1);
  for (std::size_t row = 0; row < rows; ++row) {
    lines += '\0';  // no filter
    for (std::size_t column = 0; column < columns; column += 2) {
      const std::uint8_t* const at = &picture.pixel[row * columns + column];
      lines += static_cast<char>(at[0] << 4 | (column + 1 < columns ? at[1] : 0));
    }
  }
  return "\x89PNG\r\n\x1a\n" + chunk("IHDR", head) + chunk("PLTE", palette) + chunk("IDAT", stored(lines)) +
         chunk("IEND", "");
}

}  // namespace lastroom
