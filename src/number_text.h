#pragma once

#include <charconv>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

namespace lastroom {

/// std::from_chars for a double in [first, last), whatever the locale; of libc++ too, which has none before version 20
/// (there through strtod, in the only locale that a browser has).
inline std::from_chars_result number_from(const char* first, const char* last, double& value) {
#ifndef _LIBCPP_VERSION
  return std::from_chars(first, last, value);
#else
  const char* end = first;
  if (end != last && *end == '-') ++end;
  const std::string_view head(end, static_cast<std::size_t>(last - end));
  const bool is_word = head.starts_with("inf") || head.starts_with("nan");
  const std::string_view kept = is_word ? "infaty" : "0123456789.eE+-";
  if (end == last || (!is_word && *end != '.' && (*end < '0' || *end > '9')))
    return {first, std::errc::invalid_argument};
  while (end != last && kept.find(*end) != kept.npos) ++end;
  const std::string text(first, end);
  char* stop = nullptr;
  const double read = std::strtod(text.c_str(), &stop);
  const char* const at = first + (stop - text.c_str());
  if (at == first) return {first, std::errc::invalid_argument};
  const bool outside = !is_word && (read > 1.8e308 || read < -1.8e308);
  if (outside) return {at, std::errc::result_out_of_range};
  value = read;
  return {at, {}};
#endif
}

/// The shortest text that reads back as the same number; of libc++, one that does.
inline char* number_to(char* first, char* last, float value) {
#ifndef _LIBCPP_VERSION
  return std::to_chars(first, last, value).ptr;
#else
  return first + std::snprintf(first, static_cast<std::size_t>(last - first), "%.9g", static_cast<double>(value));
#endif
}

}  // namespace lastroom
