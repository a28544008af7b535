#include "report/looks.h"

namespace lastroom {

std::string_view look_name(Look look) {
  switch (look) {
    case Look::above:
      return "above";
    case Look::inside:
      return "inside";
    case Look::outside:
      return "outside";
    case Look::sole:
      return "sole";
    case Look::toe_end:
      return "toe_end";
  }
  return "above";
}

View view_of(Look look, Side side) {
  const Vec3 x = Vec3::UnitX(), y = Vec3::UnitY(), z = Vec3::UnitZ();
  const Vec3 inside = side == Side::right ? y : Vec3(-y);
  switch (look) {
    case Look::above:
      return {x, z};
    case Look::inside:
      return {z, inside};
    case Look::outside:
      return {z, -inside};
    case Look::sole:
      return {x, -z};
    case Look::toe_end:
      return {z, x};
  }
  return {x, z};
}

}  // namespace lastroom
