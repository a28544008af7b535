#pragma once

#include <string>

namespace library_test {

/// A pair of the demo as files' bytes.
struct Demo {
  std::string scan_name, last_name, scan, last;
};
const Demo& fifth_toe_pressed();

}  // namespace library_test
