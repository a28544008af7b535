#include "registration/held_skin.h"

#include <algorithm>
#include <cmath>

#include "geometry/area_mean.h"
#include "registration/registration.h"
#include "zones/toes.h"

namespace lastroom {
namespace {

// One sample is the mean of the skin in a cell: 5 mm evens out 0.8 mm of scan noise to under 0.3 mm and sinks a surface
// of 20 mm radius by only 5^2 / (12 * 20) = 0.1 mm.
constexpr double kCellMm = 5.0;

// A sole's border curves up and hangs over the feather edge: only its flat, within 32 degrees, lies on the bottom.
constexpr double kFlat = -0.85;

// Of foot length, before the joint line: the crease behind the toes' pads bears nothing.
constexpr double kPadsBegin_ratio = 0.12;

struct Cell {
  std::uint64_t key;
  std::uint32_t vertex;
};

std::uint64_t cell_key(const Vec3& p, std::size_t part) {
  const auto step = [](double mm) { return static_cast<std::uint64_t>(std::floor(mm / kCellMm) + 512.0) & 0x3ffu; };
  return (static_cast<std::uint64_t>(part) << 30u) | (step(p.x()) << 20u) | (step(p.y()) << 10u) | step(p.z());
}

void add_skin(HeldSkin& held, const Foot& foot, const SkinMap& skin) {
  const std::vector<double> areas = vertex_areas_mm2(foot.mesh);
  const std::vector<Vec3> normals = vertex_normals(foot.mesh);
  const FootLandmarks& marks = foot.landmarks;
  const double middle_slope = 0.5 * (marks.first_joint.y() + marks.fifth_joint.y()) /
                              std::max(1.0, 0.5 * (marks.first_joint.x() + marks.fifth_joint.x()));
  const ToesInPlan in_plan(marks);
  const double pads_begin_mm = kPadsBegin_ratio * foot_length_mm(marks);
  std::vector<Cell> cells;
  for (std::uint32_t v = 0; v < foot.mesh.vertices.size(); ++v) {
    const Vec3& p = foot.mesh.vertices[v];
    const double before_mm = in_plan.before_joint_line_mm(p);
    if (skin.zone[v] == Zone::joint_top && before_mm > 0.0) continue;  // there the toes' room begins
    if (skin.zone[v] == Zone::toe_pads && (skin.sole_flat[v] == 0 || before_mm < pads_begin_mm)) continue;
    const std::size_t part = part_of(skin.zone[v], p.y() > middle_slope * p.x());
    if (part < kParts && areas[v] > 0.0) cells.push_back({cell_key(p, part), v});
  }
  std::stable_sort(cells.begin(), cells.end(), [](const Cell& a, const Cell& b) { return a.key < b.key; });
  for (std::size_t i = 0; i < cells.size();) {
    HeldSkin::Sample sample;
    sample.part = static_cast<std::size_t>(cells[i].key >> 30u);
    const std::uint64_t key = cells[i].key;
    Vec3 normal = Vec3::Zero();
    for (; i < cells.size() && cells[i].key == key; ++i) {
      normal += areas[cells[i].vertex] * normals[cells[i].vertex];
      sample.foot_mm += areas[cells[i].vertex] * foot.mesh.vertices[cells[i].vertex];
      sample.area_mm2 += areas[cells[i].vertex];
    }
    sample.foot_mm /= sample.area_mm2;
    const Zone zone = kExpectedRoom[sample.part].zone;
    const bool on_the_bottom = zone == Zone::seat || zone == Zone::tread;
    if (zone == Zone::toe_pads)
      held.toe_soles.push_back(sample);
    else if (!on_the_bottom || normal.z() < kFlat * normal.norm())
      held.samples.push_back(sample);
  }
}

/// Of the height over the floor that toes bear at, where it was not scanned: about 1 mm on made feet, 4 on MakeHuman's.
constexpr double kUnseenLevel_mm = 2.5, kUnseenSpread_mm = 2.2;

/// Where the toes' soles were not scanned: a point that stands for them.
void stand_in_for_toe_soles(HeldSkin& held, const Foot& foot) {
  constexpr double kAlong = 0.7, kArea_mm2 = 2000.0;  // of the way from the joints to the tips; of five toes
  const Vec3 middle = hinge_in_foot(foot.landmarks, foot_length_mm(foot.landmarks)).point_mm;
  HeldSkin::Sample sample;
  sample.foot_mm = middle;
  for (const Vec3& tip : foot.landmarks.toe_tips) sample.foot_mm += kAlong / 5.0 * (tip - middle);
  sample.foot_mm.z() = kUnseenLevel_mm;
  sample.part = part_of(Zone::toe_pads, true);
  sample.area_mm2 = kArea_mm2;
  held.toe_soles = {sample};
  held.toe_level_spread_mm = kUnseenSpread_mm;
}

/// Whether the toes' soles were scanned at all, and how well they tell the height they bear at: one standard deviation
/// is a fifth more or less of them that bears (our choice).
void judge_toe_soles(HeldSkin& held, const Foot& foot) {
  constexpr double kFewest_mm2 = 300.0;       // less is a rag of a missing sole
  constexpr double kHighestBearing_mm = 5.0;  // what bears higher than this is the side of the toes
  constexpr double kShareSpread = 0.2;
  std::vector<std::pair<double, double>> heights_mm;
  double area_mm2 = 0.0;
  for (const HeldSkin::Sample& sole : held.toe_soles) {
    heights_mm.emplace_back(sole.foot_mm.z(), sole.area_mm2);
    area_mm2 += sole.area_mm2;
  }
  if (area_mm2 < kFewest_mm2 || mean_of_least(heights_mm, kBearingShare) > kHighestBearing_mm)
    return stand_in_for_toe_soles(held, foot);
  held.toe_level_spread_mm = foot.sole_missing ? kUnseenSpread_mm
                                               : 0.5 * (mean_of_least(heights_mm, kBearingShare + kShareSpread) -
                                                        mean_of_least(heights_mm, kBearingShare - kShareSpread));
}

/// The floor again, where a scan has no sole: under the heel and under the joints.
void add_floor_under_missing_sole(HeldSkin& held, const Foot& foot) {
  const double length_mm = foot_length_mm(foot.landmarks);
  const Vec3 joints = 0.5 * (foot.landmarks.first_joint + foot.landmarks.fifth_joint);
  const auto add_disc = [&](const Vec3& middle, double radius_mm, Zone zone) {
    for (double x = -radius_mm; x <= radius_mm; x += 2.0 * kCellMm)
      for (double y = -radius_mm; y <= radius_mm; y += 2.0 * kCellMm) {
        if (x * x + y * y > radius_mm * radius_mm) continue;
        HeldSkin::Sample sample;
        sample.foot_mm = Vec3(middle.x() + x, middle.y() + y, 0.0);
        sample.part = part_of(zone, true);
        sample.area_mm2 = 4.0 * kCellMm * kCellMm;
        sample.on_floor = true;
        held.samples.push_back(sample);
      }
  };
  add_disc(foot.landmarks.heel + Vec3(0.12 * length_mm, 0.0, 0.0), 0.07 * length_mm, Zone::seat);
  add_disc(joints, 0.09 * length_mm, Zone::tread);
}

}  // namespace

HeldSkin held_skin(const Foot& foot, const SkinMap& skin) {
  HeldSkin held;
  add_skin(held, foot, skin);
  judge_toe_soles(held, foot);
  if (foot.sole_missing) add_floor_under_missing_sole(held, foot);
  for (const auto* samples : {&held.samples, &held.toe_soles})
    for (const HeldSkin::Sample& sample : *samples) held.area_mm2[sample.part] += sample.area_mm2;
  return held;
}

}  // namespace lastroom
