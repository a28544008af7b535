#include "preparation/last_closing.h"

#include <Eigen/Sparse>
#include <algorithm>
#include <map>

#include "geometry/iso_surface.h"
#include "geometry/nearest_point.h"
#include "geometry/open_rims.h"
#include "geometry/pieces.h"
#include "geometry/signed_distance.h"

namespace lastroom {
namespace {

constexpr double kSkinEdge_mm = 1.2;

/// The outermost sheet: those around hollows that the ball does not get into are smaller.
Mesh outer_sheet(const Mesh& sheets) {
  return sheets.triangles.empty() ? sheets : largest_piece(sheets, pieces_of(sheets));
}

Box wider(const Box& box, double by_mm) { return {box.low - Vec3::Constant(by_mm), box.high + Vec3::Constant(by_mm)}; }

/// Where the ball's centre goes when it touches the walls from outside; `distance_mm` is unsigned.
Mesh ball_centres(const Field& distance_mm, const Box& walls, double edge_mm, double radius_mm = kClosingRadius_mm) {
  return outer_sheet(iso_surface([&](const Vec3& p) { return distance_mm(p) - radius_mm; },
                                 wider(walls, radius_mm + 3.0 * edge_mm), edge_mm));
}

/// What the ball leaves. Surface nets of two offsets: where the mesh is smooth they stray by less than
/// edge^2 / (8 radius), 0.05 mm.
Mesh rolled_over(const Field& distance_mm, const Box& walls, double radius_mm = kClosingRadius_mm) {
  constexpr double kCentresEdge_mm = 2.0;
  const Mesh centres = ball_centres(distance_mm, walls, kCentresEdge_mm, radius_mm);
  if (centres.triangles.empty()) return {};
  const SignedDistance outer(centres);
  return outer_sheet(iso_surface([&](const Vec3& p) { return outer.at(p).distance_mm + radius_mm; },
                                 wider(walls, 3.0 * kSkinEdge_mm), kSkinEdge_mm));
}

using Neighbours = std::vector<std::vector<std::uint32_t>>;

Neighbours neighbours_of(const Mesh& mesh) {
  Neighbours neighbours(mesh.vertices.size());
  for (const Triangle& t : mesh.triangles)
    for (std::size_t c = 0; c < 3; ++c) neighbours[t[c]].push_back(t[(c + 1) % 3]);
  return neighbours;
}

/// Around a patch that is not held the ball has begun to sag already. Crumbs at sharp edges are no such patch.
void let_go_around_patches(const Neighbours& neighbours, std::vector<std::uint8_t>& held) {
  constexpr std::size_t kPatch = 30;  // vertices; 40 mm2
  constexpr int kRings = 2;
  std::vector<std::uint8_t> seen = held;
  std::vector<std::uint32_t> patch, ring, next;
  for (std::uint32_t first = 0; first < held.size(); ++first) {
    if (seen[first]) continue;
    patch.assign(1, first), seen[first] = 1;
    for (std::size_t i = 0; i < patch.size(); ++i)
      for (const std::uint32_t n : neighbours[patch[i]])
        if (!seen[n]) seen[n] = 1, patch.push_back(n);
    if (patch.size() < kPatch) continue;
    ring = patch;
    for (int r = 0; r < kRings; ++r, ring.swap(next)) {
      next.clear();
      for (const std::uint32_t v : ring)
        for (const std::uint32_t n : neighbours[v])
          if (held[n]) held[n] = 0, seen[n] = 1, next.push_back(n);
    }
  }
}

/// A ball sags into what it closes. Vertices that are not `held` go where the skin bends least, as a thin plate that
/// leaves the held ones in their own direction: the least sum of squares of the umbrella operator (Kobbelt, Campagna,
/// Vorsatz and Seidel 1998, "Interactive multi-resolution modeling on arbitrary meshes", SIGGRAPH).
void bend_least(Mesh& skin, std::vector<std::uint8_t> held) {
  const Neighbours neighbours = neighbours_of(skin);
  let_go_around_patches(neighbours, held);
  constexpr int kHeld = -1;
  std::vector<int> column(held.size(), kHeld);
  int free = 0;
  for (std::size_t v = 0; v < held.size(); ++v)
    if (!held[v] && !neighbours[v].empty()) column[v] = free++;
  if (free == 0) return;
  std::vector<Eigen::Triplet<double>> umbrella;
  std::vector<Vec3> right;
  for (std::size_t v = 0; v < held.size(); ++v) {
    const bool matters =
        column[v] != kHeld || std::ranges::any_of(neighbours[v], [&](auto n) { return column[n] != kHeld; });
    if (!matters || neighbours[v].empty()) continue;
    const int row = static_cast<int>(right.size());
    right.emplace_back(Vec3::Zero());
    const auto add = [&](std::size_t at, double weight) {
      if (column[at] != kHeld)
        umbrella.emplace_back(row, column[at], weight);
      else
        right.back() -= weight * skin.vertices[at];
    };
    add(v, -1.0);
    for (const std::uint32_t n : neighbours[v]) add(n, 1.0 / static_cast<double>(neighbours[v].size()));
  }
  Eigen::SparseMatrix<double> matrix(static_cast<Eigen::Index>(right.size()), free);
  matrix.setFromTriplets(umbrella.begin(), umbrella.end());
  Eigen::MatrixX3d values(static_cast<Eigen::Index>(right.size()), 3);
  for (std::size_t i = 0; i < right.size(); ++i) values.row(static_cast<Eigen::Index>(i)) = right[i].transpose();
  const Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> solver(matrix.transpose() * matrix);
  const Eigen::MatrixX3d places = solver.solve(matrix.transpose() * values);
  if (solver.info() != Eigen::Success) return;
  for (std::size_t v = 0; v < held.size(); ++v)
    if (column[v] != kHeld) skin.vertices[v] = places.row(column[v]).transpose();
}

/// The mesh with every rim closed by a fan to the middle of what hangs together of it; the fans come last.
Mesh with_fans(Mesh mesh) {
  const OpenRims open = open_rims(mesh);
  const auto first_middle = static_cast<std::uint32_t>(mesh.vertices.size());
  mesh.vertices.insert(mesh.vertices.end(), open.middles.begin(), open.middles.end());
  for (const OpenRims::Edge& edge : open.edges)
    mesh.triangles.push_back({edge.from, edge.to, first_middle + static_cast<std::uint32_t>(edge.rim)});
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

constexpr double kMostVoxels = 2e7;

/// The middles and areas of the pieces, about `edge_mm` across, that each triangle falls into: rows along its longest
/// edge, so that a needle has few.
template <class Visit>
void for_each_piece(const Mesh& mesh, double edge_mm, const Visit& visit) {
  for (const Triangle& t : mesh.triangles) {
    std::size_t k = 0;
    for (std::size_t other : {1, 2})
      if ((mesh.vertices[t[(other + 1) % 3]] - mesh.vertices[t[other]]).norm() >
          (mesh.vertices[t[(k + 1) % 3]] - mesh.vertices[t[k]]).norm())
        k = other;
    const Vec3& a = mesh.vertices[t[k]];
    const Vec3 along = mesh.vertices[t[(k + 1) % 3]] - a, to_apex = mesh.vertices[t[(k + 2) % 3]] - a;
    const double twice_mm2 = along.cross(to_apex).norm();
    if (!(twice_mm2 > 0.0)) continue;
    const double rows = std::ceil(twice_mm2 / along.norm() / edge_mm);
    for (double row = 0.0; row < rows; ++row) {
      const double up = (row + 0.5) / rows, pieces = std::ceil((1.0 - up) * along.norm() / edge_mm);
      for (double i = 0.0; i < pieces; ++i)
        visit(a + up * to_apex + (1.0 - up) * (i + 0.5) / pieces * along, twice_mm2 * (1.0 - up) / rows / pieces);
    }
  }
}

/// Squared distances, in edges, from the voxels that are zero.
class VoxelGrid {
 public:
  VoxelGrid(const Box& box, double edge_mm) : low_(box.low), edge_mm_(edge_mm) {
    for (int axis = 0; axis < 3; ++axis) count_[axis] = static_cast<int>(box.size()[axis] / edge_mm) + 1;
    value_.assign(static_cast<std::size_t>(count_.prod()), kFar);
  }
  float& at(const Vec3& p) {
    const Eigen::Vector3i cell = ((p - low_) / edge_mm_).array().floor().cast<int>();
    return value_[index(cell.x(), cell.y(), cell.z())];
  }
  /// Exact (Felzenszwalb and Huttenlocher 2012, "Distance transforms of sampled functions", Theory of Computing 8).
  void make_squared_distances() {
    const std::array<std::size_t, 3> step = {1, index(0, 1, 0), index(0, 0, 1)};
    for (std::size_t axis = 0; axis < 3; ++axis) {
      const std::size_t u = (axis + 1) % 3, v = (axis + 2) % 3;
      for (int i = 0; i < count_[static_cast<int>(u)]; ++i)
        for (int j = 0; j < count_[static_cast<int>(v)]; ++j)
          along_line(static_cast<std::size_t>(i) * step[u] + static_cast<std::size_t>(j) * step[v], step[axis],
                     count_[static_cast<int>(axis)]);
    }
  }
  /// Zero where a ball's centre gets that comes from the grid's first corner and keeps `radius_mm` from the zeros of
  /// this one.
  VoxelGrid reached_from_corner(double radius_mm) const {
    VoxelGrid reached = *this;
    std::ranges::fill(reached.value_, kFar);
    const auto clear_sq = static_cast<float>(std::pow(radius_mm / edge_mm_, 2.0));
    std::vector<Eigen::Vector3i> front = {Eigen::Vector3i::Zero()};
    reached.value_[0] = 0.0F;
    while (!front.empty()) {
      const Eigen::Vector3i here = front.back();
      front.pop_back();
      for (int axis = 0; axis < 3; ++axis)
        for (const int step : {-1, 1}) {
          Eigen::Vector3i next = here;
          next[axis] += step;
          if (next[axis] < 0 || next[axis] >= count_[axis]) continue;
          const std::size_t n = index(next.x(), next.y(), next.z());
          if (reached.value_[n] == 0.0F || value_[n] < clear_sq) continue;
          reached.value_[n] = 0.0F;
          front.push_back(next);
        }
    }
    return reached;
  }

 private:
  static constexpr float kFar = 1e9F;
  std::size_t index(int i, int j, int k) const {
    return (static_cast<std::size_t>(k) * static_cast<std::size_t>(count_.y()) + static_cast<std::size_t>(j)) *
               static_cast<std::size_t>(count_.x()) +
           static_cast<std::size_t>(i);
  }
  /// The lower envelope of the parabolas over one line of voxels.
  void along_line(std::size_t first, std::size_t step, int count) {
    const auto value = [&](int i) -> float& { return value_[first + static_cast<std::size_t>(i) * step]; };
    root_.clear(), border_.clear(), given_.clear();
    for (int i = 0; i < count; ++i) {
      given_.push_back(value(i));
      float from = -kFar;
      while (!root_.empty()) {
        const int r = root_.back();
        from = (given_.back() - given_[static_cast<std::size_t>(r)] + static_cast<float>(i * i - r * r)) /
               static_cast<float>(2 * (i - r));
        if (from > border_.back()) break;
        root_.pop_back(), border_.pop_back();
      }
      root_.push_back(i), border_.push_back(root_.size() > 1 ? from : -kFar);
    }
    for (int i = 0, k = 0; i < count; ++i) {
      while (static_cast<std::size_t>(k) + 1 < root_.size() &&
             border_[static_cast<std::size_t>(k) + 1] < static_cast<float>(i))
        ++k;
      const int r = root_[static_cast<std::size_t>(k)];
      value(i) = given_[static_cast<std::size_t>(r)] + static_cast<float>((i - r) * (i - r));
    }
  }

  Vec3 low_;
  double edge_mm_;
  Eigen::Vector3i count_ = Eigen::Vector3i::Zero();
  std::vector<float> value_;
  std::vector<int> root_;  // scratch of along_line
  std::vector<float> border_, given_;
};

/// Nearly all points are on it: the ball did not get inside through a hole and close over the rest.
bool lies_on(const Mesh& skin, const std::vector<Vec3>& points) {
  constexpr double kOff_mm = 4.0, kMost_ratio = 0.35;  // the walls of slots and cuts lie off it; our choice
  if (skin.triangles.empty()) return false;
  const auto off = std::ranges::count_if(SignedDistance(skin).at(points),
                                         [&](const SurfacePoint& p) { return std::abs(p.distance_mm) > kOff_mm; });
  return static_cast<double>(off) < kMost_ratio * static_cast<double>(points.size());
}

}  // namespace

double hidden_wall_area_mm2(const Mesh& mesh) {
  // On a coarse grid the ball is half an edge larger; a square corner's fillet is then 4 mm deep, the grid's error 4.
  constexpr double kEdge_mm = 4.0, kDeep_mm = 8.0, kRadius_mm = kClosingRadius_mm + 0.5 * kEdge_mm;
  const Box box = wider(bounds(mesh), kRadius_mm + 2.0 * kEdge_mm);
  if (box.size().prod() > kMostVoxels * std::pow(kEdge_mm, 3.0)) return 0.0;
  VoxelGrid from_walls(box, kEdge_mm);
  for_each_piece(mesh, kEdge_mm, [&](const Vec3& p, double) { from_walls.at(p) = 0.0F; });
  from_walls.make_squared_distances();
  VoxelGrid from_ball = from_walls.reached_from_corner(kRadius_mm);
  from_ball.make_squared_distances();
  const double far = std::pow((kRadius_mm + kDeep_mm) / kEdge_mm, 2.0);
  double hidden_mm2 = 0.0;
  for_each_piece(mesh, kEdge_mm, [&](const Vec3& p, double area_mm2) {
    if (from_ball.at(p) > far) hidden_mm2 += area_mm2;
  });
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
  bend_least(skin, held);
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : skin.triangles) keep.push_back(!(over_fan[t[0]] && over_fan[t[1]] && over_fan[t[2]]));
  return submesh(skin, keep);
}

Mesh closed_over_points(const std::vector<Vec3>& points_mm) {
  constexpr double kSpacing_mm = 1.0, kHeld_mm = 1.5, kLidRadius_mm = 36.0;  // a cone cut low is 60 mm wide
  const std::vector<Vec3> points = thinned(points_mm, kSpacing_mm);
  const NearestPoint scanned(points);
  Box walls;
  for (const Vec3& p : points) walls.low = walls.low.cwiseMin(p), walls.high = walls.high.cwiseMax(p);
  const auto from_scanned = [&](const Vec3& p) { return scanned(p).second; };
  Mesh skin = rolled_over(from_scanned, walls);
  std::vector<Vec3> lid;
  if (!has_body(skin)) {  // its top was not scanned: what a larger ball leaves there is a lid while it is closed over
    for (const Vec3& v : rolled_over(from_scanned, walls, kLidRadius_mm).vertices)
      if (from_scanned(v) > kClosingRadius_mm) lid.push_back(v);
    if (lid.empty()) return {};
    const NearestPoint over(lid);
    skin = rolled_over([&](const Vec3& p) { return std::min(from_scanned(p), over(p).second); }, walls);
  }
  std::vector<std::uint8_t> held(skin.vertices.size());
  for (std::size_t v = 0; v < held.size(); ++v) held[v] = from_scanned(skin.vertices[v]) < kHeld_mm;
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : skin.triangles)
    keep.push_back(lid.empty() || std::ranges::any_of(t, [&](std::uint32_t v) {
                     return from_scanned(skin.vertices[v]) < kClosingRadius_mm;
                   }));
  bend_least(skin, held);
  skin = submesh(skin, keep);
  return lies_on(skin, points) ? skin : Mesh{};
}

bool has_body(const Mesh& mesh) {
  constexpr double kFlat = 0.02;  // volume by area^1.5; a ball has 0.094, lasts 0.053 to 0.056. Our choice.
  return std::abs(volume_mm3(mesh)) > kFlat * std::pow(area_mm2(mesh), 1.5);
}

}  // namespace lastroom
