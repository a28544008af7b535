#pragma once

#include <cmath>
#include <ostream>

namespace lastroom::test {

/// CHECK(x == WithinMm{expected, tolerance}): an absolute tolerance. (doctest's Approx is relative to 1 + the value, which
/// on a 250 mm length lets millimetres pass.)
struct WithinMm {
  double expected, tolerance;
};
inline bool operator==(double value, const WithinMm& w) { return std::abs(value - w.expected) <= w.tolerance; }
inline std::ostream& operator<<(std::ostream& out, const WithinMm& w) {
  return out << w.expected << " +- " << w.tolerance;
}

}  // namespace lastroom::test
