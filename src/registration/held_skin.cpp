#include "registration/held_skin.h"

#include <algorithm>
#include <cmath>

#include "registration/registration.h"
#include "zones/toes.h"

namespace lastroom {
namespace {

// One sample is the mean of the skin in a cell: 5 mm evens out 0.8 mm of scan noise to under 0.3 mm and sinks a surface
// of 20 mm radius by only 5^2 / (12 * 20) = 0.1 mm.
constexpr double kCellMm = 5.0;

// A sole's border curves up and hangs over the feather edge: only its flat, within 32 degrees, lies on the bottom.
constexpr double kFlat = -0.85;

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
  std::vector<Cell> cells;
  for (std::uint32_t v = 0; v < foot.mesh.vertices.size(); ++v) {
    if (skin.zone[v] == Zone::toe_pads) continue;  // a toe's own height is its own; the floor stands for the pads
    const Vec3& p = foot.mesh.vertices[v];
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
    if (!on_the_bottom || normal.z() < kFlat * normal.norm()) held.samples.push_back(sample);
  }
}

/// The plane that the toes are held in: its height at the hinge, its rise from there, and how well five toes that each
/// stand at their own height tell its height.
struct ToePlane {
  double height_mm = 0.0, rise_ratio = 0.0, spread_mm = 0.0;
};

/// Through the middle height of the tread and the lower quarter of the toe pads, which bear less: held-up toes lie on a
/// last's bottom all the same, as the tread does. What is usual where either was not scanned.
ToePlane plane_under_toes(const Foot& foot, const SkinMap& skin, const Hinge& hinge, double foot_length_mm) {
  constexpr double kAtHinge = 0.08;    // of foot length, before and behind
  constexpr std::size_t kFewest = 50;  // vertices; fewer are a rag of a missing sole
  // 3 degrees down and 9 up: a toe beyond comes to the bottom by its own joints.
  constexpr double kLeastRatio = -0.05, kMostRatio = 0.15;
  // 0 to 9 degrees, evenly: the mean, and the spread at half a toe's length of 50 mm.
  constexpr double kUnseenRatio = 0.08, kUnseen_mm = 2.2;
  constexpr double kTread_mm = 1.5;        // the middle of a tread over its lowest skin: 0.9 to 1.9 on made feet
  constexpr double kHighestPads_mm = 8.0;  // what lies higher is the side of the toes
  const Vec3 forward = Vec3::UnitZ().cross(hinge.axis);
  std::vector<double> tread_mm, pads_mm, before_mm;
  std::array<std::vector<double>, 5> toe_mm;
  for (std::size_t v = 0; v < skin.zone.size(); ++v) {
    if (skin.sole_flat[v] == 0) continue;
    const Vec3& p = foot.mesh.vertices[v];
    const double along_mm = (p - hinge.point_mm).dot(forward);
    if (skin.zone[v] == Zone::tread && std::abs(along_mm) < kAtHinge * foot_length_mm) tread_mm.push_back(p.z());
    if (skin.zone[v] != Zone::toe_pads || skin.toe[v] == 0) continue;
    pads_mm.push_back(p.z());
    before_mm.push_back(along_mm);
    toe_mm[skin.toe[v] - 1u].push_back(p.z());
  }
  const auto quantile = [](std::vector<double>& values, double share) {
    const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
  };
  const auto median = [&](std::vector<double>& values) { return quantile(values, 0.5); };
  ToePlane plane;
  const bool pads_seen = pads_mm.size() >= kFewest && median(pads_mm) < kHighestPads_mm;
  if (foot.sole_missing || tread_mm.size() < kFewest) {
    plane.height_mm = kTread_mm;
    plane.rise_ratio = kUnseenRatio;
  } else {
    plane.height_mm = median(tread_mm);
  }
  if (pads_seen)
    plane.rise_ratio = std::clamp((quantile(pads_mm, 0.25) - plane.height_mm) / std::max(1.0, median(before_mm)),
                                  kLeastRatio, kMostRatio);
  double squares = 0.0, toes = 0.0;
  for (std::vector<double>& heights : toe_mm) {
    if (heights.empty()) continue;
    squares += std::pow(median(heights) - median(pads_mm), 2);
    toes += 1.0;
  }
  plane.spread_mm = foot.sole_missing || toes < 2.0 ? kUnseen_mm : std::sqrt(squares / (toes * (toes - 1.0)));
  return plane;
}

/// Points along each toe, from its root to its tip: of the floor, or of the plane the toes are held up in.
void add_floor_under_toes(HeldSkin& held, const Foot& foot, const SkinMap& skin) {
  constexpr int kSteps = 8;
  const FootLandmarks& marks = foot.landmarks;
  const double length_mm = foot_length_mm(marks);
  const Hinge hinge = hinge_in_foot(marks, length_mm);
  const Vec3 forward = Vec3::UnitZ().cross(hinge.axis);
  const ToePlane plane = plane_under_toes(foot, skin, hinge, length_mm);
  held.toe_plane_spread_mm = plane.spread_mm;
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const double across = (static_cast<double>(toe) + 0.5) / 5.0;
    const Vec3 root = marks.first_joint + across * (marks.fifth_joint - marks.first_joint);
    for (int step = 0; step < kSteps; ++step) {
      HeldSkin::Sample sample;
      const double along = 0.45 + 0.5 * (step + 0.5) / kSteps;  // behind it the sole's tread lies on the floor
      sample.foot_mm = root + along * (marks.toe_tips[toe] - root);
      sample.foot_mm.z() = plane.height_mm + plane.rise_ratio * (sample.foot_mm - hinge.point_mm).dot(forward);
      sample.part = part_of(Zone::toe_pads, true);
      sample.area_mm2 = kCellMm * kCellMm * 2.0;
      sample.on_floor = true;
      held.samples.push_back(sample);
    }
  }
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
  add_floor_under_toes(held, foot, skin);
  if (foot.sole_missing) add_floor_under_missing_sole(held, foot);
  for (const HeldSkin::Sample& sample : held.samples) held.area_mm2[sample.part] += sample.area_mm2;
  return held;
}

}  // namespace lastroom
