#include "report/relief.h"

#include <fmt/format.h>

namespace lastroom {
namespace {

constexpr int kSmoothing = 6;  // rounds; a scanner's roughness would make a mottled skin

/// Every vertex's mean over the triangles that it is in.
std::vector<double> mean_of_triangles(const MeshView& mesh, const std::vector<double>& value) {
  std::vector<double> sum(value.size(), 0.0);
  std::vector<int> count(value.size(), 0);
  for (const Triangle& t : mesh.triangles) {
    const double mean = (value[t[0]] + value[t[1]] + value[t[2]]) / 3.0;
    for (const std::uint32_t v : t) sum[v] += mean, ++count[v];
  }
  for (std::size_t v = 0; v < sum.size(); ++v) sum[v] = count[v] > 0 ? sum[v] / count[v] : value[v];
  return sum;
}

}  // namespace

Grid light_on(const MeshView& mesh, const std::vector<Vec3>& normals, const Raster& seen, const View& view) {
  const Vec3 lamp = (0.3 * view.up - 0.35 * view.right() + view.to_eye).normalized();
  std::vector<double> light;
  for (const Vec3& normal : normals) light.push_back(normal.dot(lamp));
  for (int round = 0; round < kSmoothing; ++round) light = mean_of_triangles(mesh, light);
  Grid grid = value_grid(mesh, seen, light, {});
  const Grid body = outline_grid(seen);
  for (std::size_t i = 0; i < grid.value.size(); ++i)  // the values reach over the outline
    if (body.value[i] < 0.5F) grid.value[i] = -1.0F;
  return grid;
}

Relief relief_of(const Raster& seen, const Grid& light) {
  // Filled: an open leg over a sole that was not scanned would look like a hole in the foot.
  std::vector<Loop> whole = superlevel_loops(outline_grid(seen), 0.5);
  std::erase_if(whole, [](const Loop& loop) { return signed_area_mm2(loop) < 0.0; });
  Relief relief{path_data(simplified(whole, 0.25, 12.0)), {}};
  for (std::size_t step = 0; step < kReliefLight.size(); ++step)
    relief.lighter[step] = path_data(simplified(superlevel_loops(light, kReliefLight[step]), 0.25, 12.0));
  return relief;
}

void add_relief(Drawing& drawing, const Relief& relief) {
  add_path(drawing.ink, "skin relief-0", relief.outline);
  int step = 1;
  for (const std::string& lighter : relief.lighter) add_path(drawing.ink, fmt::format("relief-{}", step++), lighter);
  add_path(drawing.ink, "skin-line", relief.outline);
}

}  // namespace lastroom
