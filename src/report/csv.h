#pragma once

#include <array>
#include <string>
#include <string_view>

namespace lastroom {

/// `text` with an apostrophe before every sign with which a spreadsheet would begin a formula: the usual ones and their
/// full-width forms, wherever a cell may begin. That is also after a semicolon, a tab, a comma or a line break: where
/// lists are parted by semicolons, quotes around the field do not hold it together.
inline std::string no_formula(std::string_view text) {
  constexpr std::array<std::string_view, 8> kSigns = {"=", "+", "-", "@", "\uFF1D", "\uFF0B", "\uFF0D", "\uFF20"};
  std::string safe;
  bool cell_begins = true;
  while (!text.empty()) {
    const char c = text.front();
    for (const std::string_view sign : kSigns)
      if (cell_begins && text.starts_with(sign)) {
        safe += '\'';
        cell_begins = false;
      }
    if (std::string_view(";,\t\r\n|").find(c) != std::string_view::npos)
      cell_begins = true;
    else if (std::string_view(" \"").find(c) == std::string_view::npos)
      cell_begins = false;
    safe += c;
    text.remove_prefix(1);
  }
  return safe;
}

/// A field as RFC 4180 wants it, and never a formula: between quotes where it holds a comma, a semicolon, a tab, a
/// quote or a line break.
inline std::string csv_field(std::string_view text) {
  const std::string safe = no_formula(text);
  if (safe.find_first_of(",;\t\"\r\n") == std::string::npos) return safe;
  std::string quoted = "\"";
  for (const char c : safe) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + "\"";
}

}  // namespace lastroom
