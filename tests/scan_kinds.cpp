// What scanners make of a foot. All amounts are our choice, after how real scans look: none is measured on one.
#include <open3d/Open3D.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "kinds_of_feet.h"
#include "solid.h"

namespace lastroom::test {
namespace {

/// The skin's outside, a single time.
Mesh outside_of(const KnownFoot& foot) { return foot.overlaps ? closed_by_ball(foot.skin, 0.8, 1.5) : foot.skin; }

void add_noise(Mesh& mesh, double spread_mm, Dice& dice) {
  for (Vec3& v : mesh.vertices)
    v += Vec3(dice.normal(0.0, spread_mm), dice.normal(0.0, spread_mm), dice.normal(0.0, spread_mm));
}

Mesh kept(const Mesh& mesh, const std::function<bool(const Vec3& middle, const Vec3& normal)>& wanted) {
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : mesh.triangles) {
    const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
    keep.push_back(wanted((a + b + c) / 3.0, (b - a).cross(c - a).normalized()) ? 1 : 0);
  }
  return submesh(mesh, keep);
}

Mesh clean(KnownFoot& foot, Dice& dice) {
  Mesh scan = outside_of(foot);
  add_noise(scan, dice.uniform(0.0, 0.2), dice);
  return scan;
}

/// Clefts bridged: closed by a ball.
Mesh bridged(KnownFoot& foot, Dice& dice, double low_mm, double high_mm) {
  const double scale = known_length_mm(foot) / 260.0;
  Mesh scan = closed_by_ball(foot.skin, dice.uniform(low_mm, high_mm) * scale, 2.0 * scale);
  add_noise(scan, dice.uniform(0.0, 0.15), dice);
  return scan;
}
Mesh bridged_little(KnownFoot& foot, Dice& dice) { return bridged(foot, dice, 2.0, 5.0); }
Mesh bridged_much(KnownFoot& foot, Dice& dice) { return bridged(foot, dice, 5.0, 12.0); }

/// As a phone does: clefts bridged, all detail evened out, few triangles.
Mesh phone(KnownFoot& foot, Dice& dice) {
  const double scale = known_length_mm(foot) / 260.0;
  const Mesh bridged = closed_by_ball(foot.skin, dice.uniform(1.0, 3.0) * scale, 2.5 * scale);
  const open3d::geometry::TriangleMesh whole(bridged.vertices, [&] {
    std::vector<Eigen::Vector3i> triangles;
    for (const Triangle& t : bridged.triangles)
      triangles.push_back(Eigen::Array<std::uint32_t, 3, 1>(t.data()).cast<int>());
    return triangles;
  }());
  const auto even = whole.FilterSmoothLaplacian(3 + dice.among(12), 0.5);
  Mesh scan = bridged;
  scan.vertices = even->vertices_;
  add_noise(scan, dice.uniform(0.0, 0.2), dice);
  return scan;
}

/// Quadric edge collapse (Garland and Heckbert 1997) of Open3D to few triangles.
Mesh decimated(KnownFoot& foot, Dice& dice) {
  const Mesh fine = outside_of(foot);
  open3d::geometry::TriangleMesh whole;
  whole.vertices_ = fine.vertices;
  for (const Triangle& t : fine.triangles)
    whole.triangles_.emplace_back(static_cast<int>(t[0]), static_cast<int>(t[1]), static_cast<int>(t[2]));
  const int count = static_cast<int>(500.0 * std::pow(10.0, dice.uniform(0.0, 1.2)));
  const auto coarse = whole.SimplifyQuadricDecimation(count, std::numeric_limits<double>::infinity(), 1.0);
  Mesh scan;
  scan.vertices = coarse->vertices_;
  for (const Eigen::Vector3i& t : coarse->triangles_)
    scan.triangles.push_back(
        {static_cast<std::uint32_t>(t[0]), static_cast<std::uint32_t>(t[1]), static_cast<std::uint32_t>(t[2])});
  return scan;
}

/// Every triangle in four, once or twice.
Mesh dense(KnownFoot& foot, Dice& dice) {
  const Mesh fine = outside_of(foot);
  open3d::geometry::TriangleMesh whole;
  whole.vertices_ = fine.vertices;
  for (const Triangle& t : fine.triangles)
    whole.triangles_.emplace_back(static_cast<int>(t[0]), static_cast<int>(t[1]), static_cast<int>(t[2]));
  const auto many = whole.SubdivideMidpoint(fine.triangles.size() < 120'000 && dice.chance(0.5) ? 2 : 1);
  Mesh scan;
  scan.vertices = many->vertices_;
  for (const Eigen::Vector3i& t : many->triangles_)
    scan.triangles.push_back(
        {static_cast<std::uint32_t>(t[0]), static_cast<std::uint32_t>(t[1]), static_cast<std::uint32_t>(t[2])});
  add_noise(scan, dice.uniform(0.0, 0.1), dice);
  return scan;
}

/// Pressed flat by the weight it bears.
Mesh loaded(KnownFoot& foot, Dice& dice) {
  const double pressed_mm = dice.uniform(1.0, 3.5), floor_mm = bounds(foot.skin).low.z() + pressed_mm;
  warp(foot, [&](const Vec3& p) { return Vec3(p.x(), p.y(), std::max(p.z(), floor_mm)); });
  return clean(foot, dice);
}

/// Hanging: the fore foot points down a little, the toes up or down, the sole rounds.
Mesh unloaded(KnownFoot& foot, Dice& dice) {
  const double length_mm = known_length_mm(foot), down = std::tan(dice.uniform(0.0, 7.0) * std::numbers::pi / 180.0);
  const double round_mm = dice.uniform(1.0, 3.0), narrower = dice.uniform(0.0, 0.05);
  const Vec3 heel = foot.heel;
  warp(foot, [&](const Vec3& p) {
    const double t = (p.x() - heel.x()) / length_mm, before_mm = std::max(0.0, p.x() - heel.x() - 0.35 * length_mm);
    const double sole = std::exp(-std::max(0.0, p.z()) / 12.0);
    const double pads = std::exp(-std::pow((t - 0.14) / 0.1, 2)) + std::exp(-std::pow((t - 0.68) / 0.08, 2));
    const double bent_mm = down * before_mm * before_mm / (before_mm + 0.15 * length_mm);
    return Vec3(p.x(), p.y() * (1.0 - narrower), p.z() - bent_mm - round_mm * sole * pads);
  });
  return clean(foot, dice);
}

Mesh without_sole(KnownFoot& foot, Dice& dice) {
  const double from_mm = bounds(foot.skin).low.z() + dice.uniform(3.0, 7.0);
  return kept(clean(foot, dice), [&](const Vec3& middle, const Vec3&) { return middle.z() > from_mm; });
}

/// Eight thousand points and more, by area.
Mesh bare_points(KnownFoot& foot, Dice& dice) {
  const Mesh skin = outside_of(foot);
  const auto count = static_cast<std::size_t>(8'000.0 * std::pow(6.0, dice.uniform(0.0, 1.0)));
  std::vector<double> until = {0.0};
  for (const Triangle& t : skin.triangles)
    until.push_back(
        until.back() +
        (skin.vertices[t[1]] - skin.vertices[t[0]]).cross(skin.vertices[t[2]] - skin.vertices[t[0]]).norm());
  Mesh scan;
  for (std::size_t i = 0; i < count; ++i) {
    const auto place = std::upper_bound(until.begin(), until.end() - 1, dice.uniform(0.0, until.back()));
    const Triangle& t = skin.triangles[static_cast<std::size_t>(place - until.begin()) - 1];
    double u = dice.uniform(0.0, 1.0), v = dice.uniform(0.0, 1.0);
    if (u + v > 1.0) u = 1.0 - u, v = 1.0 - v;
    scan.vertices.push_back(skin.vertices[t[0]] + u * (skin.vertices[t[1]] - skin.vertices[t[0]]) +
                            v * (skin.vertices[t[2]] - skin.vertices[t[0]]));
  }
  add_noise(scan, dice.uniform(0.0, 0.15), dice);
  return scan;
}

/// Triangles that share no corner.
Mesh unwelded(KnownFoot& foot, Dice& dice) {
  const Mesh whole = clean(foot, dice);
  Mesh scan;
  for (const Triangle& t : whole.triangles) {
    const auto first = static_cast<std::uint32_t>(scan.vertices.size());
    for (std::uint32_t v : t) scan.vertices.push_back(whole.vertices[v]);
    scan.triangles.push_back({first, first + 1, first + 2});
  }
  return scan;
}

/// Single-sided: what no camera sees is missing. Skin that has other skin within a hand's breadth straight before it
/// or looks at the floor: clefts, the sole's hollow.
Mesh seen_from_outside(KnownFoot& foot, Dice& dice) {
  const Mesh whole = clean(foot, dice);
  const Solid body(whole);
  const double floor_mm = bounds(whole).low.z();
  const double near_mm = dice.uniform(3.0, 8.0);
  return kept(whole, [&](const Vec3& middle, const Vec3& normal) {
    if (normal.z() < -0.5 && middle.z() < floor_mm + 12.0) return dice.chance(0.9);
    for (const double ahead_mm : {0.5 * near_mm, near_mm})
      if (body(middle + ahead_mm * normal) < 0.25 * ahead_mm) return false;
    return true;
  });
}

/// The leg cut from 60 mm up.
Mesh short_leg(KnownFoot& foot, Dice& dice) {
  const double scale = std::min(1.0, known_length_mm(foot) / 230.0);
  const double cut_mm = bounds(foot.skin).low.z() + dice.uniform(60.0, 85.0) * scale;
  return kept(clean(foot, dice), [&](const Vec3& middle, const Vec3&) { return middle.z() < cut_mm; });
}

}  // namespace

const std::vector<ScanKind>& scan_kinds() {
  static const std::vector<ScanKind> kinds = {{"clean", Use::may_set, clean},
                                              {"clefts bridged, balls of 2 to 5 mm", Use::may_set, bridged_little},
                                              {"clefts bridged, balls of 5 to 12 mm", Use::kept_apart, bridged_much},
                                              {"phone", Use::may_set, phone},
                                              {"500 to 8,000 triangles", Use::may_set, decimated},
                                              {"300,000 to 2,000,000 triangles", Use::kept_apart, dense},
                                              {"sole pressed flat", Use::kept_apart, loaded},
                                              {"unloaded", Use::kept_apart, unloaded},
                                              {"without a sole", Use::may_set, without_sole},
                                              {"bare points, 8,000 to 48,000", Use::may_set, bare_points},
                                              {"unwelded", Use::kept_apart, unwelded},
                                              {"single-sided, hidden skin missing", Use::kept_apart, seen_from_outside},
                                              {"leg cut at 60 to 85 mm", Use::kept_apart, short_leg}};
  return kinds;
}

}  // namespace lastroom::test
