#pragma once

#include <cstdint>

#include "geometry/mesh_view.h"
#include "report/isobands.h"

namespace lastroom {

/// A way of looking at the foot, without perspective. Last frame as worn.
struct View {
  Vec3 up = Vec3::UnitX();      ///< towards the top of the picture
  Vec3 to_eye = Vec3::UnitZ();  ///< from the foot towards the looker
  Vec3 right() const { return up.cross(to_eye); }
  Vec2 operator()(const Vec3& p) const { return {p.dot(right()), p.dot(up)}; }
};

inline constexpr std::uint32_t kNothing = ~std::uint32_t{0};

/// What one sees from there: hidden surface is gone.
struct Raster {
  int columns = 0, rows = 0;
  double step_mm = 0.7;
  Vec2 low = Vec2::Zero();                  ///< centre of pixel (0, 0), which is at the bottom left
  std::vector<std::uint32_t> triangle;      ///< per pixel, row by row from below: the one seen there, or kNothing
  std::vector<std::array<float, 2>> share;  ///< weights of its first two corners at the pixel's centre
  std::vector<float> depth_mm;              ///< along to_eye
  std::vector<std::uint8_t> from_behind;    ///< 1: a triangle's inner side is seen, through an opening

  std::size_t size() const { return triangle.size(); }
  std::size_t pixel(const Vec2& place) const;  ///< the nearest one, at the border when outside
};

/// Seven tenths of a millimetre a pixel are finer than a line of the figure, whatever the mesh (our choice).
Raster look_at(const MeshView& mesh, const View& view, double step_mm = 0.7);

/// 1 where the outer side of a wanted triangle is seen, else 0, softened over a pixel: its level 0.5 is a smooth
/// outline.
Grid outline_grid(const Raster& raster, const std::vector<std::uint8_t>& wanted_triangles);
/// The same for everything that is seen.
Grid outline_grid(const Raster& raster);

/// A value per vertex as seen, where the outer side of a wanted triangle (none given: any) is seen; smoothed over 3 x 3
/// pixels and drawn two pixels over the outline, so that bands cut off at the outline leave no gap.
Grid value_grid(const MeshView& mesh, const Raster& raster, const std::vector<double>& vertex_value,
                const std::vector<std::uint8_t>& wanted_triangles);

}  // namespace lastroom
