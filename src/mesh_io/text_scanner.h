#pragma once

// Private to mesh_io: numbers and words from a text file, as fast as memory allows and whatever the locale.

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <limits>
#include <span>
#include <string>
#include <string_view>

#include "error.h"
#include "number_text.h"

namespace lastroom {

/// Walks over a text. Lines end with \n, \r or both. Every failure is an InputError with the line's number.
class TextScanner {
 public:
  TextScanner(const std::string& name, std::span<const char> text)
      : name_(name), begin_(text.data()), at_(text.data()), end_(text.data() + text.size()) {
    if (text.size() >= 3 && std::string_view(at_, 3) == "\xEF\xBB\xBF") at_ += 3;  // byte order mark
  }

  bool at_end() const { return at_ == end_; }
  std::size_t left() const { return static_cast<std::size_t>(end_ - at_); }
  char peek() const { return at_ == end_ ? '\0' : *at_; }

  void skip_blanks() {
    while (at_ != end_ && (*at_ == ' ' || *at_ == '\t')) ++at_;
  }
  void skip_space() {
    while (at_ != end_ && is_space(*at_)) ++at_;
  }
  void skip_line() {
    while (at_ != end_ && !is_line_end(*at_)) ++at_;
  }
  /// Space, and comments from '#' to the end of the line.
  void skip_space_and_comments() {
    for (skip_space(); peek() == '#'; skip_space()) skip_line();
  }
  /// True at the end of the line or of the text, or in front of a comment.
  bool line_is_over() {
    skip_blanks();
    return at_ == end_ || is_line_end(*at_) || *at_ == '#';
  }

  /// Up to the next white space; empty at the end of the text.
  std::string_view word() {
    const char* first = at_;
    while (at_ != end_ && !is_space(*at_)) ++at_;
    return {first, static_cast<std::size_t>(at_ - first)};
  }
  std::string_view rest_of_line() {
    const char* first = at_;
    skip_line();
    return {first, static_cast<std::size_t>(at_ - first)};
  }

  double number() {
    skip_space();
    if (at_ == end_) cut_off();
    // Short decimal numbers are exact as whole number times or by a power of ten that a double holds exactly
    // (W. D. Clinger, How to read floating point numbers accurately, PLDI 1990). The others go to from_chars.
    const char* p = at_;
    const bool minus = *p == '-';
    if (minus || *p == '+') ++p;
    const char* digits_begin = p;
    std::uint64_t mantissa = 0;
    int exponent = 0;
    for (; p != end_ && is_digit(*p); ++p) mantissa = mantissa * 10 + static_cast<std::uint64_t>(*p - '0');
    std::ptrdiff_t digits = p - digits_begin;
    if (p != end_ && *p == '.') {
      const char* fraction = ++p;
      for (; p != end_ && is_digit(*p); ++p) mantissa = mantissa * 10 + static_cast<std::uint64_t>(*p - '0');
      exponent = static_cast<int>(std::max<std::ptrdiff_t>(fraction - p, -100));
      digits += p - fraction;
    }
    if (p != end_ && (*p == 'e' || *p == 'E')) {
      const char* e = p + 1;
      const bool e_minus = e != end_ && *e == '-';
      if (e != end_ && (*e == '-' || *e == '+')) ++e;
      const char* e_begin = e;
      int power = 0;
      for (; e != end_ && is_digit(*e) && power < 1000; ++e) power = power * 10 + (*e - '0');
      if (e != e_begin) {
        exponent += e_minus ? -power : power;
        p = e;
      }
    }
    constexpr double kPowers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                  1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    const bool exact = digits > 0 && digits <= 19 && mantissa <= (std::uint64_t{1} << 53) && std::abs(exponent) <= 22;
    if (!exact || (p != end_ && !ends_number(*p))) return slow_number();
    at_ = p;
    const double value = exponent < 0 ? static_cast<double>(mantissa) / kPowers[-exponent]
                                      : static_cast<double>(mantissa) * kPowers[exponent];
    return minus ? -value : value;
  }

  std::int64_t integer() {
    skip_space();
    if (at_ == end_) cut_off();
    const char* first = *at_ == '+' ? at_ + 1 : at_;
    std::int64_t value = 0;
    const auto [p, error] = std::from_chars(first, end_, value);
    if (error != std::errc() || (p != end_ && !ends_number(*p) && *p != '/' && *p != '#'))
      not_a("text.not_a_whole_number");
    at_ = p;
    return value;
  }

  [[noreturn]] void fail(const Message& what_is_wrong) const {
    throw InputError(about_file("text.bad_line", name_, {{"line", std::uint64_t{line()}}, {"what", what_is_wrong}}));
  }
  [[noreturn]] void cut_off() const { throw InputError(about_file("file.cut_off", name_)); }

 private:
  static bool is_line_end(char c) { return c == '\n' || c == '\r'; }
  static bool is_space(char c) { return c == ' ' || (c >= '\t' && c <= '\r'); }
  static bool is_digit(char c) { return c >= '0' && c <= '9'; }
  static bool ends_number(char c) { return is_space(c); }

  double slow_number() {
    constexpr double kInfinity = std::numeric_limits<double>::infinity();
    const char* first = *at_ == '+' ? at_ + 1 : at_;
    double value = 0.0;
    const auto [p, error] = number_from(first, end_, value);
    // 1.#QNAN, 1.#INF: so older Windows programs write it. Else a comment begins.
    const char* const unsigned_part = first + (first != end_ && *first == '-' ? 1 : 0);
    const bool windows =
        std::string_view(unsigned_part, static_cast<std::size_t>(end_ - unsigned_part)).starts_with("1.#");
    const char* stop = at_;
    while (stop != end_ && !ends_number(*stop) && (windows || *stop != '#')) ++stop;
    const std::string_view token(at_, static_cast<std::size_t>(stop - at_));
    if (windows)
      value = kInfinity;
    else if (error == std::errc::result_out_of_range)
      value =
          token.find("e-") != std::string_view::npos || token.find("E-") != std::string_view::npos ? 0.0 : kInfinity;
    else if (error != std::errc() || p != stop)
      not_a("text.not_a_number");
    at_ = stop;
    return value;
  }

  [[noreturn]] void not_a(const char* kind) {
    std::string token;
    for (char c : word().substr(0, 20)) token += c > ' ' && c < '\x7F' ? c : '?';
    fail({kind, {{"token", UserText{token}}}});
  }

  std::size_t line() const {
    return 1 + static_cast<std::size_t>(std::count(begin_, at_, '\n') > 0 ? std::count(begin_, at_, '\n')
                                                                          : std::count(begin_, at_, '\r'));
  }

  const std::string& name_;
  const char *begin_, *at_, *end_;
};

}  // namespace lastroom
