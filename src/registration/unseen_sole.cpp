#include "registration/unseen_sole.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "geometry/surface_features.h"
#include "zones/toes.h"

namespace lastroom {
namespace {

constexpr double kRimBelow_ratio = 0.1;  // of foot length: higher up the leg is open
constexpr double kRound_mm = 20.0;       // radius of a sole's edge (our choice)

struct Edge {
  Vec3 a, b;
};

std::vector<Edge> rims(const Foot& foot) {
  const Mesh& mesh = foot.mesh;
  const double below_mm = kRimBelow_ratio * foot_length_mm(foot.landmarks);
  const SurfaceFeatures features = edge_features(mesh);
  std::vector<Edge> edges;
  for (std::size_t t = 0; t < mesh.triangles.size(); ++t)
    for (std::size_t k = 0; k < 3; ++k) {
      if (features.across[t][k] != SurfaceFeatures::kNone) continue;
      const Edge edge{mesh.vertices[mesh.triangles[t][k]], mesh.vertices[mesh.triangles[t][(k + 1) % 3]]};
      if (std::max(edge.a.z(), edge.b.z()) < below_mm) edges.push_back(edge);
    }
  return edges;
}

/// Where the line of this y enters and leaves the openings, in turn.
std::vector<double> crossings_x(const std::vector<Edge>& edges, double y) {
  std::vector<double> x;
  for (const Edge& e : edges)
    if ((e.a.y() <= y) != (e.b.y() <= y))
      x.push_back(e.a.x() + (y - e.a.y()) / (e.b.y() - e.a.y()) * (e.b.x() - e.a.x()));
  std::sort(x.begin(), x.end());
  return x;
}

/// From the floor up to the nearest rim, as a circle's foot does.
double height_mm(const std::vector<Edge>& edges, const Vec2& at) {
  double nearest_mm = std::numeric_limits<double>::infinity(), rim_mm = 0.0;
  for (const Edge& e : edges)
    if (const double away_mm = (e.a.head<2>() - at).norm(); away_mm < nearest_mm)
      nearest_mm = away_mm, rim_mm = std::max(0.0, e.a.z());
  const double rise_within_mm = std::sqrt(2.0 * kRound_mm * rim_mm);
  return std::pow(std::max(0.0, rise_within_mm - nearest_mm), 2) / (2.0 * kRound_mm);
}

}  // namespace

std::vector<ContactSample> unseen_sole(const Foot& foot, double cell_mm) {
  const std::vector<Edge> edges = rims(foot);
  Box box;
  for (const Edge& e : edges) box.low = box.low.cwiseMin(e.a), box.high = box.high.cwiseMax(e.a);
  std::vector<ContactSample> cells;
  for (double y = box.low.y() + 0.5 * cell_mm; y < box.high.y(); y += cell_mm) {
    const std::vector<double> x = crossings_x(edges, y);
    for (std::size_t i = 0; i + 1 < x.size(); i += 2)
      for (double at = x[i] + 0.5 * cell_mm; at < x[i + 1]; at += cell_mm) {
        ContactSample cell;
        cell.foot_mm = Vec3(at, y, height_mm(edges, Vec2(at, y)));
        cell.area_mm2 = cell_mm * cell_mm;
        cell.zone = zone_at(foot.landmarks, cell.foot_mm, -Vec3::UnitZ());
        cell.on_floor = true;
        cells.push_back(cell);
      }
  }
  return cells;
}

}  // namespace lastroom
