#include "last_variants.h"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/corefinement.h>
#include <CGAL/Polygon_mesh_processing/polygon_soup_to_polygon_mesh.h>
#include <CGAL/Surface_mesh.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <stdexcept>

namespace lastroom::test {
namespace {

namespace pmp = CGAL::Polygon_mesh_processing;
using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Body = CGAL::Surface_mesh<Kernel::Point_3>;

Body body_of(const Mesh& mesh) {
  std::vector<Kernel::Point_3> points;
  for (const Vec3& p : mesh.vertices) points.emplace_back(p.x(), p.y(), p.z());
  std::vector<std::array<std::size_t, 3>> faces;
  for (const Triangle& t : mesh.triangles) faces.push_back({t[0], t[1], t[2]});
  Body body;
  pmp::polygon_soup_to_polygon_mesh(points, faces, body);
  return body;
}

Mesh mesh_of(Body body) {
  body.collect_garbage();
  Mesh mesh;
  for (const auto v : body.vertices()) {
    const auto& p = body.point(v);
    mesh.vertices.emplace_back(p.x(), p.y(), p.z());
  }
  for (const auto f : body.faces()) {
    Triangle t{};
    std::size_t k = 0;
    for (const auto v : CGAL::vertices_around_face(body.halfedge(f), body)) t[k++] = v.idx();
    mesh.triangles.push_back(t);
  }
  return mesh;
}

enum class How { away, on };

Mesh worked(const Mesh& last, const Mesh& tool, How how) {
  Body body = body_of(last), other = body_of(tool), result;
  const bool done = how == How::away ? pmp::corefine_and_compute_difference(body, other, result)
                                     : pmp::corefine_and_compute_union(body, other, result);
  if (!done) throw std::runtime_error("a last's variant can't be cut");
  return mesh_of(result);
}

/// A prism with `corners` corners round the z axis from z = 0 to `height_mm`; four of them at 45 degrees make a box of
/// the half sizes.
Mesh prism(int corners, const Vec2& half_mm, double height_mm) {
  Mesh mesh;
  const double turn = corners == 4 ? std::numbers::pi / 4.0 : 0.1, grow = corners == 4 ? std::numbers::sqrt2 : 1.0;
  for (const double z : {0.0, height_mm})
    for (int i = 0; i < corners; ++i) {
      const double a = turn + 2.0 * std::numbers::pi * i / corners;
      mesh.vertices.emplace_back(grow * half_mm.x() * std::cos(a), grow * half_mm.y() * std::sin(a), z);
    }
  const auto n = static_cast<std::uint32_t>(corners);
  for (std::uint32_t i = 0; i < n; ++i) {
    const std::uint32_t next = (i + 1) % n;
    mesh.triangles.push_back({i, next, n + next});
    mesh.triangles.push_back({i, n + next, n + i});
    if (i > 1) mesh.triangles.push_back({0, i, i - 1}), mesh.triangles.push_back({n, n + i - 1, n + i});
  }
  return mesh;
}

Mesh placed(Mesh mesh, const Vec3& at_mm, const Vec3& axis = Vec3::UnitX(), double angle_deg = 0.0) {
  Motion motion = Motion::Identity();
  motion.linear() = Eigen::AngleAxisd(angle_deg * std::numbers::pi / 180.0, axis).toRotationMatrix();
  motion.translation() = at_mm;
  return moved(std::move(mesh), motion);
}

/// Lowest and highest skin near x, within `half_mm` of y.
Vec2 heights_at(const Mesh& last, double x, double y, double half_mm = 4.0) {
  Vec2 heights(1e9, -1e9);
  for (const Vec3& v : last.vertices)
    if (std::abs(v.x() - x) < half_mm && std::abs(v.y() - y) < half_mm)
      heights = Vec2(std::min(heights.x(), v.z()), std::max(heights.y(), v.z()));
  return heights;
}

/// The outmost skin towards `side` y near x and z.
Vec3 wall_at(const Mesh& last, double x, double z, double side) {
  Vec3 wall = Vec3(x, -1e9 * side, z);
  for (const Vec3& v : last.vertices)
    if (std::abs(v.x() - x) < 5.0 && std::abs(v.z() - z) < 5.0 && side * v.y() > side * wall.y()) wall = v;
  return wall;
}

double length_of(const Mesh& last) { return bounds(last).high.x(); }
double far_mm(const Mesh& last) { return 2.0 * bounds(last).size().norm(); }

/// The highest place of the cone at x.
double top_at(const Mesh& last, double x) {
  double top = -1e9;
  for (const Vec3& v : last.vertices)
    if (std::abs(v.x() - x) < 6.0) top = std::max(top, v.z());
  return top;
}

/// A saw's cut of 2.5 mm from above, leaning, that ends in a hole for the hinge; `through` to the bottom makes two
/// bodies.
Mesh sawn(const Mesh& last, Dice& dice, bool through) {
  const double x = length_of(last) * dice.uniform(0.36, 0.42), lean_deg = dice.uniform(-20.0, 20.0);
  const double low = heights_at(last, x, 0.0, 6.0).x(), end = through ? low - 60.0 : low + 25.0;
  const Mesh blade = prism(4, {1.25, far_mm(last)}, far_mm(last));
  Mesh cut = worked(last, placed(blade, {x, 0.0, end}, Vec3::UnitY(), lean_deg), How::away);
  if (through) return cut;
  const Mesh hinge = placed(prism(24, {4.0, 4.0}, far_mm(last)), {x, 0.5 * far_mm(last), end}, Vec3::UnitX(), 90.0);
  return worked(cut, hinge, How::away);
}

Mesh with_thimble_hole(const Mesh& last, Dice& dice) {
  const double x = length_of(last) * dice.uniform(0.16, 0.22), top = top_at(last, x);
  return worked(last, placed(prism(32, {6.5, 6.5}, 200.0), {x, 0.0, top - dice.uniform(40.0, 60.0)}), How::away);
}

Mesh with_pins(const Mesh& last, Dice& dice) {
  Mesh made = last;
  for (int i = 0; i < 4; ++i) {
    const double x = length_of(last) * (0.45 + 0.03 * i),
                 z = heights_at(last, x, 0.0, 6.0).x() + dice.uniform(18.0, 24.0);
    const Vec3 wall = wall_at(last, x, z, -1.0);
    made = worked(made, placed(prism(16, {1.5, 1.5}, 6.0), wall + Vec3(0.0, 4.0, 0.0), Vec3::UnitX(), 90.0), How::on);
  }
  return made;
}

Mesh with_letters(const Mesh& last, Dice& dice) {
  Mesh made = last;
  for (int i = 0; i < 5; ++i) {  // strokes 1.2 mm wide and up to 1 mm high, on the inside of the heel
    const double x = length_of(last) * (0.1 + 0.025 * i), z = heights_at(last, x, 0.0, 8.0).x() + 30.0;
    const Vec3 wall = wall_at(last, x, z, 1.0);
    const Mesh stroke =
        placed(prism(4, {0.6, 5.0}, 4.0), wall + Vec3(dice.uniform(-1.0, 1.0), 1.0, 0.0), Vec3::UnitX(), 90.0);
    made = worked(made, stroke, How::on);
  }
  return made;
}

Mesh with_thong_slot(const Mesh& last, Dice& dice) {
  const double x = length_of(last) * dice.uniform(0.76, 0.8);
  return worked(last, placed(prism(4, {24.0, 5.5}, far_mm(last)), {x, dice.uniform(4.0, 10.0), -0.5 * far_mm(last)}),
                How::away);
}

Mesh with_plate(const Mesh& last, Dice& dice) {
  const double x = length_of(last) * 0.11, thick_mm = dice.uniform(1.0, 2.0);
  const double behind = heights_at(last, x - 12.0, 0.0).x(), ahead = heights_at(last, x + 12.0, 0.0).x();
  const double pitch_deg = std::atan2(behind - ahead, 24.0) * 180.0 / std::numbers::pi;
  const double low = heights_at(last, x, 0.0).x();
  return worked(last,
                placed(prism(28, {18.0, 15.0}, 6.0 + thick_mm), {x, 0.0, low - thick_mm}, Vec3::UnitY(), pitch_deg),
                How::on);
}

/// Everything over a leaning plane goes.
Mesh cut_lower(const Mesh& last, double by_mm, double lean_deg) {
  const double far = far_mm(last), x = 0.15 * length_of(last);
  return worked(last, placed(prism(4, {far, far}, far), {x, 0.0, top_at(last, x) - by_mm}, Vec3::UnitY(), lean_deg),
                How::away);
}

Mesh opened(const Mesh& last, const Mesh& before) {
  std::vector<std::uint8_t> keep;
  const double top = bounds(last).high.z();
  for (const Triangle& t : last.triangles) {
    double high = -1e9, low = 1e9;
    for (const std::uint32_t v : t)
      high = std::max(high, last.vertices[v].z()), low = std::min(low, last.vertices[v].z());
    keep.push_back(!(high > top - 0.5 && high - low < 1e-6 && bounds(before).high.z() > top));
  }
  return submesh(last, keep);
}

/// Points as a scanner thins them: one, with its noise, in every cell of `spacing_mm` that the skin passes through.
Mesh points_of(const Mesh& last, Dice& dice, double spacing_mm) {
  constexpr double kNoise_mm = 0.08, kTries = 8.0;
  const double per_mm2 = kTries / (spacing_mm * spacing_mm);
  std::map<std::array<int, 3>, Vec3> cells;
  double passed = 0.0, next = 0.5;
  for (const Triangle& t : last.triangles) {
    const Vec3 &a = last.vertices[t[0]], ab = last.vertices[t[1]] - a, ac = last.vertices[t[2]] - a;
    for (passed += per_mm2 * 0.5 * ab.cross(ac).norm(); next < passed; next += 1.0) {
      double u = dice.uniform(0.0, 1.0), v = dice.uniform(0.0, 1.0);
      if (u + v > 1.0) u = 1.0 - u, v = 1.0 - v;
      const Vec3 p = a + u * ab + v * ac;
      const Eigen::Vector3i cell = (p / spacing_mm).array().floor().cast<int>();
      const Vec3 noise(dice.uniform(-1.0, 1.0), dice.uniform(-1.0, 1.0), dice.uniform(-1.0, 1.0));
      cells.try_emplace({cell.x(), cell.y(), cell.z()}, p + kNoise_mm * noise);
    }
  }
  Mesh points;
  for (const auto& [cell, p] : cells) points.vertices.push_back(p);
  return points;
}

}  // namespace

const std::vector<LastVariant>& last_variants() {
  static const std::vector<LastVariant> variants = {
      {"as made", [](const Mesh& last, Dice&) { return last; }},
      {"saw cut and hinge", [](const Mesh& last, Dice& dice) { return sawn(last, dice, false); }},
      {"two bodies", [](const Mesh& last, Dice& dice) { return sawn(last, dice, true); }},
      {"thimble hole", with_thimble_hole},
      {"size pins", with_pins},
      {"raised letters", with_letters},
      {"thong slot", with_thong_slot},
      {"metal plate", with_plate},
      {"cut 15 mm lower",
       [](const Mesh& last, Dice& dice) { return cut_lower(last, 15.0, dice.uniform(-10.0, 10.0)); }},
      {"cut lower and open", [](const Mesh& last, Dice&) { return opened(cut_lower(last, 10.0, 0.0), last); }},
      {"bare points", [](const Mesh& last, Dice& dice) { return points_of(last, dice, 1.4); }},
      {"bare points, top not scanned",
       [](const Mesh& last, Dice& dice) { return points_of(opened(cut_lower(last, 5.0, 0.0), last), dice, 1.4); }},
      {"bare points, sawn, slotted",
       [](const Mesh& last, Dice& dice) {
         return points_of(with_thong_slot(sawn(last, dice, false), dice), dice, 1.2);
       }},
      {"all of it",
       [](const Mesh& last, Dice& dice) {
         return with_plate(with_pins(with_thong_slot(with_thimble_hole(sawn(last, dice, false), dice), dice), dice),
                           dice);
       }},
  };
  return variants;
}

}  // namespace lastroom::test
