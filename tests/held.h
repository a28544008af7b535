#pragma once

#include <fmt/format.h>

#include <string_view>

namespace lastroom::test {

/// Figures that a page states, held by the program that printed them: each that got worse is told on stderr, and the
/// program ends with status 1.
class Held {
 public:
  /// `stated` by `where`. A figure that is rounded there may be larger by what rounding takes.
  void most(std::string_view what, double value, double stated, std::string_view where) {
    if (!(value <= stated)) worse(what, value, "at most", stated, where);
  }
  void least(std::string_view what, double value, double stated, std::string_view where) {
    if (!(value >= stated)) worse(what, value, "at least", stated, where);
  }
  int status() const { return worse_ ? 1 : 0; }

 private:
  void worse(std::string_view what, double value, std::string_view than, double stated, std::string_view where) {
    fmt::print(stderr, "WORSE: {} is {:.3f}; {} states {} {}\n", what, value, where, than, stated);
    worse_ = true;
  }
  bool worse_ = false;
};

}  // namespace lastroom::test
