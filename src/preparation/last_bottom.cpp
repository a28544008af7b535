#include "preparation/last_bottom.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace lastroom {
namespace {

// Our choice. A bottom bends by less than 10 degrees over an edge even on a coarse mesh (tread radius about 25 mm,
// edges up to 5 mm), a feather edge by 35 to 90; a soft one (radius of some mm) is left where the surface has turned
// by 55.
const double kCrease = std::cos(22.0 * std::numbers::pi / 180.0);
const double kTooSteep = std::cos(40.0 * std::numbers::pi / 180.0);  // against the bottom's own direction there
const double kSteepestShank = std::cos(55.0 * std::numbers::pi / 180.0);
const double kSeed = std::cos(25.0 * std::numbers::pi / 180.0);

/// A single neighbour; not a rim, nor an edge where three or more triangles meet.
bool is_triangle(std::uint32_t across) { return across < SurfaceFeatures::kCrowded; }

/// Connected groups (over edges) of the triangles for which `member` is 1; returns the group with the largest area.
std::vector<std::uint32_t> largest_group(const SurfaceFeatures& features, const std::vector<double>& area,
                                         const std::vector<std::uint8_t>& member) {
  std::vector<std::uint8_t> seen(member.size(), 0);
  std::vector<std::uint32_t> best, group;
  double best_area = 0.0;
  for (std::uint32_t first = 0; first < member.size(); ++first) {
    if (!member[first] || seen[first]) continue;
    group.assign(1, first);
    seen[first] = 1;
    double sum = 0.0;
    for (std::size_t next = 0; next < group.size(); ++next) {
      sum += area[group[next]];
      for (const std::uint32_t other : features.across[group[next]])
        if (is_triangle(other) && member[other] && !seen[other]) {
          seen[other] = 1;
          group.push_back(other);
        }
    }
    if (sum > best_area) {
      best_area = sum;
      best = group;
    }
  }
  return best;
}

/// Border of the bottom with the bottom on the left seen from outside, as its longest loop of vertices.
std::vector<std::uint32_t> longest_border(const Mesh& mesh, const SurfaceFeatures& features,
                                          const std::vector<std::uint8_t>& bottom) {
  std::vector<std::pair<std::uint32_t, std::uint32_t>> edges;  // from, to
  for (std::uint32_t i = 0; i < bottom.size(); ++i)
    for (std::size_t k = 0; bottom[i] && k < 3; ++k) {
      const std::uint32_t other = features.across[i][k];
      if (!is_triangle(other) || !bottom[other])
        edges.emplace_back(mesh.triangles[i][k], mesh.triangles[i][(k + 1) % 3]);
    }
  std::sort(edges.begin(), edges.end());
  // Edges from one vertex are used in their order; `unused`, at the first of them, is how far that has come.
  std::vector<std::uint8_t> used(edges.size(), 0);
  std::vector<std::size_t> unused(edges.size());
  std::iota(unused.begin(), unused.end(), std::size_t{0});
  std::vector<std::uint32_t> longest;
  double longest_mm = 0.0;
  for (std::size_t first = 0; first < edges.size(); ++first) {
    if (used[first]) continue;
    std::vector<std::uint32_t> loop;
    double length = 0.0;
    for (std::size_t e = first; !used[e];) {
      used[e] = 1;
      loop.push_back(edges[e].first);
      length += (mesh.vertices[edges[e].first] - mesh.vertices[edges[e].second]).norm();
      const std::uint32_t from = edges[e].second;
      const auto place = std::lower_bound(edges.begin(), edges.end(), std::pair(from, std::uint32_t{0}));
      if (place == edges.end()) break;
      std::size_t& next = unused[static_cast<std::size_t>(place - edges.begin())];
      while (next < edges.size() && edges[next].first == from && used[next]) ++next;
      if (next == edges.size() || edges[next].first != from) break;
      e = next;
    }
    if (length > longest_mm) {
      longest_mm = length;
      longest = std::move(loop);
    }
  }
  return longest;
}

/// The bottom's mean direction along x, so that heel pitch and toe spring don't count as steepness; without a lean to
/// either side, which would be a side.
class LocalDown {
 public:
  LocalDown(const Mesh& mesh, const std::vector<std::uint32_t>& seed, const std::vector<Vec3>& normals,
            const std::vector<double>& area, const Vec3& down) {
    const Box box = bounds(mesh);
    low_ = box.low.x();
    step_ = std::max((box.high.x() - low_) / kBins, 1e-9);
    mean_.fill(1e-6 * down);
    for (const std::uint32_t i : seed) mean_[bin(mesh, i)] += area[i] * normals[i];
    for (int round = 0; round < 3; ++round) {
      const auto old = mean_;
      for (std::size_t b = 0; b < kBins; ++b)
        mean_[b] = 0.25 * old[b > 0 ? b - 1 : 0] + 0.5 * old[b] + 0.25 * old[std::min<std::size_t>(b + 1, kBins - 1)];
    }
    const double down_z = down.z();
    for (Vec3& n : mean_) {
      n.y() = down.y();
      n.normalize();
      // Steeper than a shank under 100 mm of heel: the back of a heel, a leg.
      if (n.z() * down_z < kSteepestShank) n = down;
    }
  }
  const Vec3& at(const Mesh& mesh, std::uint32_t triangle) const { return mean_[bin(mesh, triangle)]; }

 private:
  static constexpr std::size_t kBins = 32;
  std::size_t bin(const Mesh& mesh, std::uint32_t triangle) const {
    const double place = (mesh.vertices[mesh.triangles[triangle][0]].x() - low_) / step_;
    return static_cast<std::size_t>(std::clamp(place, 0.0, static_cast<double>(kBins) - 1.0));
  }
  double low_ = 0.0, step_ = 1.0;
  std::array<Vec3, kBins> mean_;
};

}  // namespace

LastBottomFaces find_bottom(const Mesh& mesh, const SurfaceFeatures& features, const Vec3& down) {
  const std::size_t count = mesh.triangles.size();
  std::vector<Vec3> normals(count);
  std::vector<double> area(count);
  std::vector<std::uint8_t> member(count);
  for (std::size_t i = 0; i < count; ++i) {
    const Triangle& t = mesh.triangles[i];
    const Vec3 twice = (mesh.vertices[t[1]] - mesh.vertices[t[0]]).cross(mesh.vertices[t[2]] - mesh.vertices[t[0]]);
    area[i] = 0.5 * twice.norm();
    normals[i] = area[i] > 0.0 ? Vec3(twice / (2.0 * area[i])) : down;
    member[i] = normals[i].dot(down) > kSeed;
  }
  std::vector<std::uint32_t> grown = largest_group(features, area, member);
  LastBottomFaces found;
  found.bottom.assign(count, 0);
  for (const std::uint32_t i : grown) found.bottom[i] = 1;
  // A high heel's shank is too steep for the direction of the tread: it is climbed a stretch at a time, by the
  // direction of what was climbed before.
  constexpr int kMostStretches = 12;
  for (std::size_t before = 0, stretch = 0; grown.size() > before && stretch < kMostStretches; ++stretch) {
    before = grown.size();
    const LocalDown local(mesh, grown, normals, area, down);
    for (std::size_t next = 0; next < grown.size(); ++next)
      for (const std::uint32_t other : features.across[grown[next]]) {
        if (!is_triangle(other) || found.bottom[other]) continue;
        if (normals[other].dot(local.at(mesh, other)) < kTooSteep || normals[other].dot(normals[grown[next]]) < kCrease)
          continue;
        found.bottom[other] = 1;
        grown.push_back(other);
      }
  }
  // Islands inside belong to it: what hangs together with it over an edge and is not the body.
  std::vector<std::uint8_t> rest(count), body(count, 0);
  for (std::size_t i = 0; i < count; ++i) rest[i] = !found.bottom[i];
  for (const std::uint32_t i : largest_group(features, area, rest)) body[i] = 1;
  for (std::size_t next = 0; next < grown.size(); ++next)
    for (const std::uint32_t other : features.across[grown[next]]) {
      if (!is_triangle(other) || found.bottom[other] || body[other]) continue;
      found.bottom[other] = 1;
      grown.push_back(other);
    }
  found.feather_loop = longest_border(mesh, features, found.bottom);
  std::reverse(found.feather_loop.begin(), found.feather_loop.end());  // seen from above now
  return found;
}

}  // namespace lastroom
