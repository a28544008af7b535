#include "geometry/pieces.h"

#include <algorithm>
#include <limits>
#include <map>

#include "geometry/sets.h"

namespace lastroom {
namespace {

constexpr auto kNone = std::numeric_limits<std::uint32_t>::max();

/// Pieces from the set that each triangle belongs to.
Pieces numbered(const Mesh& mesh, const std::vector<std::uint32_t>& set, std::size_t sets) {
  Pieces pieces;
  pieces.of_triangle.reserve(set.size());
  std::vector<std::uint32_t> name(sets, kNone);
  for (std::size_t i = 0; i < set.size(); ++i) {
    const Triangle& t = mesh.triangles[i];
    std::uint32_t& piece = name[set[i]];
    if (piece == kNone) {
      piece = static_cast<std::uint32_t>(pieces.area.size());
      pieces.area.push_back(0.0);
    }
    const Vec3& a = mesh.vertices[t[0]];
    pieces.area[piece] += (mesh.vertices[t[1]] - a).cross(mesh.vertices[t[2]] - a).norm() / 2.0;
    pieces.of_triangle.push_back(piece);
  }
  return pieces;
}

/// Whether the triangle across edge k (from corner k to the next) runs along it the same way: the two disagree then.
bool runs_the_same_way(const Mesh& mesh, std::uint32_t triangle, std::size_t k, std::uint32_t across) {
  const Triangle &t = mesh.triangles[triangle], &o = mesh.triangles[across];
  for (std::size_t j = 0; j < 3; ++j)
    if (o[j] == t[k] && o[(j + 1) % 3] == t[(k + 1) % 3]) return true;
  return false;
}

}  // namespace

Pieces pieces_of(const Mesh& mesh) {
  Sets sets(mesh.vertices.size());
  for (const Triangle& t : mesh.triangles) sets.join(t[0], t[1]), sets.join(t[1], t[2]);
  std::vector<std::uint32_t> set;
  set.reserve(mesh.triangles.size());
  for (const Triangle& t : mesh.triangles) set.push_back(sets.root(t[0]));
  return numbered(mesh, set, mesh.vertices.size());
}

Pieces pieces_over_edges(const Mesh& mesh, const SurfaceFeatures& features) {
  const auto count = static_cast<std::uint32_t>(mesh.triangles.size());
  Sets sets(count);
  for (std::uint32_t t = 0; t < count; ++t)
    for (const std::uint32_t other : features.across[t])
      if (other < count) sets.join(t, other);
  std::vector<std::uint32_t> set;
  set.reserve(count);
  for (std::uint32_t t = 0; t < count; ++t) set.push_back(sets.root(t));
  return numbered(mesh, set, count);
}

Mesh largest_piece(const Mesh& mesh, const Pieces& pieces) {
  const auto largest = std::ranges::max_element(pieces.area) - pieces.area.begin();
  std::vector<std::uint8_t> keep(mesh.triangles.size());
  for (std::size_t i = 0; i < keep.size(); ++i) keep[i] = pieces.of_triangle[i] == static_cast<std::uint32_t>(largest);
  return submesh(mesh, keep);
}

std::size_t make_winding_consistent(Mesh& mesh) {
  // At rims, and where more than two triangles meet, there is no neighbour.
  const std::vector<std::array<std::uint32_t, 3>> across = edge_features(mesh).across;
  const auto is_triangle = [&](std::uint32_t other) { return other < mesh.triangles.size(); };
  const auto disagrees = [&](std::uint32_t t) {
    for (std::size_t k = 0; k < 3; ++k)
      if (is_triangle(across[t][k]) && runs_the_same_way(mesh, t, k, across[t][k])) return true;
    return false;
  };
  std::uint32_t agreeing = 0;
  while (is_triangle(agreeing) && !disagrees(agreeing)) ++agreeing;
  if (!is_triangle(agreeing)) return 0;

  enum : std::uint8_t { unseen, kept, flipped };
  std::vector<std::uint8_t> state(mesh.triangles.size(), unseen);
  std::vector<std::uint32_t> patch;
  std::size_t turned = 0;
  for (std::uint32_t first = 0; first < mesh.triangles.size(); ++first) {
    if (state[first] != unseen) continue;
    state[first] = kept;
    patch.assign(1, first);
    std::size_t flips = 0;
    for (std::size_t next = 0; next < patch.size(); ++next) {
      const std::uint32_t t = patch[next];
      for (std::size_t k = 0; k < 3; ++k) {
        const std::uint32_t other = across[t][k];
        if (!is_triangle(other) || state[other] != unseen) continue;
        const bool flip = runs_the_same_way(mesh, t, k, other) != (state[t] == flipped);
        state[other] = flip ? flipped : kept;
        flips += flip ? 1 : 0;
        patch.push_back(other);
      }
    }
    const bool most_flipped = 2 * flips > patch.size();
    for (std::uint32_t t : patch)
      if ((state[t] == flipped) != most_flipped) std::swap(mesh.triangles[t][1], mesh.triangles[t][2]), ++turned;
  }
  return turned;
}

Mesh cut_above(const Mesh& mesh, double top) {
  Mesh result;
  std::vector<std::uint32_t> name(mesh.vertices.size(), kNone);
  const auto below = [&](std::uint32_t v) { return mesh.vertices[v].z() <= top; };
  for (std::uint32_t v = 0; v < mesh.vertices.size(); ++v)
    if (below(v)) {
      name[v] = static_cast<std::uint32_t>(result.vertices.size());
      result.vertices.push_back(mesh.vertices[v]);
    }
  std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> cuts;
  const auto cut = [&](std::uint32_t a, std::uint32_t b) {
    if (a > b) std::swap(a, b);
    const auto [place, fresh] = cuts.try_emplace({a, b}, result.vertices.size());
    if (fresh) {
      const Vec3 &pa = mesh.vertices[a], &pb = mesh.vertices[b];
      result.vertices.push_back(pa + (top - pa.z()) / (pb.z() - pa.z()) * (pb - pa));
      result.vertices.back().z() = top;
    }
    return place->second;
  };
  for (Triangle t : mesh.triangles) {
    const int inside = int{below(t[0])} + int{below(t[1])} + int{below(t[2])};
    if (inside == 0) continue;
    if (inside == 3) {
      result.triangles.push_back({name[t[0]], name[t[1]], name[t[2]]});
      continue;
    }
    while (below(t[0]) != (inside == 1)) std::rotate(t.begin(), t.begin() + 1, t.end());
    // Now the odd corner is first: alone below, or alone above.
    if (inside == 1) {
      const std::uint32_t ab = cut(t[0], t[1]), ac = cut(t[0], t[2]);
      result.triangles.push_back({name[t[0]], ab, ac});
    } else {
      const std::uint32_t b = name[t[1]], c = name[t[2]], ab = cut(t[0], t[1]), ac = cut(t[0], t[2]);
      result.triangles.push_back({ab, b, c});
      result.triangles.push_back({ab, c, ac});
    }
  }
  return result;
}

}  // namespace lastroom
