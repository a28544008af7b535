#include "report/raster.h"

#include <algorithm>
#include <cmath>

namespace lastroom {
namespace {

constexpr float kUnknown = std::numeric_limits<float>::quiet_NaN();
constexpr float kBelow = -1e6F;
constexpr int kOverdraw = 3;  // pixels
constexpr int kSoften = 3;  // rounds over 3 x 3 pixels: about 1 mm, far below what is judged; steps of pixels are gone

struct Corner {
  double x, y, depth;  ///< pixels, pixels, mm
};

// std::floor and std::ceil are calls into the library on a plain x86-64, six for every triangle.
int rounded_down(double x) { return static_cast<int>(x) - (static_cast<int>(x) > x ? 1 : 0); }
int rounded_up(double x) { return static_cast<int>(x) + (static_cast<int>(x) < x ? 1 : 0); }

/// Fills the pixels whose centre lies in the triangle and nearer to the eye than what is there.
void draw(Raster& raster, std::uint32_t id, const std::array<Corner, 3>& c) {
  const double twice_area = (c[1].x - c[0].x) * (c[2].y - c[0].y) - (c[2].x - c[0].x) * (c[1].y - c[0].y);
  if (!(std::abs(twice_area) > 1e-12)) return;  // seen edge-on; also drops what is not finite
  const auto [low_x, high_x] = std::minmax({c[0].x, c[1].x, c[2].x});
  const auto [low_y, high_y] = std::minmax({c[0].y, c[1].y, c[2].y});
  const int first_column = std::max(0, rounded_up(low_x));
  const int last_column = std::min(raster.columns - 1, rounded_down(high_x));
  const int first_row = std::max(0, rounded_up(low_y));
  const int last_row = std::min(raster.rows - 1, rounded_down(high_y));
  // Shares a and b of the first two corners, linear along a row.
  const double a_step = (c[1].y - c[2].y) / twice_area, b_step = (c[2].y - c[0].y) / twice_area;
  for (int row = first_row; row <= last_row; ++row) {
    const double a_row =
        ((c[1].x - first_column) * (c[2].y - row) - (c[2].x - first_column) * (c[1].y - row)) / twice_area;
    const double b_row =
        ((c[2].x - first_column) * (c[0].y - row) - (c[0].x - first_column) * (c[2].y - row)) / twice_area;
    for (int column = first_column; column <= last_column; ++column) {
      const double a = a_row + a_step * (column - first_column), b = b_row + b_step * (column - first_column);
      if (a < 0.0 || b < 0.0 || a + b > 1.0) continue;
      const auto depth = static_cast<float>(a * c[0].depth + b * c[1].depth + (1.0 - a - b) * c[2].depth);
      const std::size_t pixel = static_cast<std::size_t>(row) * raster.columns + column;
      if (depth <= raster.depth_mm[pixel]) continue;
      raster.depth_mm[pixel] = depth;
      raster.triangle[pixel] = id;
      raster.share[pixel] = {static_cast<float>(a), static_cast<float>(b)};
      raster.from_behind[pixel] = twice_area < 0.0;
    }
  }
}

Grid grid_like(const Raster& raster, float value) {
  return {raster.columns, raster.rows, raster.step_mm, raster.low, std::vector<float>(raster.size(), value)};
}

/// Mean over the 3 x 3 neighbours that are known; unknown stays unknown unless `into_unknown`. Over three in a row
/// first, then over three rows, in loops without a branch, which the compiler makes wide.
Grid mean_of_neighbours(const Grid& grid, bool into_unknown) {
  const auto columns = static_cast<std::size_t>(grid.columns), rows = static_cast<std::size_t>(grid.rows);
  std::vector<float> value(columns + 2, 0.0F), known(columns + 2, 0.0F);                  // with a border
  std::vector<float> sum((rows + 2) * columns, 0.0F), count((rows + 2) * columns, 0.0F);  // of three in a row
  for (std::size_t row = 0; row < rows; ++row) {
    const float* const from = &grid.value[row * columns];
    for (std::size_t c = 0; c < columns; ++c) {
      value[c + 1] = std::isnan(from[c]) ? 0.0F : from[c];
      known[c + 1] = std::isnan(from[c]) ? 0.0F : 1.0F;
    }
    float *const sums = &sum[(row + 1) * columns], *const counts = &count[(row + 1) * columns];
    for (std::size_t c = 0; c < columns; ++c) {
      sums[c] = value[c] + value[c + 1] + value[c + 2];
      counts[c] = known[c] + known[c + 1] + known[c + 2];
    }
  }
  Grid mean = grid;
  for (std::size_t i = 0; i < mean.value.size(); ++i) {
    const float sums = sum[i] + sum[i + columns] + sum[i + 2 * columns];
    const float counts = count[i] + count[i + columns] + count[i + 2 * columns];
    const bool wanted = std::isnan(grid.value[i]) == into_unknown && counts > 0.0F;
    mean.value[i] = wanted ? sums / std::max(counts, 1.0F) : grid.value[i];
  }
  return mean;
}

Grid softened(Grid grid) {
  for (int round = 0; round < kSoften; ++round) grid = mean_of_neighbours(grid, false);
  return grid;
}

bool is_wanted(const Raster& raster, std::size_t pixel, const std::vector<std::uint8_t>& wanted_triangles) {
  const std::uint32_t t = raster.triangle[pixel];
  return t != kNothing && !raster.from_behind[pixel] && (wanted_triangles.empty() || wanted_triangles[t]);
}

}  // namespace

std::size_t Raster::pixel(const Vec2& place) const {
  const Vec2 p = (place - low) / step_mm;
  const int column = std::clamp(static_cast<int>(std::lround(p.x())), 0, columns - 1);
  const int row = std::clamp(static_cast<int>(std::lround(p.y())), 0, rows - 1);
  return static_cast<std::size_t>(row) * columns + column;
}

Raster look_at(const MeshView& mesh, const View& view, double step_mm) {
  Vec2 low = Vec2::Constant(std::numeric_limits<double>::infinity()), high = -low;
  for (const Vec3& v : mesh.vertices) {
    if (!v.allFinite()) continue;
    low = low.cwiseMin(view(v));
    high = high.cwiseMax(view(v));
  }
  Raster raster;
  if (!(low.x() <= high.x())) return raster;
  // Keep the picture within 2000 pixels a side, however large the mesh claims to be.
  raster.step_mm = std::max(step_mm, (high - low).maxCoeff() / 2000.0);
  const double border_mm = (kOverdraw + 1) * raster.step_mm;
  raster.low = low - Vec2::Constant(border_mm);
  raster.columns = static_cast<int>(std::ceil((high.x() - low.x() + 2.0 * border_mm) / raster.step_mm)) + 1;
  raster.rows = static_cast<int>(std::ceil((high.y() - low.y() + 2.0 * border_mm) / raster.step_mm)) + 1;
  const std::size_t pixels = static_cast<std::size_t>(raster.columns) * static_cast<std::size_t>(raster.rows);
  raster.triangle.assign(pixels, kNothing);
  raster.share.assign(pixels, {});
  raster.from_behind.assign(pixels, 0);
  raster.depth_mm.assign(pixels, -std::numeric_limits<float>::infinity());
  std::vector<Corner> corner;
  corner.reserve(mesh.vertices.size());
  for (const Vec3& v : mesh.vertices) {
    const Vec2 p = (view(v) - raster.low) / raster.step_mm;
    corner.push_back({p.x(), p.y(), v.dot(view.to_eye)});
  }
  for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t) {
    const Triangle& of = mesh.triangles[t];
    draw(raster, t, {corner[of[0]], corner[of[1]], corner[of[2]]});
  }
  return raster;
}

Grid outline_grid(const Raster& raster, const std::vector<std::uint8_t>& wanted_triangles) {
  Grid grid = grid_like(raster, 0.0F);
  for (std::size_t pixel = 0; pixel < raster.size(); ++pixel) {
    if (is_wanted(raster, pixel, wanted_triangles)) grid.value[pixel] = 1.0F;
  }
  return softened(std::move(grid));
}

Grid outline_grid(const Raster& raster) {
  Grid grid = grid_like(raster, 0.0F);
  for (std::size_t pixel = 0; pixel < raster.size(); ++pixel) {
    if (raster.triangle[pixel] != kNothing) grid.value[pixel] = 1.0F;
  }
  return softened(std::move(grid));
}

Grid value_grid(const MeshView& mesh, const Raster& raster, const std::vector<double>& vertex_value,
                const std::vector<std::uint8_t>& wanted_triangles) {
  Grid grid = grid_like(raster, kUnknown);
  for (std::size_t pixel = 0; pixel < raster.size(); ++pixel) {
    if (!is_wanted(raster, pixel, wanted_triangles)) continue;
    const Triangle& corner = mesh.triangles[raster.triangle[pixel]];
    const double a = raster.share[pixel][0], b = raster.share[pixel][1];
    const double value =
        a * vertex_value[corner[0]] + b * vertex_value[corner[1]] + (1.0 - a - b) * vertex_value[corner[2]];
    if (std::isfinite(value)) grid.value[pixel] = static_cast<float>(value);
  }
  grid = softened(std::move(grid));
  for (int i = 0; i < kOverdraw; ++i) grid = mean_of_neighbours(grid, true);
  for (float& value : grid.value) {
    if (std::isnan(value)) value = kBelow;
  }
  return grid;
}

}  // namespace lastroom
