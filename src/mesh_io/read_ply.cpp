#include <fmt/format.h>

#include <bit>
#include <cstring>
#include <limits>

#include "error.h"
#include "mesh_io/raw_mesh.h"
#include "mesh_io/text_scanner.h"

namespace lastroom {
namespace {

enum class Scalar { i8, u8, i16, u16, i32, u32, f32, f64 };
enum class Encoding { ascii, little, big };

struct Property {
  std::string name;
  Scalar type = Scalar::f32;
  std::optional<Scalar> count_type;  ///< of a list
};

struct Element {
  std::string name;
  std::uint64_t count = 0;
  std::vector<Property> properties;
};

struct Header {
  Encoding encoding = Encoding::ascii;
  std::vector<Element> elements;
  std::size_t bytes = 0;
};

std::size_t size_of(Scalar type) {
  switch (type) {
    case Scalar::i8:
    case Scalar::u8:
      return 1;
    case Scalar::i16:
    case Scalar::u16:
      return 2;
    case Scalar::f64:
      return 8;
    default:
      return 4;
  }
}

std::optional<Scalar> scalar_named(std::string_view word) {
  constexpr std::pair<std::string_view, Scalar> kNames[] = {
      {"char", Scalar::i8},   {"int8", Scalar::i8},     {"uchar", Scalar::u8},   {"uint8", Scalar::u8},
      {"short", Scalar::i16}, {"int16", Scalar::i16},   {"ushort", Scalar::u16}, {"uint16", Scalar::u16},
      {"int", Scalar::i32},   {"int32", Scalar::i32},   {"uint", Scalar::u32},   {"uint32", Scalar::u32},
      {"float", Scalar::f32}, {"float32", Scalar::f32}, {"double", Scalar::f64}, {"float64", Scalar::f64}};
  for (const auto& [name, type] : kNames)
    if (name == word) return type;
  return std::nullopt;
}

[[noreturn]] void bad_header(const std::string& name, const Message& what) {
  throw InputError(about_file("ply.bad_header", name, {{"what", what}}));
}

[[noreturn]] void cut_off(const std::string& name) { throw InputError(about_file("file.cut_off", name)); }

std::vector<std::string_view> words_of(std::string_view line) {
  std::vector<std::string_view> words;
  for (std::size_t i = line.find_first_not_of(" \t"); i != std::string_view::npos;
       i = line.find_first_not_of(" \t", i)) {
    const std::size_t end = std::min(line.find_first_of(" \t", i), line.size());
    words.push_back(line.substr(i, end - i));
    i = end;
  }
  return words;
}

void read_property(const std::string& name, const std::vector<std::string_view>& words, Header& header) {
  if (header.elements.empty()) bad_header(name, {"ply.property_first"});
  Property property;
  const bool list = words.size() == 5 && words[1] == "list";
  const auto type = words.size() == 3 || list ? scalar_named(words[words.size() - 2]) : std::nullopt;
  if (list) property.count_type = scalar_named(words[2]);
  if (!type || (list && !property.count_type)) bad_header(name, {"ply.property"});
  property.name = words.back();
  property.type = *type;
  header.elements.back().properties.push_back(std::move(property));
}

Header read_header(const std::string& name, std::string_view text) {
  Header header;
  bool has_format = false;
  std::size_t at = 0;
  for (int line_number = 0;; ++line_number) {
    std::size_t end = text.find_first_of("\r\n", at);
    if (end == std::string_view::npos) bad_header(name, {"ply.no_end"});
    const std::vector<std::string_view> words = words_of(text.substr(at, end - at));
    at = end + (text[end] == '\r' && end + 1 < text.size() && text[end + 1] == '\n' ? 2 : 1);
    if (line_number == 0) {
      if (words.size() != 1 || words[0] != "ply") throw InputError(about_file("ply.other", name));
    } else if (words.empty() || words[0] == "comment" || words[0] == "obj_info") {
      continue;
    } else if (words[0] == "end_header") {
      if (!has_format) bad_header(name, {"ply.no_format"});
      header.bytes = at;
      return header;
    } else if (words[0] == "format" && words.size() >= 2) {
      has_format = true;
      if (words[1] == "ascii")
        header.encoding = Encoding::ascii;
      else if (words[1] == "binary_little_endian")
        header.encoding = Encoding::little;
      else if (words[1] == "binary_big_endian")
        header.encoding = Encoding::big;
      else
        bad_header(name, {"ply.format"});
    } else if (words[0] == "element" && words.size() == 3) {
      Element element{std::string(words[1]), 0, {}};
      const char* const last = words[2].data() + words[2].size();
      const auto [p, error] = std::from_chars(words[2].data(), last, element.count);
      if (error != std::errc() || p != last) bad_header(name, {"ply.element_count"});
      header.elements.push_back(std::move(element));
    } else if (words[0] == "property") {
      read_property(name, words, header);
    } else {
      bad_header(name, {"ply.line"});
    }
  }
}

/// Values one after the other out of the binary part.
class BinaryValues {
 public:
  BinaryValues(const std::string& name, std::span<const char> bytes, bool swap)
      : name_(name), at_(bytes.data()), end_(bytes.data() + bytes.size()), swap_(swap) {}

  std::size_t left() const { return static_cast<std::size_t>(end_ - at_); }

  double number(Scalar type) {
    switch (type) {
      case Scalar::f32:
        return std::bit_cast<float>(take<std::uint32_t>());
      case Scalar::f64:
        return std::bit_cast<double>(take<std::uint64_t>());
      default:
        return static_cast<double>(integer(type));
    }
  }

  std::int64_t integer(Scalar type) {
    switch (type) {
      case Scalar::i8:
        return static_cast<std::int8_t>(take<std::uint8_t>());
      case Scalar::u8:
        return take<std::uint8_t>();
      case Scalar::i16:
        return static_cast<std::int16_t>(take<std::uint16_t>());
      case Scalar::u16:
        return take<std::uint16_t>();
      case Scalar::i32:
        return static_cast<std::int32_t>(take<std::uint32_t>());
      case Scalar::u32:
        return take<std::uint32_t>();
      default: {
        const double value = number(type);
        return value >= 0.0 && value < kNoVertex && value == std::floor(value) ? static_cast<std::int64_t>(value) : -1;
      }
    }
  }

  /// Takes the next list if it is a triangle in the layout that nearly all programs write: a byte, and 32 bits a
  /// corner. What such a corner may not be is too large for a vertex.
  bool take_triangle(const Property& list, Triangle& triangle) {
    constexpr std::size_t kBytes = 1 + sizeof triangle;
    const bool common =
        !swap_ && list.count_type == Scalar::u8 && (list.type == Scalar::i32 || list.type == Scalar::u32);
    if (!common || left() < kBytes || *at_ != 3) return false;
    std::memcpy(&triangle, at_ + 1, sizeof triangle);
    at_ += kBytes;
    return true;
  }

  void skip(Scalar type, std::uint64_t count) {
    if (count > left() / size_of(type)) cut_off(name_);
    at_ += count * size_of(type);
  }

 private:
  template <typename T>
  T take() {
    if (left() < sizeof(T)) cut_off(name_);
    T value;
    std::memcpy(&value, at_, sizeof value);
    at_ += sizeof value;
    if (swap_) {
      if constexpr (sizeof(T) == 8) value = __builtin_bswap64(value);
      if constexpr (sizeof(T) == 4) value = __builtin_bswap32(value);
      if constexpr (sizeof(T) == 2) value = __builtin_bswap16(value);
    }
    return value;
  }

  const std::string& name_;
  const char *at_, *end_;
  bool swap_;
};

/// The same for the ASCII part; the types then only say what was meant.
class TextValues {
 public:
  TextValues(const std::string& name, std::span<const char> bytes) : text_(name, bytes) {}
  std::size_t left() const { return text_.left(); }
  double number(Scalar) { return text_.number(); }
  std::int64_t integer(Scalar type) {
    if (type != Scalar::f32 && type != Scalar::f64) return text_.integer();
    const double value = text_.number();
    return value >= 0.0 && value < kNoVertex && value == std::floor(value) ? static_cast<std::int64_t>(value) : -1;
  }
  bool take_triangle(const Property&, Triangle&) { return false; }
  void skip(Scalar, std::uint64_t count) {
    for (; count > 0; --count) text_.number();
  }

 private:
  TextScanner text_;
};

// The least that an item takes, so that a claimed number can be refused before memory is taken for it.
std::uint64_t least_bytes(const Element& element, Encoding encoding) {
  std::uint64_t bytes = 0;
  for (const Property& p : element.properties)
    bytes += encoding == Encoding::ascii ? 1 : size_of(p.count_type.value_or(p.type));
  return bytes;
}

template <typename Values>
std::uint64_t list_length(const std::string& name, Values& values, const Property& list, bool binary) {
  const std::int64_t length = values.integer(*list.count_type);
  const std::uint64_t bytes_each = binary ? size_of(list.type) : 1;
  if (length < 0 || static_cast<std::uint64_t>(length) > values.left() / bytes_each) cut_off(name);
  return static_cast<std::uint64_t>(length);
}

template <typename Values>
void read_vertices(const std::string& name, Values& values, const Element& element, bool binary, Mesh& mesh) {
  std::vector<int> axis_of(element.properties.size(), -1);
  int axes = 0;
  for (std::size_t i = 0; i < axis_of.size(); ++i) {
    const Property& p = element.properties[i];
    if (!p.count_type && p.name.size() == 1 && p.name[0] >= 'x' && p.name[0] <= 'z') {
      axis_of[i] = p.name[0] - 'x';
      axes |= 1 << axis_of[i];
    }
  }
  if (axes != 7) throw InputError(about_file("ply.no_places", name));
  mesh.vertices.reserve(element.count);
  for (std::uint64_t i = 0; i < element.count; ++i) {
    Vec3 place = Vec3::Zero();
    for (std::size_t k = 0; k < axis_of.size(); ++k) {
      const Property& p = element.properties[k];
      if (axis_of[k] >= 0)
        place[axis_of[k]] = values.number(p.type);
      else
        values.skip(p.type, p.count_type ? list_length(name, values, p, binary) : 1);
    }
    mesh.vertices.push_back(place);
  }
}

void add_strips(std::vector<Triangle>& triangles, std::span<const std::uint32_t> corners) {
  while (!corners.empty()) {  // -1 begins a new strip
    const auto stop = std::find(corners.begin(), corners.end(), kNoVertex);
    const auto length = static_cast<std::size_t>(stop - corners.begin());
    add_strip(triangles, corners.first(length));
    corners = corners.subspan(std::min(length + 1, corners.size()));
  }
}

template <typename Values>
void read_faces(const std::string& name, Values& values, const Element& element, bool binary, RawMesh& raw,
                const ReadLimits& limits) {
  Mesh& mesh = raw.mesh;
  const bool strips = element.name == "tristrips";
  std::vector<std::uint32_t> corners;
  if (!strips) mesh.triangles.reserve(element.count);
  for (std::uint64_t i = 0; i < element.count; ++i)
    for (const Property& p : element.properties) {
      const bool corners_follow = p.count_type && (p.name == "vertex_indices" || p.name == "vertex_index");
      if (Triangle triangle; corners_follow && !strips && values.take_triangle(p, triangle)) {
        mesh.triangles.push_back(triangle);
        continue;
      }
      const std::uint64_t length = p.count_type ? list_length(name, values, p, binary) : 1;
      if (!corners_follow) {
        values.skip(p.type, length);
        continue;
      }
      corners.clear();
      for (std::uint64_t k = 0; k < length; ++k) {
        const std::int64_t index = values.integer(p.type);
        corners.push_back(index >= 0 && index < kNoVertex ? static_cast<std::uint32_t>(index) : kNoVertex);
      }
      if (strips)
        add_strips(mesh.triangles, corners);
      else
        add_fan(raw, corners);
      if (mesh.triangles.size() > limits.largest_triangles) check_limits(name, 0, mesh.triangles.size(), limits);
    }
}

template <typename Values>
RawMesh read_elements(const std::string& name, Values values, const Header& header, const ReadLimits& limits) {
  const bool binary = header.encoding != Encoding::ascii;
  RawMesh raw;
  for (const Element& element : header.elements) {
    const std::uint64_t least = least_bytes(element, header.encoding);
    if (least == 0) continue;
    if (element.count > values.left() / least)
      throw InputError(about_file("ply.too_short", name,
                                  {{"count", element.count}, {"element", UserText{element.name.substr(0, 20)}}}));
    if (element.name == "vertex") {
      check_limits(name, element.count, 0, limits);
      raw.vertices_in_file += element.count;
      read_vertices(name, values, element, binary, raw.mesh);
    } else if (element.name == "face" || element.name == "tristrips") {
      check_limits(name, 0, element.count, limits);
      read_faces(name, values, element, binary, raw, limits);
    } else {
      for (std::uint64_t i = 0; i < element.count; ++i)
        for (const Property& p : element.properties)
          values.skip(p.type, p.count_type ? list_length(name, values, p, binary) : 1);
    }
  }
  raw.triangles_in_file = raw.mesh.triangles.size();
  return raw;
}

}  // namespace

RawMesh read_ply(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  const Header header = read_header(name, {bytes.data(), bytes.size()});
  const std::span<const char> data = bytes.subspan(header.bytes);
  if (header.encoding == Encoding::ascii) return read_elements(name, TextValues(name, data), header, limits);
  const bool file_is_little = header.encoding == Encoding::little;
  const bool swap = file_is_little != (std::endian::native == std::endian::little);
  return read_elements(name, BinaryValues(name, data, swap), header, limits);
}

}  // namespace lastroom
