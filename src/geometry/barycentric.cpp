#include "geometry/barycentric.h"

namespace lastroom {

Vec3 shares_in(const Mesh& mesh, std::uint32_t triangle, const Vec3& point_mm) {
  const Triangle& t = mesh.triangles[triangle];
  const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
  const Vec3 across = (b - a).cross(c - a);
  const double squared = across.squaredNorm();
  if (!(squared > 0.0)) return Vec3::UnitX();
  const double of_b = across.dot((point_mm - a).cross(c - a)) / squared;
  const double of_c = across.dot((b - a).cross(point_mm - a)) / squared;
  return {1.0 - of_b - of_c, of_b, of_c};
}

}  // namespace lastroom
