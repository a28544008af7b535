// What can be laid flat is; what can't says by how much it is stretched.
#include <doctest/doctest.h>

#include <cmath>
#include <functional>
#include <numbers>

#include "geometry/flat_sheet.h"

using namespace lastroom;

namespace {

SurfaceGrid grid_of(std::size_t columns, std::size_t rows, const std::function<Vec3(double, double)>& at) {
  SurfaceGrid grid{columns, rows, {}};
  for (std::size_t c = 0; c < columns; ++c)
    for (std::size_t r = 0; r < rows; ++r)
      grid.at.push_back(at(static_cast<double>(c) / static_cast<double>(columns - 1),
                           static_cast<double>(r) / static_cast<double>(rows - 1)));
  return grid;
}

std::array<double, 2> extremes(const FlatSheet& sheet) {
  std::array<double, 2> all = {1e9, 0.0};
  for (const auto& [least, most] : sheet.stretch) all = {std::min(all[0], least), std::max(all[1], most)};
  return all;
}

}  // namespace

TEST_CASE("a cylinder and a cone are laid flat without stretch") {
  // Both are developable (Gauss: curved one way alone). A grid whose columns are their straight lines is a strip of
  // flat quadrilaterals, so even its triangles keep their lengths: to the round in which nothing moves by 0.001 mm any
  // more, on sides of 2 mm or more.
  const double kStill = 0.001 / 2.0;
  const SurfaceGrid cylinder = grid_of(41, 21, [](double u, double v) {
    const double angle = u * std::numbers::pi;
    return Vec3(-60.0 * std::cos(angle), -60.0 * std::sin(angle), 100.0 * v);
  });
  const SurfaceGrid cone = grid_of(41, 21, [](double u, double v) {
    const double angle = u * std::numbers::pi, radius = 60.0 - 40.0 * v;
    return Vec3(-radius * std::cos(angle), -radius * std::sin(angle), 100.0 * v);
  });
  for (const SurfaceGrid* grid : {&cylinder, &cone}) {
    const FlatSheet sheet = laid_flat(*grid);
    const auto [least, most] = extremes(sheet);
    CHECK(least > 1.0 - kStill);
    CHECK(most < 1.0 + kStill);
  }
  // A cylinder's sheet is the rectangle of its half girth, here of a polygon of 40 sides, and its height.
  const FlatSheet sheet = laid_flat(cylinder);
  const double girth = 40.0 * 2.0 * 60.0 * std::sin(std::numbers::pi / 80.0);
  CHECK((sheet.at[40 * 21] - sheet.at[0]).norm() == doctest::Approx(girth).epsilon(kStill));
  CHECK((sheet.at[40 * 21 + 20] - sheet.at[0]).norm() == doctest::Approx(std::hypot(girth, 100.0)).epsilon(kStill));
}

TEST_CASE("a cap of a sphere can't be laid flat, and its sheet says by how much it is stretched") {
  // J. Milnor, "A problem in cartography", American Mathematical Monthly 76 (1969): of a cap of angular radius a no map
  // has its longest stretch below a / sin a times its shortest; the polar map, radial lengths kept, reaches that. A
  // square patch holds the cap that is inscribed in it.
  const double radius = 100.0, half = 0.4;
  constexpr std::size_t kSide = 41;
  const auto direction = [&](double u, double v) {
    return Vec3(std::tan(half * (2.0 * u - 1.0)), std::tan(half * (2.0 * v - 1.0)), 1.0).normalized();
  };
  const FlatSheet sheet =
      laid_flat(grid_of(kSide, kSide, [&](double u, double v) { return Vec3(radius * direction(u, v)); }));
  const auto [least, most] = extremes(sheet);
  CHECK(least > 0.0);
  CHECK(most / least > half / std::sin(half));
  // What is made least is the sum of area x ((longest - 1)^2 + (shortest - 1)^2): not more than the polar map has. The
  // means here do not weigh by area: of the patch's cells the middle ones are the largest and those in its corners the
  // smallest, by sec^4(half) / (1 + 2 tan^2(half))^1.5.
  const double cells = std::pow(std::cos(half), -4.0) / std::pow(1.0 + 2.0 * std::pow(std::tan(half), 2.0), 1.5);
  double ours = 0.0, polar = 0.0;
  for (const auto& [shortest, longest] : sheet.stretch)
    ours += (std::pow(shortest - 1.0, 2.0) + std::pow(longest - 1.0, 2.0)) / static_cast<double>(sheet.stretch.size());
  for (std::size_t c = 0; c + 1 < kSide; ++c)
    for (std::size_t r = 0; r + 1 < kSide; ++r) {
      const auto middle = [](std::size_t i) { return (static_cast<double>(i) + 0.5) / (kSide - 1); };
      const double angle = std::acos(direction(middle(c), middle(r)).z());
      polar += std::pow(angle / std::sin(angle) - 1.0, 2.0) / ((kSide - 1) * (kSide - 1));
    }
  CHECK(ours < polar / cells);
}
