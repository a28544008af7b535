#include "report/field_picture.h"

#include <fmt/format.h>

namespace lastroom {
namespace {

/// The bands as paths, each from its lower border up: they are painted over one another, so no gap can open. When
/// they take too many bytes they are drawn coarser, and always end.
std::vector<std::string> band_paths(const Grid& value, const PictureFineness& fineness,
                                    std::span<const double> borders_mm) {
  std::vector<std::string> paths;
  for (double coarser = 1.0;; coarser *= 2.0) {
    paths.clear();
    std::size_t bytes = 0;
    for (const double border : borders_mm) {
      paths.push_back(path_data(simplified(superlevel_loops(value, border), coarser * fineness.finest_mm,
                                           coarser * coarser * fineness.least_patch_mm2)));
      bytes += paths.back().size();
    }
    if (bytes <= fineness.most_bytes || coarser > 1000.0) return paths;
  }
}

void add_clip(Drawing& drawing, const std::string& id, const std::string& data) {
  pugi::xml_node clip = drawing.ink.append_child("clipPath");
  clip.append_attribute("id").set_value(id.c_str());
  clip.append_child("path").append_attribute("d").set_value(data.c_str());
}

}  // namespace

FieldPaths field_paths(const MeshView& skin, const Raster& seen, const std::string& outline,
                       const std::vector<double>& vertex_value, const std::vector<std::uint8_t>& judged_triangles,
                       const PictureFineness& fineness, std::span<const double> borders_mm) {
  constexpr double kLeastJudged_mm2 = 4.0;
  const std::vector<Loop> judged = superlevel_loops(outline_grid(seen, judged_triangles), 0.5);
  return {outline,
          path_data(simplified(judged, fineness.finest_mm, kLeastJudged_mm2)),
          band_paths(value_grid(skin, seen, vertex_value, judged_triangles), fineness, borders_mm),
          {borders_mm.begin(), borders_mm.end()}};
}

std::vector<std::uint8_t> judged_triangles(const Fitting& fitting) {
  const auto judged = [&](std::uint32_t v) { return is_judged(fitting.clearance, fitting.skin, v); };
  std::vector<std::uint8_t> result;
  for (const Triangle& t : fitting.foot.mesh.triangles) result.push_back(judged(t[0]) && judged(t[1]) && judged(t[2]));
  return result;
}

pugi::xml_node add_field(Drawing& drawing, const FieldPaths& paths, const std::string& id) {
  add_clip(drawing, id, paths.judged);
  add_path(drawing.ink, "not-judged", paths.whole);
  pugi::xml_node bands = drawing.ink.append_child("g");
  bands.append_attribute("clip-path").set_value(fmt::format("url(#{})", id).c_str());
  pugi::xml_node lowest = add_path(bands, "band", paths.whole);
  lowest.append_attribute("fill").set_value(hex(band_colour(paths.borders_mm, 0)).c_str());
  for (std::size_t band = 0; band < paths.bands.size(); ++band) {
    pugi::xml_node path = add_path(bands, "band", paths.bands[band]);
    path.append_attribute("fill").set_value(hex(band_colour(paths.borders_mm, band + 1)).c_str());
    if (paths.borders_mm[band] == 0.0) path.attribute("class").set_value("band band-zero");
  }
  return bands;
}

}  // namespace lastroom
