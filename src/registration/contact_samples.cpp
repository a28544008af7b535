#include "registration/contact_samples.h"

#include <algorithm>
#include <cmath>

#include "geometry/area_mean.h"
#include "measurement/stations.h"
#include "registration/unseen_sole.h"
#include "zones/toes.h"

namespace lastroom {
namespace {

// One cell is the mean of its skin: 5 mm evens out 0.8 mm of scan noise to under 0.3 mm and sinks a surface of 20 mm
// radius by only 5^2 / (12 * 20) = 0.1 mm.
constexpr double kCellMm = 5.0;
// Skin this low, and flat within 32 degrees, bore on the floor: noise and what the floor was laid through (our choice).
constexpr double kBearsBelow_mm = 3.0;
constexpr double kFlat = -0.85;
// Toes' pads bear that lie this little over the lowest tenth of them (our choice).
constexpr double kPadsDepth_mm = 2.5, kLowestShare = 0.1;
constexpr double kPadsBegin_ratio = 0.12;  // of foot length before the joint line; the crease behind bears nothing

Tissue tissue_of(Zone zone) {
  switch (zone) {
    case Zone::seat:
      return Tissue::heel_pad;
    case Zone::arch:
    case Zone::tread:
    case Zone::toe_pads:
      return Tissue::fore_sole;
    case Zone::heel_back:
    case Zone::heel_sides:
      return Tissue::heel_cup;
    default:
      return Tissue::upper;
  }
}

struct Entry {
  std::uint64_t key;
  std::uint32_t vertex;
};

std::uint64_t cell_key(const Vec3& p, Zone zone) {
  const auto step = [](double mm) { return static_cast<std::uint64_t>(std::floor(mm / kCellMm) + 512.0) & 0x3ffu; };
  return (static_cast<std::uint64_t>(zone) << 30u) | (step(p.x()) << 20u) | (step(p.y()) << 10u) | step(p.z());
}

struct Cell {
  ContactSample sample;
  bool flat = false;
};

/// A third of each triangle's normal times its area, at its corners: noise, which makes skin rough and so larger, adds
/// up to nothing in them.
std::vector<Vec3> vertex_vector_areas_mm2(const Mesh& mesh) {
  std::vector<Vec3> areas(mesh.vertices.size(), Vec3::Zero());
  for (const Triangle& t : mesh.triangles) {
    const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
    for (const std::uint32_t v : t) areas[v] += (b - a).cross(c - a) / 6.0;
  }
  return areas;
}

std::vector<Cell> skin_cells(const Foot& foot, const SkinMap& skin) {
  const std::vector<double> areas = vertex_areas_mm2(foot.mesh);
  const std::vector<Vec3> vector_areas = vertex_vector_areas_mm2(foot.mesh);
  const FootLandmarks& marks = foot.landmarks;
  const double middle_slope = 0.5 * (marks.first_joint.y() + marks.fifth_joint.y()) /
                              std::max(1.0, 0.5 * (marks.first_joint.x() + marks.fifth_joint.x()));
  std::vector<Entry> entries;
  for (std::uint32_t v = 0; v < foot.mesh.vertices.size(); ++v)
    if (skin.zone[v] != Zone::none && areas[v] > 0.0)
      entries.push_back({cell_key(foot.mesh.vertices[v], skin.zone[v]), v});
  std::stable_sort(entries.begin(), entries.end(), [](const Entry& a, const Entry& b) { return a.key < b.key; });

  std::vector<Cell> cells;
  for (std::size_t i = 0; i < entries.size();) {
    Cell cell;
    ContactSample& sample = cell.sample;
    const std::uint64_t key = entries[i].key;
    Vec3 vector_area = Vec3::Zero();
    double area_mm2 = 0.0;
    for (; i < entries.size() && entries[i].key == key; ++i) {
      const std::uint32_t v = entries[i].vertex;
      vector_area += vector_areas[v];
      sample.foot_mm += areas[v] * foot.mesh.vertices[v];
      area_mm2 += areas[v];
    }
    sample.foot_mm /= area_mm2;
    sample.area_mm2 = vector_area.norm();
    sample.zone = static_cast<Zone>(key >> 30u);
    sample.tissue = tissue_of(sample.zone);
    sample.inside = sample.foot_mm.y() > middle_slope * sample.foot_mm.x();
    cell.flat = vector_area.z() < kFlat * sample.area_mm2;
    cells.push_back(cell);
  }
  if (foot.sole_missing)
    for (ContactSample& sample : unseen_sole(foot, kCellMm)) {
      sample.tissue = tissue_of(sample.zone);
      sample.inside = sample.foot_mm.y() > middle_slope * sample.foot_mm.x();
      cells.push_back({sample, true});
    }
  return cells;
}

bool is_rear_sole(Zone zone) { return zone == Zone::seat || zone == Zone::tread || zone == Zone::arch; }

/// The height that the toes' pads bear at, over the floor.
std::optional<double> toes_level_mm(const std::vector<Cell>& cells, const ToesInPlan& in_plan, double pads_begin_mm) {
  constexpr double kFewest_mm2 = 300.0;  // less is a rag of a sole that was not scanned
  std::vector<std::pair<double, double>> heights_mm;
  double area_mm2 = 0.0;
  for (const Cell& cell : cells) {
    const ContactSample& sample = cell.sample;
    if (sample.zone != Zone::toe_pads || !cell.flat || in_plan.before_joint_line_mm(sample.foot_mm) < pads_begin_mm)
      continue;
    heights_mm.emplace_back(sample.foot_mm.z(), sample.area_mm2);
    area_mm2 += sample.area_mm2;
  }
  if (area_mm2 < kFewest_mm2) return std::nullopt;
  return mean_of_least(heights_mm, kLowestShare);
}

/// The highest cell about this far along.
Vec3 instep_crest_mm(const std::vector<ContactSample>& cells, double station_mm) {
  Vec3 crest = Vec3(station_mm, 0.0, 0.0);
  for (const ContactSample& cell : cells)
    if (std::abs(cell.foot_mm.x() - station_mm) < kCellMm && cell.foot_mm.z() > crest.z()) crest = cell.foot_mm;
  return crest;
}

/// Which of the pads bear is not seen: half of their heights' standard deviation (our choice).
double toes_level_sigma_mm(const std::vector<ContactSample>& cells) {
  double area = 0.0, sum = 0.0, squares = 0.0;
  for (const ContactSample& cell : cells) {
    if (!cell.bears || cell.zone != Zone::toe_pads) continue;
    area += cell.area_mm2;
    sum += cell.area_mm2 * cell.foot_mm.z();
    squares += cell.area_mm2 * cell.foot_mm.z() * cell.foot_mm.z();
  }
  const double mean_mm = sum / area;
  return 0.5 * std::sqrt(std::max(0.0, squares / area - mean_mm * mean_mm));
}

/// The floor again, where a scan has no sole: under the heel and under the joints, with the area that bears on a made
/// foot (3000 and 4700 mm2 at 262 mm of length).
void add_floor_under_missing_sole(const Foot& foot, std::vector<ContactSample>& cells) {
  const double length_mm = foot_length_mm(foot.landmarks);
  const Vec3 joints = 0.5 * (foot.landmarks.first_joint + foot.landmarks.fifth_joint);
  const auto add_disc = [&](const Vec3& middle, double radius_mm, Zone zone, double area_mm2) {
    const std::size_t first = cells.size();
    for (double x = -radius_mm; x <= radius_mm; x += 2.0 * kCellMm)
      for (double y = -radius_mm; y <= radius_mm; y += 2.0 * kCellMm) {
        if (x * x + y * y > radius_mm * radius_mm) continue;
        ContactSample sample;
        sample.foot_mm = Vec3(middle.x() + x, middle.y() + y, kUnseenSole_mm);
        sample.zone = zone;
        sample.tissue = tissue_of(zone);
        sample.bears = sample.on_floor = true;
        cells.push_back(sample);
      }
    for (std::size_t i = first; i < cells.size(); ++i)
      cells[i].area_mm2 = area_mm2 / static_cast<double>(cells.size() - first);
  };
  add_disc(foot.landmarks.heel + Vec3(0.12 * length_mm, 0.0, 0.0), 0.07 * length_mm, Zone::seat,
           0.044 * length_mm * length_mm);
  add_disc(joints, 0.09 * length_mm, Zone::tread, 0.068 * length_mm * length_mm);
}

/// Where the toes' soles were not scanned: a point that stands for them.
ContactSample stand_in_for_toe_pads(const FootLandmarks& marks, const Vec3& joint_line_mm) {
  constexpr double kAlong = 0.7, kArea_mm2 = 1000.0;  // of the way from the joints to the tips; of five toes
  ContactSample sample;
  sample.foot_mm = joint_line_mm;
  for (const Vec3& tip : marks.toe_tips) sample.foot_mm += kAlong / 5.0 * (tip - joint_line_mm);
  sample.foot_mm.z() = kUnseenToes_mm;
  sample.zone = Zone::toe_pads;
  sample.tissue = Tissue::fore_sole;
  sample.area_mm2 = kArea_mm2;
  sample.bears = true;
  return sample;
}

}  // namespace

std::optional<std::size_t> side_region(Zone zone) {
  if (zone == Zone::heel_sides) return 0;
  if (zone == Zone::inside_joint || zone == Zone::outside_joint) return 1;
  return std::nullopt;
}

ContactSamples contact_samples(const Foot& foot, const SkinMap& skin) {
  constexpr double kFewestBearing_mm2 = 1500.0;  // a standing foot bears on ten times as much
  const double length_mm = foot_length_mm(foot.landmarks);
  const double pads_begin_mm = kPadsBegin_ratio * length_mm;
  const ToesInPlan in_plan(foot.landmarks);
  const std::vector<Cell> cells = skin_cells(foot, skin);
  const std::optional<double> toes_level = toes_level_mm(cells, in_plan, pads_begin_mm);

  ContactSamples samples;
  for (const Cell& cell : cells) {
    ContactSample sample = cell.sample;
    const double z_mm = sample.foot_mm.z();
    if (is_rear_sole(sample.zone))
      sample.bears = cell.flat && z_mm < kBearsBelow_mm;
    else if (sample.zone == Zone::toe_pads)
      sample.bears = cell.flat && toes_level && z_mm < *toes_level + kPadsDepth_mm &&
                     in_plan.before_joint_line_mm(sample.foot_mm) > pads_begin_mm;
    if (const auto region = side_region(sample.zone)) samples.sides_mm2[*region] += sample.area_mm2;
    samples.cells.push_back(sample);
  }
  const Hinge hinge = hinge_in_foot(foot.landmarks);
  if (!toes_level) samples.cells.push_back(stand_in_for_toe_pads(foot.landmarks, hinge.point_mm));
  samples.toes_level_sigma_mm =
      toes_level && !foot.sole_missing ? toes_level_sigma_mm(samples.cells) : kUnseenToesSigma_mm;
  const auto bearing_mm2 = [&] {
    double area_mm2 = 0.0;
    for (const ContactSample& sample : samples.cells)
      if (sample.bears && is_rear_sole(sample.zone)) area_mm2 += sample.area_mm2;
    return area_mm2;
  };
  if (bearing_mm2() < kFewestBearing_mm2) add_floor_under_missing_sole(foot, samples.cells);
  samples.bearing_mm2 = bearing_mm2();
  samples.fastened_mm = instep_crest_mm(samples.cells, foot.landmarks.heel.x() + kInstepStation * length_mm);
  const Vec3 forward = Vec3::UnitZ().cross(hinge.axis);
  for (const ContactSample& sample : samples.cells)
    if (sample.bears && sample.zone == Zone::toe_pads)
      samples.toes_bearing_moment_mm3 +=
          sample.area_mm2 * std::max(0.0, (sample.foot_mm - hinge.point_mm).dot(forward));
  return samples;
}

ContactSamples mirrored(ContactSamples samples) {
  for (ContactSample& cell : samples.cells) {
    cell.foot_mm.y() = -cell.foot_mm.y();
    cell.inside = !cell.inside;
  }
  samples.fastened_mm.y() = -samples.fastened_mm.y();
  return samples;
}

FootLandmarks mirrored(FootLandmarks landmarks) {
  for (Vec3* p : {&landmarks.heel, &landmarks.first_joint, &landmarks.fifth_joint, &landmarks.instep}) p->y() = -p->y();
  for (Vec3& tip : landmarks.toe_tips) tip.y() = -tip.y();
  std::swap(landmarks.first_joint, landmarks.fifth_joint);  // the hinge's axis keeps its sense
  return landmarks;
}

}  // namespace lastroom
