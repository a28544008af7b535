// The last laid flat at 1:1, held against geodesics by CGAL's Surface_mesh_shortest_path on the last's own mesh.
#include <CGAL/AABB_face_graph_triangle_primitive.h>
#include <CGAL/AABB_traits.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/Surface_mesh_shortest_path.h>
#include <doctest/doctest.h>

#include <algorithm>

#include "demo/make_last.h"
#include "preparation/last.h"
#include "report/last_wrap.h"

using namespace lastroom;

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Surface = CGAL::Surface_mesh<Kernel::Point_3>;
using BoxTraits = CGAL::AABB_traits<Kernel, CGAL::AABB_face_graph_triangle_primitive<Surface>>;
using Geodesics = CGAL::Surface_mesh_shortest_path<CGAL::Surface_mesh_shortest_path_traits<Kernel, Surface>>;

Surface surface_of(const Mesh& mesh) {
  Surface surface;
  for (const Vec3& p : mesh.vertices) surface.add_vertex(Kernel::Point_3(p.x(), p.y(), p.z()));
  for (const Triangle& t : mesh.triangles)
    surface.add_face(Surface::Vertex_index(t[0]), Surface::Vertex_index(t[1]), Surface::Vertex_index(t[2]));
  return surface;
}

/// Shortest and longest stretch of the cells between two places and `kBeside` around.
std::array<double, 2> stretch_between(const SurfaceGrid& grid, const FlatSheet& sheet, std::array<std::size_t, 2> from,
                                      std::array<std::size_t, 2> to) {
  constexpr std::size_t kBeside = 4;  // 10 mm: a shortest way over a last's side leaves the straight one by less
  std::array<double, 2> all = {1e9, 0.0};
  for (std::size_t c = 0; c + 1 < grid.columns; ++c)
    for (std::size_t r = 0; r + 1 < grid.rows; ++r) {
      if (c + kBeside < from[0] || c > to[0] + kBeside || r + kBeside < from[1] || r > to[1] + kBeside) continue;
      for (std::size_t k = 0; k < 2; ++k) {
        const auto& [least, most] = sheet.stretch[2 * (c * (grid.rows - 1) + r) + k];
        all = {std::min(all[0], least), std::max(all[1], most)};
      }
    }
  return all;
}

}  // namespace

TEST_CASE("a way on the sheet is as long as on the last, but for the stretch that is told") {
  LastShape shape;
  shape.edge_mm = 4.0;
  const Last last = prepare_last({"last.stl", "", make_last(make_foot(FootShape{}), shape).mesh, 0, 0, {}, {}});
  const Surface surface = surface_of(last.mesh);
  for (const LastPart part : {LastPart::inside, LastPart::outside}) {
    const LastWrap wrap = wrap_of(last, part);
    REQUIRE(wrap.grid.columns > 60);
    const FlatSheet sheet = laid_flat(wrap.grid);
    const std::size_t rows = wrap.grid.rows;
    for (const std::size_t column : {std::size_t{25}, wrap.grid.columns / 2}) {
      const std::array<std::size_t, 2> from = {column, rows / 4}, to = {column + 20, rows / 2};
      Geodesics geodesics(surface);
      const auto place = [&](const std::array<std::size_t, 2>& at) {
        const Vec3& p = wrap.grid(at[0], at[1]);
        return geodesics.locate<BoxTraits>(Kernel::Point_3(p.x(), p.y(), p.z()));
      };
      const auto source = place(from), target = place(to);
      geodesics.add_source_point(source.first, source.second);
      const double on_last = geodesics.shortest_distance_to_source_points(target.first, target.second).first;
      const double on_sheet = (sheet.at[from[0] * rows + from[1]] - sheet.at[to[0] * rows + to[1]]).norm();
      const auto [least, most] = stretch_between(wrap.grid, sheet, from, to);
      // The grid's cells are chords of the surface: over 2.5 mm of a curve of 10 mm radius or more, short by
      // (2.5 / 10)^2 / 24 of the length.
      const double chord = 2.5 * 2.5 / (10.0 * 10.0) / 24.0;
      CHECK(on_sheet <= most * on_last * (1.0 + chord));
      CHECK(on_sheet >= least * on_last * (1.0 - chord));
      MESSAGE(on_last << " mm on the last, " << on_sheet << " mm on the sheet, stretch " << least << " .. " << most);
    }
  }
}
