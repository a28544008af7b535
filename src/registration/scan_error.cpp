#include <cmath>

#include "registration/registration.h"

namespace lastroom {

double scan_error_mm(ScanLoad load, double repeat_error_mm) {
  constexpr double kLackOfSpread_mm = 0.0665 * 100.0 / 2.0;  // on either side of an unloaded foot
  const double share = load == ScanLoad::full ? 0.0 : load == ScanLoad::half ? 0.5 : 1.0;
  return std::hypot(repeat_error_mm, share * kLackOfSpread_mm);
}

}  // namespace lastroom
