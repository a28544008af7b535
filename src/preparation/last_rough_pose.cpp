#include <algorithm>
#include <cmath>
#include <numbers>

#include "preparation/last_standing.h"

namespace lastroom {
namespace {

constexpr std::size_t kTurns = 72;       // directions around the long axis
constexpr int kBins = 24;                // along it
constexpr std::size_t kSamples = 20000;  // vertices looked at for a candidate
constexpr double kLeastFlat = 0.25;      // of the flattest direction; a high-heeled last's bottom is bent

struct Axes {
  Vec3 middle = Vec3::Zero();
  Vec3 along, side, up;
};

/// Principal axes of the surface, by area; longest first.
Axes principal_axes(const Mesh& mesh) {
  double area = 0.0;
  Vec3 sum = Vec3::Zero();
  Eigen::Matrix3d squares = Eigen::Matrix3d::Zero();
  const Vec3 near = mesh.vertices.front();  // against cancellation far from the origin
  for (const Triangle& t : mesh.triangles) {
    const Vec3 a = mesh.vertices[t[0]] - near, b = mesh.vertices[t[1]] - near, c = mesh.vertices[t[2]] - near;
    const double weight = (b - a).cross(c - a).norm();
    const Vec3 p = (a + b + c) / 3.0;
    area += weight;
    sum += weight * p;
    squares += weight * p * p.transpose();
  }
  Axes axes;
  const Vec3 mean = sum / area;
  axes.middle = near + mean;
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(squares / area - mean * mean.transpose());
  axes.along = solver.eigenvectors().col(2);
  axes.side = solver.eigenvectors().col(1);
  axes.up = axes.along.cross(axes.side);
  return axes;
}

/// How much flat area faces each direction around the long axis.
std::array<double, kTurns> flatness(const Mesh& mesh, const Axes& axes) {
  std::array<double, kTurns> by_angle{};
  for (const Triangle& t : mesh.triangles) {
    const Vec3& a = mesh.vertices[t[0]];
    const Vec3 twice = (mesh.vertices[t[1]] - a).cross(mesh.vertices[t[2]] - a);
    const double s = twice.dot(axes.side), u = twice.dot(axes.up);
    if (std::abs(twice.dot(axes.along)) > 0.75 * twice.norm()) continue;
    const double turn = std::atan2(u, s) / (2.0 * std::numbers::pi);
    const auto bin = static_cast<std::size_t>((turn - std::floor(turn)) * kTurns) % kTurns;
    by_angle[bin] += 0.5 * std::hypot(s, u);
  }
  std::array<double, kTurns> flat{};
  for (std::size_t d = 0; d < kTurns; ++d)
    for (std::size_t b = 0; b < kTurns; ++b) {
      const double angle = 2.0 * std::numbers::pi * (static_cast<double>(b) - static_cast<double>(d)) / kTurns;
      flat[d] += by_angle[b] * std::pow(std::max(0.0, std::cos(angle)), 8.0);
    }
  return flat;
}

/// Height of the surface over its lower side, per bin from heel to toe.
std::array<double, kBins> heights(const Mesh& mesh, const Vec3& along, const Vec3& up) {
  std::array<double, kBins> low, high;
  low.fill(1e30);
  high.fill(-1e30);
  double first = 1e30, last = -1e30;
  const std::size_t step = 1 + mesh.vertices.size() / kSamples;
  for (std::size_t i = 0; i < mesh.vertices.size(); i += step) {
    const double x = mesh.vertices[i].dot(along);
    first = std::min(first, x);
    last = std::max(last, x);
  }
  for (std::size_t i = 0; i < mesh.vertices.size(); i += step) {
    const double share = (mesh.vertices[i].dot(along) - first) / std::max(last - first, 1e-9);
    const auto bin = static_cast<std::size_t>(std::clamp(share * kBins, 0.0, kBins - 1.0));
    const double z = mesh.vertices[i].dot(up);
    low[bin] = std::min(low[bin], z);
    high[bin] = std::max(high[bin], z);
  }
  std::array<double, kBins> height{};
  for (std::size_t b = 0; b < kBins; ++b) height[b] = std::max(0.0, high[b] - low[b]);
  return height;
}

double mean_between(const std::array<double, kBins>& values, double from, double to) {
  double sum = 0.0;
  int count = 0;
  for (int b = static_cast<int>(from * kBins); b < static_cast<int>(to * kBins); ++b, ++count)
    sum += values[static_cast<std::size_t>(b)];
  return sum / std::max(count, 1);
}

Motion pose(const Vec3& middle, const Vec3& along, const Vec3& up) {
  Eigen::Matrix3d rows;
  const Vec3 z = (up - up.dot(along) * along).normalized();
  rows << along.transpose(), z.cross(along).transpose(), z.transpose();
  Motion motion = Motion::Identity();
  motion.linear() = rows;
  motion.translation() = -(rows * middle);
  return motion;
}

/// The bottom's own mean direction, so that it lies level on the whole.
Vec3 settled_down(const Mesh& mesh, const Vec3& down) {
  Vec3 sum = Vec3::Zero();
  for (const Triangle& t : mesh.triangles) {
    const Vec3& a = mesh.vertices[t[0]];
    const Vec3 twice = (mesh.vertices[t[1]] - a).cross(mesh.vertices[t[2]] - a);
    if (twice.dot(down) > 0.85 * twice.norm()) sum += twice;
  }
  return sum.norm() > 0.0 ? Vec3(sum.normalized()) : down;
}

}  // namespace

std::vector<Motion> rough_poses(const Mesh& mesh) {
  if (!(area_mm2(mesh) > 0.0)) return {};  // all its triangles are lines
  const Axes axes = principal_axes(mesh);
  const std::array<double, kTurns> flat = flatness(mesh, axes);
  const double flattest = *std::max_element(flat.begin(), flat.end());
  std::vector<std::pair<double, Motion>> found;
  for (std::size_t d = 0; d < kTurns; ++d) {
    const bool peak = flat[d] >= flat[(d + 1) % kTurns] && flat[d] > flat[(d + kTurns - 1) % kTurns];
    if (!peak || flat[d] < kLeastFlat * flattest) continue;
    const double angle = 2.0 * std::numbers::pi * (static_cast<double>(d) + 0.5) / kTurns;
    Vec3 down = std::cos(angle) * axes.side + std::sin(angle) * axes.up;
    for (int round = 0; round < 3; ++round) down = settled_down(mesh, down);
    for (const double sign : {1.0, -1.0}) {
      const Vec3 along = (sign * (axes.along - axes.along.dot(down) * down)).normalized();
      const std::array<double, kBins> height = heights(mesh, along, -down);
      const double heel = mean_between(height, 0.1, 0.45), toe = mean_between(height, 0.84, 0.97);
      if (heel < 1.3 * toe || toe <= 0.0) continue;
      const double score = flat[d] / flattest + 0.3 * std::min(heel / toe, 3.0);
      found.emplace_back(score, pose(axes.middle, along, -down));
    }
  }
  std::stable_sort(found.begin(), found.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<Motion> poses;
  for (const auto& [score, motion] : found) poses.push_back(motion);
  return poses;
}

}  // namespace lastroom
