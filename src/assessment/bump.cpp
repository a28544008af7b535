#include "assessment/bump.h"

#include <algorithm>
#include <cmath>

#include "geometry/parallel.h"
#include "zones/skin_normals.h"

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

void grow(Bump& bump, double more_mm, const std::vector<Vec3>& points_mm, double least_half_mm) {
  constexpr double kRoundness = 1.54;  // steepest slope of (1 - u^2)^2: 8 / (3 sqrt 3)
  constexpr double kEdge = 3.0 / 7.0;  // of the core's half size, at least: a soft edge also where little is changed
  bump.height_mm += more_mm;
  double length = std::max(bump.half_length_mm * bump.core_share, least_half_mm / (1.0 + kEdge));
  double width = std::max(bump.half_width_mm * bump.core_share, least_half_mm / (1.0 + kEdge));
  for (const Vec3& p : points_mm) {
    const Vec3 arm = p - bump.centre_mm;
    length = std::max(length, std::abs(arm.dot(bump.along)));
    width = std::max(width, std::abs(arm.dot(bump.across)));
  }
  double farthest = 1.0;  // a corner of the box lies outside the ellipse in it
  for (const Vec3& p : points_mm) {
    const Vec3 arm = p - bump.centre_mm;
    farthest = std::max(farthest, std::hypot(arm.dot(bump.along) / length, arm.dot(bump.across) / width));
  }
  length *= farthest;
  width *= farthest;
  const double edge = 1.0 + std::max(kEdge, kRoundness * std::abs(bump.height_mm) / std::min(length, width));
  bump.half_length_mm = length * edge;
  bump.half_width_mm = width * edge;
  bump.core_share = 1.0 / edge;
}

Mesh bumped(const Mesh& mesh, const std::vector<Bump>& bumps) {
  Mesh result = mesh;
  const std::vector<Vec3> normals = skin_normals(mesh);  // of one vertex alone, a dented surface would fold
  for_blocks(mesh.vertices.size(), 2048, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i)
      if (const double height = height_at(bumps, mesh.vertices[i]); height != 0.0)
        result.vertices[i] += height * normals[i];
  });
  return result;
}

}  // namespace lastroom
