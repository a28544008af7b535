#include <algorithm>
#include <cmath>
#include <numbers>

#include "clearance/clearance.h"
#include "geometry/parallel.h"
#include "zones/skin_normals.h"

namespace lastroom {
namespace {

constexpr std::size_t kBlock = 2048;  // vertices a task: long against the cost of starting one, short against the whole

/// Normals and areas of the posed skin in one pass. The normals are weighted by area: an angle-weighted one costs three
/// arc tangents a triangle, and on a scan's even triangles the two differ by less than the scan's own noise.
void add_normals_and_areas(const Mesh& foot, ClearanceField& field) {
  for (const Triangle& t : foot.triangles) {
    const Vec3& a = field.skin_mm[t[0]];
    const Vec3 twice_area = (field.skin_mm[t[1]] - a).cross(field.skin_mm[t[2]] - a);
    const double third = twice_area.norm() / 6.0;
    for (std::uint32_t corner : t) {
      field.skin_normal[corner] += twice_area;
      field.area_mm2[corner] += third;
    }
  }
  for (Vec3& n : field.skin_normal) n.normalize();
}

/// For the vertices from `first_vertex` on, as many as `nearest` has.
void add_clearances(const Foot& foot, const PosedFoot& posed, std::size_t first_vertex,
                    const std::vector<SurfacePoint>& nearest, const Registration& registration, const LastTop& top,
                    ClearanceField& field) {
  for_blocks(nearest.size(), kBlock, [&](std::size_t begin, std::size_t end) {
    for (std::size_t k = begin; k < end; ++k) {
      const SurfacePoint& there = nearest[k];
      const std::size_t i = first_vertex + k;
      field.clearance_mm[i] = -there.distance_mm - field.sock_mm;
      field.sigma_mm[i] = sigma_along_mm(there.normal, posed.jacobian(foot.mesh.vertices[i]), registration.covariance,
                                         field.scan_error_mm);
      field.last_point_mm[i] = there.point_mm;
      field.on_rim[i] = past_the_top(top, field.skin_mm[i], there.triangle) ? ClearanceField::kPastTop
                        : there.on_rim                                      ? 1
                                                                            : 0;
    }
  });
}

}  // namespace

double sigma_along_mm(const Vec3& direction, const Eigen::Matrix<double, 3, 7>& by_pose,
                      const PoseCovariance& covariance, double scan_error_mm) {
  const Eigen::Matrix<double, 1, 7> along = direction.transpose() * by_pose;
  return std::sqrt(scan_error_mm * scan_error_mm + std::max(0.0, (along * covariance).dot(along)));
}

ClearanceField clearance_between(const Foot& foot, const Registration& registration, const SignedDistance& last_surface,
                                 const RegistrationSettings& settings, const LastTop& top) {
  const std::size_t count = foot.mesh.vertices.size();
  const PosedFoot posed(foot.landmarks, registration);

  ClearanceField field;
  field.sock_mm = settings.sock_mm;
  field.scan_error_mm = settings.scan_error_mm;
  field.skin_mm.resize(count);
  field.skin_normal.assign(count, Vec3::Zero());
  field.clearance_mm.resize(count);
  field.sigma_mm.resize(count);
  field.last_point_mm.resize(count);
  field.on_rim.resize(count);
  field.area_mm2.assign(count, 0.0);

  for_blocks(count, kBlock, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) field.skin_mm[i] = posed(foot.mesh.vertices[i]);
  });
  add_normals_and_areas(foot.mesh, field);
  // A part of the skin at a time: all answers at once would take more memory than the last's own mesh.
  constexpr std::size_t kPart = 1 << 16;
  for (std::size_t first = 0; first < count; first += kPart) {
    const std::span<const Vec3> part(&field.skin_mm[first], std::min(kPart, count - first));
    add_clearances(foot, posed, first, last_surface.at(part), registration, top, field);
  }
  field.clearance_mm = evened(foot.mesh, std::move(field.clearance_mm), kClearanceSmoothed_mm);

  constexpr double kRadPerDeg = std::numbers::pi / 180.0;
  field.last_from_fore =
      Eigen::AngleAxisd(registration.hinge.angle_deg * kRadPerDeg, registration.hinge.axis).toRotationMatrix() *
      registration.last_from_foot.linear();
  field.posed = posed;
  field.pose_covariance = registration.covariance;
  return field;
}

Eigen::Matrix3d covariance_mm2(const ClearanceField& field, const Vec3& foot_point_mm) {
  const Eigen::Matrix3d by_scan = field.scan_error_mm * field.scan_error_mm * Eigen::Matrix3d::Identity();
  if (!field.posed) return by_scan;
  const Eigen::Matrix<double, 3, 7> by_pose = field.posed->jacobian(foot_point_mm);
  return by_pose * field.pose_covariance * by_pose.transpose() + by_scan;
}

}  // namespace lastroom
