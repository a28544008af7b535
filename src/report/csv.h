#pragma once

#include <string>
#include <string_view>

namespace lastroom {

/// A field as RFC 4180 wants it: between quotes where it holds a comma, a quote or a line break. A name that a
/// spreadsheet would take for a formula gets an apostrophe before it.
inline std::string csv_field(std::string_view text) {
  if (text.find_first_of("=+-@\t") == 0) return csv_field(std::string(1, '\'').append(text));
  if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
  std::string quoted = "\"";
  for (const char c : text) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + "\"";
}

}  // namespace lastroom
