#include "geometry/flat_sheet.h"

#include <Eigen/Sparse>
#include <algorithm>
#include <cmath>

namespace lastroom {
namespace {

constexpr int kMostRounds = 200;
constexpr double kStill_mm = 1e-3;        // moved by less in a round: done
constexpr double kLeastCotangent = 0.02;  // a blunter corner would push its far side outwards

/// A triangle in its own plane: its corners, and the cotangent of the angle that looks at the side from k to k + 1.
struct FlatTriangle {
  std::array<std::size_t, 3> corner;
  std::array<Vec2, 3> at;
  std::array<double, 3> cotangent;
};

FlatTriangle in_its_plane(const std::vector<Vec3>& at, const std::array<std::size_t, 3>& corner) {
  const Vec3 along = at[corner[1]] - at[corner[0]], other = at[corner[2]] - at[corner[0]];
  const double length = std::max(along.norm(), 1e-9);
  const double x = other.dot(along) / length, y = along.cross(other).norm() / length;
  FlatTriangle t{corner, {Vec2(0.0, 0.0), Vec2(length, 0.0), Vec2(x, y)}, {}};
  for (std::size_t k = 0; k < 3; ++k) {
    const Vec2 a = t.at[k] - t.at[(k + 2) % 3], b = t.at[(k + 1) % 3] - t.at[(k + 2) % 3];
    const double sine = std::max(std::abs(a.x() * b.y() - a.y() * b.x()), 1e-9);
    t.cotangent[k] = std::clamp(a.dot(b) / sine, kLeastCotangent, 1.0 / kLeastCotangent);
  }
  return t;
}

/// Two to a cell, parted by its shorter diagonal; counter-clockwise with columns along x and rows along y.
std::vector<FlatTriangle> triangles_of(const SurfaceGrid& grid) {
  std::vector<FlatTriangle> triangles;
  for (std::size_t c = 0; c + 1 < grid.columns; ++c)
    for (std::size_t r = 0; r + 1 < grid.rows; ++r) {
      const std::size_t a = c * grid.rows + r, b = a + grid.rows, d = a + 1, e = b + 1;
      const bool up = (grid.at[a] - grid.at[e]).norm() <= (grid.at[b] - grid.at[d]).norm();
      triangles.push_back(in_its_plane(grid.at, {a, b, up ? e : d}));
      triangles.push_back(in_its_plane(grid.at, {up ? a : b, e, d}));
    }
  return triangles;
}

/// The turn that brings a triangle nearest to where its corners are on paper.
Eigen::Rotation2Dd turn_of(const FlatTriangle& t, const std::vector<Vec2>& paper) {
  double cosine = 0.0, sine = 0.0;
  for (std::size_t k = 0; k < 3; ++k) {
    const Vec2 own = t.at[(k + 1) % 3] - t.at[k], there = paper[t.corner[(k + 1) % 3]] - paper[t.corner[k]];
    cosine += t.cotangent[k] * own.dot(there);
    sine += t.cotangent[k] * (own.x() * there.y() - own.y() * there.x());
  }
  return Eigen::Rotation2Dd(std::atan2(sine, cosine));
}

/// Each column upright, as long as it is; columns as far apart as their first places are.
std::vector<Vec2> upright(const SurfaceGrid& grid) {
  std::vector<Vec2> paper;
  double along = 0.0;
  for (std::size_t c = 0; c < grid.columns; ++c) {
    if (c > 0) along += std::max((grid(c, 0) - grid(c - 1, 0)).norm(), 1e-3);
    double up = 0.0;
    for (std::size_t r = 0; r < grid.rows; ++r) {
      if (r > 0) up += (grid(c, r) - grid(c, r - 1)).norm();
      paper.emplace_back(along, up);
    }
  }
  return paper;
}

std::array<double, 2> stretch_of(const FlatTriangle& t, const std::vector<Vec2>& paper) {
  Eigen::Matrix2d own, there;
  own << t.at[1] - t.at[0], t.at[2] - t.at[0];
  there << paper[t.corner[1]] - paper[t.corner[0]], paper[t.corner[2]] - paper[t.corner[0]];
  if (std::abs(own.determinant()) < 1e-9) return {1.0, 1.0};
  const Eigen::Matrix2d map = there * own.inverse();
  const double sum = map.squaredNorm(), product = map.determinant();
  const double both = std::sqrt(std::max(0.0, sum + 2.0 * std::abs(product))),
               apart = std::sqrt(std::max(0.0, sum - 2.0 * std::abs(product)));
  return {0.5 * (both - apart), 0.5 * (both + apart)};
}

}  // namespace

FlatSheet laid_flat(const SurfaceGrid& grid) {
  const std::vector<FlatTriangle> triangles = triangles_of(grid);
  const auto count = static_cast<Eigen::Index>(grid.at.size());
  std::vector<Eigen::Triplet<double>> entries = {{0, 0, 1.0}};  // holds the sheet where it is
  for (const FlatTriangle& t : triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const int a = static_cast<int>(t.corner[k]), b = static_cast<int>(t.corner[(k + 1) % 3]);
      const double weight = t.cotangent[k];
      entries.insert(entries.end(), {{a, a, weight}, {b, b, weight}, {a, b, -weight}, {b, a, -weight}});
    }
  Eigen::SparseMatrix<double> matrix(count, count);
  matrix.setFromTriplets(entries.begin(), entries.end());
  const Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> solver(matrix);
  FlatSheet sheet{upright(grid), {}};
  const Vec2 held = sheet.at.front();
  for (int round = 0; round < kMostRounds; ++round) {
    Eigen::MatrixX2d right = Eigen::MatrixX2d::Zero(count, 2);
    right.row(0) = held.transpose();
    for (const FlatTriangle& t : triangles) {
      const Eigen::Rotation2Dd turn = turn_of(t, sheet.at);
      for (std::size_t k = 0; k < 3; ++k) {
        const Vec2 side = t.cotangent[k] * (turn * Vec2(t.at[(k + 1) % 3] - t.at[k]));
        right.row(static_cast<Eigen::Index>(t.corner[(k + 1) % 3])) += side.transpose();
        right.row(static_cast<Eigen::Index>(t.corner[k])) -= side.transpose();
      }
    }
    const Eigen::MatrixX2d solved = solver.solve(right);
    double moved = 0.0;
    for (std::size_t i = 0; i < sheet.at.size(); ++i) {
      const Vec2 to = solved.row(static_cast<Eigen::Index>(i)).transpose();
      moved = std::max(moved, (to - sheet.at[i]).norm());
      sheet.at[i] = to;
    }
    if (moved < kStill_mm) break;
  }
  for (const FlatTriangle& t : triangles) sheet.stretch.push_back(stretch_of(t, sheet.at));
  return sheet;
}

}  // namespace lastroom
