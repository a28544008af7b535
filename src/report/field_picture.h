#pragma once

#include <span>

#include "fitting.h"
#include "report/colour_scale.h"
#include "report/raster.h"
#include "report/svg.h"

namespace lastroom {

/// How finely bands are drawn: what is smaller is left out, and coarser still when it would take more bytes.
struct PictureFineness {
  double finest_mm = 0.15, least_patch_mm2 = 15.0;
  std::size_t most_bytes = 150'000;
};

/// A value on the skin in mm, seen from one side, as path data in the colours of colour_scale.h.
struct FieldPaths {
  std::string whole;   ///< outline of everything that is seen
  std::string judged;  ///< outline of the triangles that have a value
  std::vector<std::string> bands;
  std::vector<double> borders_mm;
};
FieldPaths field_paths(const MeshView& skin, const Raster& seen, const std::string& outline,
                       const std::vector<double>& vertex_value, const std::vector<std::uint8_t>& judged_triangles,
                       const PictureFineness& fineness, std::span<const double> borders_mm = kBandBorders_mm);

/// One per triangle of the foot: all three corners are judged.
std::vector<std::uint8_t> judged_triangles(const Fitting& fitting);

/// Draws it and gives the group that is cut off at the judged skin's outline, for what belongs on top. `id` names the
/// cut and must be the only one of that name in the page.
pugi::xml_node add_field(Drawing& drawing, const FieldPaths& paths, const std::string& id);

}  // namespace lastroom
