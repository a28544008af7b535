#include "geometry/open_rims.h"

#include <map>

#include "geometry/sets.h"
#include "geometry/surface_features.h"

namespace lastroom {

OpenRims open_rims(const Mesh& mesh) {
  const SurfaceFeatures features = edge_features(mesh);
  OpenRims open;
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
    for (std::size_t k = 0; k < 3; ++k)
      if (features.across[i][k] == SurfaceFeatures::kNone)
        open.edges.push_back({mesh.triangles[i][(k + 1) % 3], mesh.triangles[i][k], 0});
  Sets hanging_together(mesh.vertices.size());
  for (const OpenRims::Edge& edge : open.edges) hanging_together.join(edge.from, edge.to);
  std::map<std::uint32_t, std::size_t> rims;  // by their smallest corner
  for (const OpenRims::Edge& edge : open.edges) rims.emplace(hanging_together.root(edge.from), 0);
  for (auto& [root, rim] : rims) rim = open.middles.size(), open.middles.push_back(Vec3::Zero());
  std::vector<double> corners(open.middles.size(), 0.0);
  for (OpenRims::Edge& edge : open.edges) {
    edge.rim = rims[hanging_together.root(edge.from)];
    open.middles[edge.rim] += mesh.vertices[edge.from], corners[edge.rim] += 1.0;
  }
  for (std::size_t rim = 0; rim < corners.size(); ++rim) open.middles[rim] /= corners[rim];
  return open;
}

}  // namespace lastroom
