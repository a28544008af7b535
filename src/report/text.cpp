#include "report/text.h"

#include <fmt/format.h>

namespace lastroom {
namespace {

constexpr char32_t kBad = 0xFFFD;

/// The next code point of `bytes` from `at`, which moves on; kBad for a byte that is not UTF-8 (RFC 3629, section 4).
char32_t next_code_point(std::string_view bytes, std::size_t& at) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(bytes[i]); };
  const unsigned lead = byte(at++);
  if (lead < 0x80) return lead;
  const int more = lead >= 0xC2 && lead <= 0xDF   ? 1
                   : lead >= 0xE0 && lead <= 0xEF ? 2
                   : lead >= 0xF0 && lead <= 0xF4 ? 3
                                                  : 0;
  if (more == 0) return kBad;
  char32_t code = lead & (0x3Fu >> more);
  std::size_t ahead = at;
  for (int i = 0; i < more; ++i, ++ahead) {
    if (ahead >= bytes.size() || (byte(ahead) & 0xC0u) != 0x80u) return kBad;
    code = (code << 6) | (byte(ahead) & 0x3Fu);
  }
  const char32_t least = more == 1 ? 0x80 : more == 2 ? 0x800 : 0x10000;
  if (code < least || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) return kBad;
  at = ahead;
  return code;
}

void append(std::string& text, char32_t code) {
  const auto put = [&](char32_t value) { text += static_cast<char>(static_cast<unsigned char>(value)); };
  if (code < 0x80) {
    put(code);
  } else if (code < 0x800) {
    put(0xC0 | (code >> 6)), put(0x80 | (code & 0x3F));
  } else if (code < 0x10000) {
    put(0xE0 | (code >> 12)), put(0x80 | ((code >> 6) & 0x3F)), put(0x80 | (code & 0x3F));
  } else {
    put(0xF0 | (code >> 18)), put(0x80 | ((code >> 12) & 0x3F)), put(0x80 | ((code >> 6) & 0x3F)),
        put(0x80 | (code & 0x3F));
  }
}

bool may_mislead(char32_t code) {
  const bool control = code < 0x20 || (code >= 0x7F && code < 0xA0) || code == 0x2028 || code == 0x2029;
  const bool turns_direction = (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
  const bool no_character = (code & 0xFFFE) == 0xFFFE || (code >= 0xFDD0 && code <= 0xFDEF);
  return control || turns_direction || no_character;
}

}  // namespace

std::string plain_text(std::string_view bytes, std::size_t most) {
  std::string text;
  std::size_t length = 0;
  for (std::size_t at = 0; at < bytes.size(); ++length) {
    if (length == most) return text + "…";
    const char32_t code = next_code_point(bytes, at);
    append(text, may_mislead(code) ? kBad : code);
  }
  return text;
}

std::string css_string(std::string_view text) {
  std::string css = "\"";  // an escape ends with a space of its own (CSS Syntax Module, 4.3.7)
  for (std::size_t at = 0; at < text.size();) {
    const char32_t code = next_code_point(text, at);
    const bool plain =
        (code >= 'a' && code <= 'z') || (code >= 'A' && code <= 'Z') || (code >= '0' && code <= '9') || code == ' ';
    css += plain ? std::string(1, static_cast<char>(code)) : fmt::format("\\{:x} ", static_cast<std::uint32_t>(code));
  }
  return css + "\"";
}

}  // namespace lastroom
