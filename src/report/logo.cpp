#include "report/logo.h"

#include <fmt/format.h>

#include <algorithm>
#include <pugixml.hpp>

#include "error.h"

namespace lastroom {
namespace {

constexpr std::uint32_t kMostPixels = 4'000;  // a side (our choice)
constexpr std::string_view kPng = "\x89PNG\r\n\x1A\n";

std::uint32_t number_at(std::string_view bytes, std::size_t at, std::size_t size) {  // the first byte is the highest
  std::uint32_t number = 0;
  for (std::size_t i = 0; i < size; ++i) number = number << 8 | static_cast<unsigned char>(bytes[at + i]);
  return number;
}

bool is_size(std::uint32_t pixels) { return pixels >= 1 && pixels <= kMostPixels; }

/// Of a chunk's type and data (PNG, third edition, annex D).
std::uint32_t crc_of(std::string_view bytes) {
  std::uint32_t crc = 0xFFFFFFFF;
  for (const char c : bytes) {
    crc ^= static_cast<unsigned char>(c);
    for (int bit = 0; bit < 8; ++bit) crc = crc & 1U ? 0xEDB88320 ^ crc >> 1 : crc >> 1;
  }
  return ~crc;
}

/// Whole chunks from IHDR to IEND with data between (PNG, third edition, 5.3 and 5.6).
bool is_whole_png(std::string_view bytes) {
  bool has_data = false;
  for (std::size_t at = kPng.size(); bytes.size() - at >= 12;) {
    const std::uint32_t length = number_at(bytes, at, 4);
    if (length > bytes.size() - at - 12) return false;
    const std::string_view body = bytes.substr(at + 4, 4 + length), type = body.substr(0, 4);
    if (crc_of(body) != number_at(bytes, at + 8 + length, 4)) return false;
    if ((at == kPng.size()) != (type == "IHDR")) return false;
    if (type == "IHDR" && (length != 13 || !is_size(number_at(body, 4, 4)) || !is_size(number_at(body, 8, 4))))
      return false;
    has_data = has_data || type == "IDAT";
    at += 12 + length;
    if (type == "IEND") return has_data && at == bytes.size();
  }
  return false;
}

/// Segments from SOI to a frame with a size and the scan behind it, and EOI at the end (ITU-T T.81, annex B).
bool is_whole_jpeg(std::string_view bytes) {
  if (!bytes.ends_with("\xFF\xD9")) return false;
  bool has_frame = false;
  for (std::size_t at = 2; at + 4 <= bytes.size();) {
    const std::uint32_t marker = number_at(bytes, at, 2), length = number_at(bytes, at + 2, 2);
    if (marker < 0xFFC0 || marker > 0xFFFE || length < 2 || length > bytes.size() - at - 2) return false;
    if (marker == 0xFFDA) return has_frame;
    const bool frame = marker <= 0xFFCF && marker != 0xFFC4 && marker != 0xFFC8 && marker != 0xFFCC;
    if (frame && (length < 8 || !is_size(number_at(bytes, at + 5, 2)) || !is_size(number_at(bytes, at + 7, 2))))
      return false;
    has_frame = has_frame || frame;
    at += 2 + length;
  }
  return false;
}

/// Shapes alone: nothing that runs, and nothing that points out of the file. A browser would do neither for a picture
/// of a page (SVG 2, 2.2.6), but the file may be opened by other programs.
bool is_harmless(pugi::xml_node node) {
  const auto lower = [](std::string text) {
    for (char& c : text) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    return text;
  };
  const auto points_out = [&](const std::string& text) {
    for (std::size_t at = text.find("url("); at != std::string::npos; at = text.find("url(", at + 1))
      if (text.compare(at + 4, 1, "#") != 0) return true;
    return text.find("@import") != std::string::npos;
  };
  const std::string name = lower(node.name());
  for (const char* never : {"script", "foreignobject", "iframe", "image", "audio", "video", "a"})
    if (name == never || name.ends_with(std::string(":") + never)) return false;
  for (const pugi::xml_attribute attribute : node.attributes()) {
    const std::string key = lower(attribute.name()), value = lower(attribute.value());
    const bool link = key == "href" || key.ends_with(":href");
    if (key.starts_with("on") || points_out(value) || (link && !value.starts_with("#"))) return false;
  }
  if (points_out(lower(node.text().get()))) return false;
  return std::ranges::all_of(
      node.children(), [](pugi::xml_node child) { return child.type() != pugi::node_element || is_harmless(child); });
}

bool is_harmless_svg(std::string_view bytes) {
  pugi::xml_document document;
  if (!document.load_buffer(bytes.data(), bytes.size())) return false;
  const bool declares = bytes.find("<!DOCTYPE") != std::string_view::npos;  // and so could name entities
  return !declares && std::string_view(document.document_element().name()) == "svg" &&
         is_harmless(document.document_element());
}

}  // namespace

Logo parse_logo(std::string_view bytes, const std::string& name) {
  if (bytes.starts_with(kPng) && is_whole_png(bytes)) return {"image/png", std::string(bytes)};
  if (bytes.starts_with("\xFF\xD8\xFF") && is_whole_jpeg(bytes)) return {"image/jpeg", std::string(bytes)};
  if (is_harmless_svg(bytes)) return {"image/svg+xml", std::string(bytes)};
  throw InputError(
      fmt::format("{}: no whole PNG, JPEG or SVG of at most {} pixels a side, without scripts, links or a DOCTYPE; "
                  "export the logo again as PNG",
                  name, kMostPixels));
}

}  // namespace lastroom
