#include "preparation/last_closing.h"

#include <algorithm>
#include <map>
#include <numeric>

#include "geometry/iso_surface.h"
#include "geometry/signed_distance.h"
#include "geometry/surface_features.h"
#include "preparation/foot_cloud.h"
#include "preparation/foot_nearest.h"
#include "preparation/foot_pieces.h"

namespace lastroom {
namespace {

constexpr double kSkinEdge_mm = 1.2;

Mesh largest_piece(const Mesh& mesh) {
  if (mesh.triangles.empty()) return mesh;
  const Pieces pieces = pieces_of(mesh);
  const auto largest = std::ranges::max_element(pieces.area) - pieces.area.begin();
  std::vector<std::uint8_t> keep(mesh.triangles.size());
  for (std::size_t i = 0; i < keep.size(); ++i) keep[i] = pieces.of_triangle[i] == static_cast<std::uint32_t>(largest);
  return submesh(mesh, keep);
}

Box wider(const Box& box, double by_mm) {
  return {box.low - Vec3::Constant(by_mm), box.high + Vec3::Constant(by_mm)};
}

/// Where the ball's centre goes when it touches the walls from outside; `distance_mm` is unsigned. Sheets around
/// hollows that the ball does not get into are smaller and left out.
Mesh ball_centres(const Field& distance_mm, const Box& walls, double edge_mm) {
  return largest_piece(iso_surface([&](const Vec3& p) { return distance_mm(p) - kClosingRadius_mm; },
                                   wider(walls, kClosingRadius_mm + 3.0 * edge_mm), edge_mm));
}

/// What the ball leaves. Surface nets of two offsets: where the mesh is smooth they stray by less than
/// edge^2 / (8 radius), 0.05 mm.
Mesh rolled_over(const Field& distance_mm, const Box& walls) {
  constexpr double kCentresEdge_mm = 2.0;
  const Mesh centres = ball_centres(distance_mm, walls, kCentresEdge_mm);
  if (centres.triangles.empty()) return {};
  const SignedDistance outer(centres);
  return largest_piece(iso_surface([&](const Vec3& p) { return outer.at(p).distance_mm + kClosingRadius_mm; },
                                   wider(walls, 3.0 * kSkinEdge_mm), kSkinEdge_mm));
}

/// A ball sags into what it closes. Vertices that are not `held` are drawn straight between those that are.
void draw_straight(Mesh& skin, const std::vector<std::uint8_t>& held) {
  constexpr int kRounds = 200;  // slots of 16 mm are 13 edges wide
  std::vector<Vec3> sum(skin.vertices.size());
  std::vector<int> count(skin.vertices.size());
  for (int round = 0; round < kRounds; ++round) {
    std::ranges::fill(sum, Vec3::Zero());
    std::ranges::fill(count, 0);
    for (const Triangle& t : skin.triangles)
      for (std::size_t c = 0; c < 3; ++c) sum[t[c]] += skin.vertices[t[(c + 1) % 3]], ++count[t[c]];
    for (std::size_t v = 0; v < held.size(); ++v)
      if (!held[v] && count[v] > 0) skin.vertices[v] = sum[v] / count[v];
  }
}

/// The mesh with every rim closed by a fan to the middle of what hangs together of it; the fans come last.
Mesh with_fans(Mesh mesh) {
  const SurfaceFeatures features = edge_features(mesh);
  std::vector<std::uint32_t> leads_to(mesh.vertices.size());
  std::iota(leads_to.begin(), leads_to.end(), 0U);
  const auto root = [&](std::uint32_t v) {
    while (leads_to[v] != v) v = leads_to[v] = leads_to[leads_to[v]];
    return v;
  };
  std::vector<std::array<std::uint32_t, 2>> rim;
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
    for (std::size_t k = 0; k < 3; ++k)
      if (features.across[i][k] == SurfaceFeatures::kNone)
        rim.push_back({mesh.triangles[i][(k + 1) % 3], mesh.triangles[i][k]});
  for (const auto& [a, b] : rim) leads_to[root(a)] = root(b);
  struct Middle {
    Vec3 sum_mm = Vec3::Zero();
    double count = 0.0;
    std::uint32_t vertex = 0;
  };
  std::map<std::uint32_t, Middle> middles;
  for (const auto& [a, b] : rim) middles[root(a)].sum_mm += mesh.vertices[a], middles[root(a)].count += 1.0;
  for (auto& [loop, middle] : middles) {
    middle.vertex = static_cast<std::uint32_t>(mesh.vertices.size());
    mesh.vertices.push_back(middle.sum_mm / middle.count);
  }
  for (const auto& [a, b] : rim) mesh.triangles.push_back({a, b, middles[root(a)].vertex});
  return mesh;
}

/// Points evenly about `spacing_mm` apart: the middle of those in each cell, which averages a scanner's noise away.
std::vector<Vec3> thinned(const std::vector<Vec3>& points, double spacing_mm) {
  std::map<std::array<int, 3>, std::pair<Vec3, double>> cells;
  for (const Vec3& p : points) {
    const Eigen::Vector3i at = (p / spacing_mm).array().floor().cast<int>();
    auto& [sum, count] = cells.try_emplace({at.x(), at.y(), at.z()}, Vec3::Zero(), 0.0).first->second;
    sum += p, count += 1.0;
  }
  std::vector<Vec3> even;
  for (const auto& [at, cell] : cells) even.push_back(cell.first / cell.second);
  return even;
}

}  // namespace

double hidden_wall_area_mm2(const Mesh& mesh) {
  constexpr double kSpacing_mm = 2.5, kEdge_mm = 4.0, kDeep_mm = 5.0;  // a square corner's fillet is 3.3 mm deep
  const FootCloud walls = cloud_of(mesh, kSpacing_mm);
  if (walls.points.empty()) return 0.0;
  const NearestPoint nearest(walls.points);
  const Mesh centres = ball_centres([&](const Vec3& p) { return nearest(p).second; }, bounds(mesh), kEdge_mm);
  if (centres.triangles.empty()) return 0.0;
  const std::vector<SurfacePoint> seen = SignedDistance(centres).at(walls.points);
  double hidden_mm2 = 0.0;
  for (std::size_t i = 0; i < seen.size(); ++i)
    if (std::abs(seen[i].distance_mm) > kClosingRadius_mm + kDeep_mm) hidden_mm2 += walls.areas[i];
  return hidden_mm2;
}

Mesh closed_over(const Mesh& mesh) {
  const Mesh walls = with_fans(mesh);
  const SignedDistance distance(walls);
  Mesh skin = rolled_over([&](const Vec3& p) { return std::abs(distance.at(p).distance_mm); }, bounds(walls));
  const std::vector<SurfacePoint> seen = distance.at(skin.vertices);
  std::vector<std::uint8_t> held(seen.size()), over_fan(seen.size());
  for (std::size_t v = 0; v < seen.size(); ++v) {
    held[v] = (seen[v].point_mm - skin.vertices[v]).norm() < 0.5 * kSkinEdge_mm;
    over_fan[v] = seen[v].triangle >= mesh.triangles.size();
    if (held[v]) skin.vertices[v] = seen[v].point_mm;
  }
  draw_straight(skin, held);
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : skin.triangles) keep.push_back(!(over_fan[t[0]] && over_fan[t[1]] && over_fan[t[2]]));
  return submesh(skin, keep);
}

Mesh closed_over_points(const std::vector<Vec3>& points_mm) {
  constexpr double kSpacing_mm = 1.0, kHeld_mm = 1.5;
  const std::vector<Vec3> points = thinned(points_mm, kSpacing_mm);
  const NearestPoint nearest(points);
  Box walls;
  for (const Vec3& p : points) walls.low = walls.low.cwiseMin(p), walls.high = walls.high.cwiseMax(p);
  Mesh skin = rolled_over([&](const Vec3& p) { return nearest(p).second; }, walls);
  std::vector<std::uint8_t> held(skin.vertices.size());
  for (std::size_t v = 0; v < held.size(); ++v) held[v] = nearest(skin.vertices[v]).second < kHeld_mm;
  draw_straight(skin, held);
  return skin;
}

}  // namespace lastroom
