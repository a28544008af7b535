#include "preparation/last_cleaning.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>

#include "error.h"
#include "geometry/pieces.h"
#include "geometry/surface_features.h"
#include "preparation/last_closing.h"

namespace lastroom {
namespace {

constexpr double kTypicalDiagonal_mm = 310.0;                // of a last's box: 280 long, 100 wide, 110 high
constexpr double kShortest_mm = 130.0, kLongest_mm = 430.0;  // child's to giant's, across the box; our choice
constexpr double kGap_ratio = 2e-5;  // of the diagonal: 0.006 mm; a soup's rounded copies of one vertex lie this near

double mm_per_unit(const MeshFile& file, const LastPreparation& settings, double diagonal, InputFacts& facts) {
  constexpr std::array<LengthUnit, 4> kUnits = {LengthUnit::millimetre, LengthUnit::centimetre, LengthUnit::metre,
                                                LengthUnit::inch};
  if (settings.units) {
    facts.units = *settings.units;
    facts.units_from = Told::by_option;
    return mm_per(*settings.units);
  }
  facts.units_from = Told::by_guess;
  const auto fits = [&](double scale) { return scale * diagonal > kShortest_mm && scale * diagonal < kLongest_mm; };
  if (file.mm_per_unit && fits(*file.mm_per_unit)) {
    for (const LengthUnit unit : kUnits)
      if (mm_per(unit) == *file.mm_per_unit) facts.units = unit;
    return *file.mm_per_unit;
  }
  const auto strangeness = [&](LengthUnit unit) {
    const double beyond_all = fits(mm_per(unit)) ? 0.0 : 100.0;  // a child's last in cm is no giant's in inches
    return beyond_all + std::abs(std::log(mm_per(unit) * diagonal / kTypicalDiagonal_mm));
  };
  facts.units = *std::min_element(kUnits.begin(), kUnits.end(),
                                  [&](LengthUnit a, LengthUnit b) { return strangeness(a) < strangeness(b); });
  if (!fits(mm_per(facts.units)))
    throw InputError(about_file("last.no_size", file.name, {{"units", in_digits(diagonal, 3)}}));
  return mm_per(facts.units);
}

/// Vertices nearer than `gap` become one: on a grid, each with the first vertex of its own or a neighbouring cell.
std::size_t close_gaps(Mesh& mesh, double gap) {
  const Box box = bounds(mesh);
  constexpr double kNextDouble = 1e-16;  // less than the share by which neighbouring doubles differ
  if (gap < kNextDouble * box.low.cwiseAbs().cwiseMax(box.high.cwiseAbs()).maxCoeff()) return 0;
  std::map<std::array<std::int64_t, 3>, std::vector<std::uint32_t>> cells;
  std::vector<std::uint32_t> renamed(mesh.vertices.size());
  std::size_t merged = 0;
  for (std::uint32_t i = 0; i < mesh.vertices.size(); ++i) {
    const Vec3& p = mesh.vertices[i];
    const auto cell = [&](double v, int step) { return static_cast<std::int64_t>(std::floor(v / gap)) + step; };
    renamed[i] = i;
    for (int n = 0; n < 27 && renamed[i] == i; ++n) {
      const auto near = cells.find({cell(p.x(), n % 3 - 1), cell(p.y(), n / 3 % 3 - 1), cell(p.z(), n / 9 - 1)});
      if (near == cells.end()) continue;
      for (const std::uint32_t other : near->second)
        if ((mesh.vertices[other] - p).norm() < gap) {
          renamed[i] = other;
          ++merged;
          break;
        }
    }
    if (renamed[i] == i) cells[{cell(p.x(), 0), cell(p.y(), 0), cell(p.z(), 0)}].push_back(i);
  }
  for (Triangle& t : mesh.triangles)
    for (std::uint32_t& corner : t) corner = renamed[corner];
  std::erase_if(mesh.triangles, [](const Triangle& t) { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0]; });
  return merged;
}

/// Signed volume with every hole closed by a fan to the middle of all rim points.
double closed_volume(const Mesh& mesh, const SurfaceFeatures& features, const Vec3& origin) {
  Vec3 middle = Vec3::Zero();
  std::size_t rim_edges = 0;
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
    for (std::size_t k = 0; k < 3; ++k)
      if (features.across[i][k] == SurfaceFeatures::kNone) {
        middle += mesh.vertices[mesh.triangles[i][k]];
        ++rim_edges;
      }
  if (rim_edges > 0) middle /= static_cast<double>(rim_edges);
  double six_times = 0.0;
  const auto add = [&](const Vec3& a, const Vec3& b, const Vec3& c) {
    six_times += (a - origin).dot((b - origin).cross(c - origin));
  };
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
    const Triangle& t = mesh.triangles[i];
    add(mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]]);
    for (std::size_t k = 0; k < 3; ++k)
      if (features.across[i][k] == SurfaceFeatures::kNone)
        add(mesh.vertices[t[(k + 1) % 3]], mesh.vertices[t[k]], middle);
  }
  return six_times / 6.0;
}

/// Every piece that may be a body of the last, as a folding one has two; flat sheets and crumbs are none.
Mesh bodies_of(const Mesh& mesh) {
  constexpr double kBody_ratio = 0.1;  // of all skin; our choice
  const Pieces pieces = pieces_of(mesh);
  const double total = std::accumulate(pieces.area.begin(), pieces.area.end(), 0.0);
  std::vector<std::uint8_t> keep(mesh.triangles.size(), 0);
  for (std::uint32_t p = 0; p < pieces.area.size(); ++p) {
    if (pieces.area[p] < kBody_ratio * total) continue;
    std::vector<std::uint8_t> here(mesh.triangles.size());
    for (std::size_t i = 0; i < here.size(); ++i) here[i] = pieces.of_triangle[i] == p;
    if (!has_body(submesh(mesh, here))) continue;
    for (std::size_t i = 0; i < here.size(); ++i) keep[i] |= here[i];
  }
  return submesh(mesh, keep);
}

/// Slots, cuts and holes are closed over where there are any.
std::optional<Mesh> without_slots(const Mesh& bodies, InputFacts& facts) {
  constexpr double kWorthIt_mm2 = 400.0, kPerCm2 = 100.0;  // a hole of 8 mm, 16 mm deep; our choice
  if (bodies.triangles.empty()) return std::nullopt;
  const double hidden_mm2 = hidden_wall_area_mm2(bodies);
  if (hidden_mm2 < kWorthIt_mm2) return std::nullopt;
  Mesh skin = closed_over(bodies);
  if (skin.triangles.empty() || !has_body(skin)) return std::nullopt;
  facts.repairs.push_back({"repair.closed_over", {{"area_cm2", Quantity{hidden_mm2 / kPerCm2, 0}}}});
  return skin;
}

void keep_largest_piece(Mesh& mesh, InputFacts& facts) {
  const Pieces pieces = pieces_of(mesh);
  if (pieces.area.size() < 2) return;
  mesh = largest_piece(mesh, pieces);
  facts.repairs.push_back({"repair.last_pieces", {{"count", std::uint64_t{pieces.area.size() - 1}}}});
}

/// Needles and fins: triangles that hang on the surface by a corner, or by an edge that has its two triangles already.
/// More than a few of them are no slip of a converter, and are left for the other checks.
void drop_hanging(Mesh& mesh, SurfaceFeatures& features, InputFacts& facts) {
  constexpr double kFew = 0.02;
  std::vector<std::uint8_t> keep;
  std::size_t dropped = 0;
  for (const auto& across : features.across) {
    const auto free = std::count(across.begin(), across.end(), SurfaceFeatures::kNone);
    const bool held =
        std::any_of(across.begin(), across.end(), [](std::uint32_t o) { return o < SurfaceFeatures::kCrowded; });
    keep.push_back(held || free < 2);
    dropped += keep.back() ? 0 : 1;
  }
  if (dropped == 0 || static_cast<double>(dropped) > kFew * static_cast<double>(keep.size())) return;
  mesh = submesh(mesh, keep);
  features = edge_features(mesh);
  facts.repairs.push_back({"repair.hanging", {{"count", static_cast<std::uint64_t>(dropped)}}});
}

/// A last is one skin. Where solids touch along edges, as the parts of one that folds, each has a bottom of its own.
/// Patches that were never sewn together are not meant.
void refuse_touching_bodies(const Mesh& mesh, const SurfaceFeatures& features, const std::string& name) {
  constexpr double kBody_ratio = 0.1;  // of all skin; flaps and fins have less, our choice
  const Pieces pieces = pieces_over_edges(mesh, features);
  std::vector<std::uint8_t> touches(pieces.area.size(), 0);
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
    for (const std::uint32_t across : features.across[i])
      if (across >= SurfaceFeatures::kCrowded && across != SurfaceFeatures::kNone) touches[pieces.of_triangle[i]] = 1;
  const double total = std::accumulate(pieces.area.begin(), pieces.area.end(), 0.0);
  int bodies = 0;
  for (std::size_t i = 0; i < touches.size(); ++i) bodies += touches[i] && pieces.area[i] > kBody_ratio * total ? 1 : 0;
  if (bodies > 1)
    throw InputError(about_file("last.bodies_touch", name, {{"count", static_cast<std::uint64_t>(bodies)}}));
}

std::size_t rim_edges(const SurfaceFeatures& features) {
  std::size_t count = 0;
  for (const auto& across : features.across)
    count += static_cast<std::size_t>(std::count(across.begin(), across.end(), SurfaceFeatures::kNone));
  return count;
}

constexpr std::size_t kFewestPoints = 2000;  // 7 mm apart; our choice

CleanLast skin_of_points(const MeshFile& file, Mesh points, const LastPreparation& settings, InputFacts& facts) {
  const double scale = mm_per_unit(file, settings, bounds(points).size().norm(), facts);
  for (Vec3& v : points.vertices) v *= scale;
  CleanLast clean{closed_over_points(points.vertices), false};
  clean.open_at_top = rim_edges(edge_features(clean.mesh)) > 0;
  if (!has_body(clean.mesh)) throw InputError(about_file("last.points_open", file.name));
  facts.repairs.push_back({"repair.points_to_skin", {{"count", std::uint64_t{points.vertices.size()}}}});
  return clean;
}

}  // namespace

CleanLast clean_last(const MeshFile& file, Mesh mesh, const LastPreparation& settings, InputFacts& facts) {
  if (mesh.triangles.empty() && mesh.vertices.size() >= kFewestPoints)
    return skin_of_points(file, std::move(mesh), settings, facts);
  if (mesh.triangles.size() < 100)
    throw InputError(about_file("last.too_few_triangles", file.name, {{"count", mesh.triangles.size()}}));
  CleanLast clean;
  clean.mesh = std::move(mesh);
  std::size_t merged = weld(clean.mesh);
  const double diagonal = bounds(clean.mesh).size().norm();
  if (!(diagonal > 0.0)) throw InputError(about_file("last.one_place", file.name));

  SurfaceFeatures features = edge_features(clean.mesh);
  const double rim_length = 0.05 * static_cast<double>(clean.mesh.triangles.size());
  if (static_cast<double>(rim_edges(features)) > rim_length) {  // far more rim than one open top has: gaps
    merged += close_gaps(clean.mesh, kGap_ratio * diagonal);
    features = edge_features(clean.mesh);
  }
  drop_hanging(clean.mesh, features, facts);
  if (merged > 0) facts.repairs.push_back({"repair.merged", {{"count", std::uint64_t{merged}}}});
  Mesh bodies = bodies_of(clean.mesh);
  keep_largest_piece(clean.mesh, facts);

  const double scale = mm_per_unit(file, settings, bounds(clean.mesh).size().norm(), facts);
  for (Vec3& v : clean.mesh.vertices) v *= scale;
  for (Vec3& v : bodies.vertices) v *= scale;
  if (std::optional<Mesh> skin = without_slots(bodies, facts)) {
    clean.mesh = *std::move(skin);
    clean.open_at_top = rim_edges(edge_features(clean.mesh)) > 0;
    return clean;
  }

  if (const std::size_t turned = make_winding_consistent(clean.mesh); turned > 0)
    facts.repairs.push_back({"repair.triangles_turned", {{"count", static_cast<std::uint64_t>(turned)}}});
  features = edge_features(clean.mesh);
  refuse_touching_bodies(clean.mesh, features, file.name);
  clean.open_at_top = rim_edges(features) > 0;
  const Box box = bounds(clean.mesh);
  if (closed_volume(clean.mesh, features, 0.5 * (box.low + box.high)) < 0.0) {
    for (Triangle& t : clean.mesh.triangles) std::swap(t[1], t[2]);
    facts.repairs.push_back({"repair.surface_turned"});
  }
  return clean;
}

}  // namespace lastroom
