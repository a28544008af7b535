#include "assessment/bump.h"

#include <algorithm>
#include <cmath>

namespace lastroom {
namespace {

/// 1 up to the core, then (1 - u^2)^2 down to 0: smooth to the first derivative at both ends.
double faded(double t, double core) {
  if (t <= core) return 1.0;
  if (t >= 1.0) return 0.0;
  const double u = (t - core) / (1.0 - core);
  const double v = 1.0 - u * u;
  return v * v;
}

// Off the tangent plane by up to half of this the bump is at full height, beyond it there is none: less than the
// thickness of a last at the toes, so that a bump on the top does not reach the bottom. Our choice.
constexpr double kHalfDepthMm = 20.0;

}  // namespace

Bump bump_at(const SurfacePoint& place) {
  Bump bump;
  bump.centre_mm = place.point_mm;
  bump.normal = place.normal;
  const Vec3 wanted = std::abs(place.normal.x()) < 0.8 ? Vec3::UnitX() : Vec3::UnitY();
  bump.along = (wanted - wanted.dot(place.normal) * place.normal).normalized();
  bump.across = bump.normal.cross(bump.along);
  return bump;
}

double share_at(const Bump& bump, const Vec3& point_mm) {
  const Vec3 arm = point_mm - bump.centre_mm;
  const double off = std::abs(arm.dot(bump.normal)) / kHalfDepthMm;
  if (off >= 1.0) return 0.0;
  const double t = std::hypot(arm.dot(bump.along) / bump.half_length_mm, arm.dot(bump.across) / bump.half_width_mm);
  return faded(t, bump.core_share) * faded(off, 0.5);
}

double height_at(const std::vector<Bump>& bumps, const Vec3& point_mm) {
  double height = 0.0;
  for (const Bump& bump : bumps) height += bump.height_mm * share_at(bump, point_mm);
  return height;
}

}  // namespace lastroom
