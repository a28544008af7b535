#include "preparation/foot_pieces.h"

#include <algorithm>
#include <limits>
#include <map>
#include <numeric>

namespace lastroom {
namespace {

constexpr auto kNone = std::numeric_limits<std::uint32_t>::max();

/// Union-find with path halving.
class Sets {
 public:
  explicit Sets(std::size_t count) : parent_(count) { std::iota(parent_.begin(), parent_.end(), 0u); }
  std::uint32_t root(std::uint32_t i) {
    while (parent_[i] != i) i = parent_[i] = parent_[parent_[i]];
    return i;
  }
  void join(std::uint32_t a, std::uint32_t b) {
    const std::uint32_t ra = root(a), rb = root(b);
    parent_[std::max(ra, rb)] = std::min(ra, rb);
  }

 private:
  std::vector<std::uint32_t> parent_;
};

/// Neighbour of each triangle over each edge (edge k runs from corner k to the next); kNone at rims and where more than
/// two triangles meet. Edges are bucketed by their lower vertex, so the work is linear.
struct Neighbours {
  std::vector<std::array<std::uint32_t, 3>> over;
  std::vector<std::array<bool, 3>> same_way;  ///< both run along the edge the same way: they disagree
};
Neighbours neighbours_of(const Mesh& mesh) {
  struct HalfEdge {
    std::uint32_t high, triangle;
    std::uint8_t edge;
    bool forward;
  };
  std::vector<std::uint32_t> begin(mesh.vertices.size() + 1, 0);
  const auto each_edge = [&](const auto& use) {
    for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t)
      for (std::uint8_t k = 0; k < 3; ++k) use(t, k, mesh.triangles[t][k], mesh.triangles[t][(k + 1u) % 3]);
  };
  each_edge([&](std::uint32_t, std::uint8_t, std::uint32_t a, std::uint32_t b) { ++begin[std::min(a, b) + 1]; });
  std::partial_sum(begin.begin(), begin.end(), begin.begin());
  std::vector<HalfEdge> edges(3 * mesh.triangles.size());
  std::vector<std::uint32_t> fill(begin.begin(), begin.end() - 1);
  each_edge([&](std::uint32_t t, std::uint8_t k, std::uint32_t a, std::uint32_t b) {
    edges[fill[std::min(a, b)]++] = {std::max(a, b), t, k, a < b};
  });
  Neighbours result{std::vector<std::array<std::uint32_t, 3>>(mesh.triangles.size(), {kNone, kNone, kNone}),
                    std::vector<std::array<bool, 3>>(mesh.triangles.size(), {false, false, false})};
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
    const auto first = edges.begin() + begin[v], last = edges.begin() + begin[v + 1];
    std::sort(first, last, [](const HalfEdge& a, const HalfEdge& b) {
      return std::pair(a.high, a.triangle) < std::pair(b.high, b.triangle);
    });
    for (auto run = first; run != last;) {
      const auto end = std::find_if(run, last, [&](const HalfEdge& e) { return e.high != run->high; });
      if (end - run == 2) {
        const HalfEdge &a = run[0], &b = run[1];
        result.over[a.triangle][a.edge] = b.triangle;
        result.over[b.triangle][b.edge] = a.triangle;
        result.same_way[a.triangle][a.edge] = result.same_way[b.triangle][b.edge] = a.forward == b.forward;
      }
      run = end;
    }
  }
  return result;
}

}  // namespace

Pieces pieces_of(const Mesh& mesh) {
  Sets sets(mesh.vertices.size());
  for (const Triangle& t : mesh.triangles) sets.join(t[0], t[1]), sets.join(t[1], t[2]);
  Pieces pieces;
  std::vector<std::uint32_t> name(mesh.vertices.size(), kNone);
  for (const Triangle& t : mesh.triangles) {
    std::uint32_t& piece = name[sets.root(t[0])];
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

std::size_t make_winding_consistent(Mesh& mesh) {
  const Neighbours neighbours = neighbours_of(mesh);
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
        const std::uint32_t other = neighbours.over[t][k];
        if (other == kNone || state[other] != unseen) continue;
        const bool flip = neighbours.same_way[t][k] != (state[t] == flipped);
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
