#include "preparation/side.h"

namespace lastroom {

double mm_per(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::millimetre:
      return 1.0;
    case LengthUnit::centimetre:
      return 10.0;
    case LengthUnit::metre:
      return 1000.0;
    case LengthUnit::inch:
      return 25.4;
  }
  return 1.0;
}

std::string_view unit_name(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::millimetre:
      return "mm";
    case LengthUnit::centimetre:
      return "cm";
    case LengthUnit::metre:
      return "m";
    case LengthUnit::inch:
      return "in";
  }
  return "mm";
}

Message unit_message(LengthUnit unit) { return {"unit." + std::string(unit_name(unit))}; }

std::string_view side_name(Side side) { return side == Side::left ? "left" : "right"; }

Vec3 as_worn(Side side, const Vec3& right_form_mm) {
  return side == Side::right ? right_form_mm : Vec3(right_form_mm.x(), -right_form_mm.y(), right_form_mm.z());
}

Motion as_worn(Side side, const Motion& right_form) {
  if (side == Side::right) return right_form;
  const Eigen::DiagonalMatrix<double, 3> mirror(1.0, -1.0, 1.0);
  Motion worn = Motion::Identity();
  worn.linear() = mirror * right_form.linear() * mirror;
  worn.translation() = mirror * right_form.translation();
  return worn;
}

}  // namespace lastroom
