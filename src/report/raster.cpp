#include "report/raster.h"

#include <algorithm>
#include <cmath>

namespace lastroom {
namespace {

constexpr float kUnknown = std::numeric_limits<float>::quiet_NaN();
constexpr float kBelow = -1e6F;
constexpr int kOverdraw = 2;  // pixels
constexpr int kSoften = 3;  // rounds over 3 x 3 pixels: about 1 mm, far below what is judged; steps of pixels are gone

struct Corner {
  double x, y, depth;  ///< pixels, pixels, mm
};

// std::floor and std::ceil are calls into the library on a plain x86-64, six for every triangle.
int rounded_down(double x) { return static_cast<int>(x) - (static_cast<int>(x) > x ? 1 : 0); }
int rounded_up(double x) { return static_cast<int>(x) + (static_cast<int>(x) < x ? 1 : 0); }

/// Fills the pixels whose centre lies in the triangle and nearer to the eye than what is there.
void draw(Raster& raster, std::uint32_t id, const Corner& p, const Corner& q, const Corner& r) {
  const double twice_area = (q.x - p.x) * (r.y - p.y) - (r.x - p.x) * (q.y - p.y);
  if (!(std::abs(twice_area) > 1e-12)) return;  // seen edge-on; also drops what is not finite
  const int first_column = std::max(0, rounded_up(std::min(std::min(p.x, q.x), r.x)));
  const int last_column = std::min(raster.columns - 1, rounded_down(std::max(std::max(p.x, q.x), r.x)));
  const int first_row = std::max(0, rounded_up(std::min(std::min(p.y, q.y), r.y)));
  const int last_row = std::min(raster.rows - 1, rounded_down(std::max(std::max(p.y, q.y), r.y)));
  if (first_column > last_column || first_row > last_row) return;  // between the pixels' centres
  // Nothing of it is nearer than its nearest corner, but for what is rounded on the way to a float.
  constexpr double kRounded_ratio = 1e-6;
  const auto nearest_mm =
      static_cast<float>(std::max(std::max(p.depth, q.depth), r.depth) +
                         kRounded_ratio * (std::abs(p.depth) + std::abs(q.depth) + std::abs(r.depth)));
  // Shares a and b of the first two corners, linear along a row.
  const double a_step = (q.y - r.y) / twice_area, b_step = (r.y - p.y) / twice_area;
  for (int row = first_row; row <= last_row; ++row) {
    const std::size_t row_begin = static_cast<std::size_t>(row) * raster.columns;
    int column = first_column;
    while (column <= last_column && nearest_mm <= raster.depth_mm[row_begin + column]) ++column;
    if (column > last_column) continue;
    const double a_row = ((q.x - first_column) * (r.y - row) - (r.x - first_column) * (q.y - row)) / twice_area;
    const double b_row = ((r.x - first_column) * (p.y - row) - (p.x - first_column) * (r.y - row)) / twice_area;
    for (; column <= last_column; ++column) {
      const std::size_t pixel = row_begin + column;
      const double a = a_row + a_step * (column - first_column), b = b_row + b_step * (column - first_column);
      if ((a < 0.0) | (b < 0.0) | (a + b > 1.0)) continue;
      const auto depth = static_cast<float>(a * p.depth + b * q.depth + (1.0 - a - b) * r.depth);
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

/// Sums over three pixels in a row, and how many of them are known.
struct RowSums {
  std::vector<float> value, known;
};

/// Mean over the 3 x 3 neighbours that are known; unknown stays unknown unless `into_unknown`. Three rows of sums at a
/// time, in loops without a branch, which the compiler makes wide.
Grid mean_of_neighbours(const Grid& grid, bool into_unknown) {
  const auto columns = static_cast<std::size_t>(grid.columns), rows = static_cast<std::size_t>(grid.rows);
  std::vector<float> value(columns + 2, 0.0F), known(columns + 2, 0.0F);  // with a border
  const std::vector<float> nothing(columns, 0.0F);
  std::vector<float> of_known(columns);
  std::array<RowSums, 3> sums = {RowSums{nothing, nothing}, {nothing, nothing}, {nothing, nothing}};
  const auto sum_up = [&](std::size_t row, RowSums& into) {
    const float* const from = &grid.value[row * columns];
    for (std::size_t c = 0; c < columns; ++c) {
      value[c + 1] = std::isnan(from[c]) ? 0.0F : from[c];
      known[c + 1] = std::isnan(from[c]) ? 0.0F : 1.0F;
    }
    for (std::size_t c = 0; c < columns; ++c) into.value[c] = value[c] + value[c + 1] + value[c + 2];
    for (std::size_t c = 0; c < columns; ++c) into.known[c] = known[c] + known[c + 1] + known[c + 2];
  };
  Grid mean{grid.columns, grid.rows, grid.step_mm, grid.low, std::vector<float>(grid.value.size())};
  if (rows > 0) sum_up(0, sums[1]);
  for (std::size_t row = 0; row < rows; ++row) {
    RowSums &below = sums[row % 3], &here = sums[(row + 1) % 3], &above = sums[(row + 2) % 3];
    if (row + 1 < rows)
      sum_up(row + 1, above);
    else
      above = {nothing, nothing};
    const float* const from = &grid.value[row * columns];
    float* const to = &mean.value[row * columns];
    for (std::size_t c = 0; c < columns; ++c)  // of nothing known: unknown
      of_known[c] =
          (below.value[c] + here.value[c] + above.value[c]) / (below.known[c] + here.known[c] + above.known[c]);
    for (std::size_t c = 0; c < columns; ++c) {
      const float known_mean = of_known[c], before = from[c];
      to[c] = std::isnan(before) == into_unknown ? known_mean : before;
    }
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
  const Vec3 right = view.right();
  std::vector<Corner> corner;
  corner.reserve(mesh.vertices.size());
  for (const Vec3& v : mesh.vertices) {
    const Vec2 p(v.dot(right), v.dot(view.up));
    corner.push_back({p.x(), p.y(), v.dot(view.to_eye)});
    if (!v.allFinite()) continue;
    low = low.cwiseMin(p);
    high = high.cwiseMax(p);
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
  for (Corner& c : corner) {
    c.x = (c.x - raster.low.x()) / raster.step_mm;
    c.y = (c.y - raster.low.y()) / raster.step_mm;
  }
  for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t) {
    const Triangle& of = mesh.triangles[t];
    draw(raster, t, corner[of[0]], corner[of[1]], corner[of[2]]);
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
