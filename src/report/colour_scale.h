#pragma once

#include <array>
#include <span>
#include <string>

#include "mesh_io/write_mesh.h"

namespace lastroom {

/// Colour of a clearance: "vik" of the Scientific colour maps (F. Crameri, doi 10.5281/zenodo.8035877, MIT), turned so
/// that tight is red and room is blue. Zero is always the middle colour; both ends are reached at +-10 mm. In between
/// the scale goes with the square root of the clearance (our choice), as the first millimetre matters most.
VertexColour clearance_colour(double clearance_mm);

/// Skin that is not judged: leg, ankle, above the top edge of the last.
inline constexpr VertexColour kNotJudged{205, 205, 200};

std::string hex(VertexColour colour);  ///< "#rrggbb"

/// Borders of the colour bands, in mm (our choice: finer near zero).
inline constexpr std::array<double, 8> kBandBorders_mm = {-4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 8.0};
/// Colour of the band below border 0, between borders 0 and 1, ..., above the last border.
VertexColour band_colour(std::size_t band);
VertexColour band_colour(std::span<const double> borders_mm, std::size_t band);  ///< the same between other borders

}  // namespace lastroom
