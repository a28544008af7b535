#include <algorithm>
#include <cmath>

#include "geometry/section.h"
#include "measurement/measure.h"
#include "measurement/stations.h"
#include "measurement/tape.h"

namespace lastroom {
namespace {

/// The tape lies square to the bottom's centre line, as it lies square to the sole of a foot that stands flat.
Plane across_bottom(const std::vector<Vec3>& centre_line, double x_mm) {
  constexpr double kReach_mm = 15.0;  // on both sides, over which the bottom's slope is taken
  const auto at = [&](double x) {
    auto next =
        std::lower_bound(centre_line.begin(), centre_line.end(), x, [](const Vec3& p, double v) { return p.x() < v; });
    if (next == centre_line.begin()) return centre_line.front();
    if (next == centre_line.end()) return centre_line.back();
    const Vec3 &a = *(next - 1), &b = *next;
    return Vec3(a + (x - a.x()) / (b.x() - a.x()) * (b - a));
  };
  const Vec3 along = at(x_mm + kReach_mm) - at(x_mm - kReach_mm);
  return {at(x_mm), Vec3(along.x(), 0.0, along.z()).normalized()};
}

double heel_width_mm(const Last& last, double x_mm) {
  const double seat_mm = last.centre_line.front().z();
  double inside = 0.0, outside = 0.0;
  for (const SectionCurve& curve : section(last.mesh, {Vec3(x_mm, 0.0, 0.0), Vec3::UnitX()}))
    for (const Vec3& p : curve.points_mm)
      if (p.z() < seat_mm + kHeelWidthBelow_mm) inside = std::max(inside, p.y()), outside = std::min(outside, p.y());
  return inside - outside;
}

/// The feather edge at the heel point, evened: where an edge is round, or was scanned, it is found a millimetre or two
/// up or down from place to place. Median over what lies around the heel point, carried there along the bottom's slope.
double heel_edge_z_mm(const Last& last) {
  constexpr double kReach_mm = 10.0;
  const Vec3 along = across_bottom(last.centre_line, last.centre_line.front().x() + kReach_mm).normal;
  const Vec3& heel = last.centre_line.front();
  std::vector<double> z_mm;
  for (const Vec3& p : last.feather_edge)
    if ((p - heel).norm() < kReach_mm) z_mm.push_back(p.z() - (p.x() - heel.x()) * along.z() / along.x());
  if (z_mm.empty()) return heel.z();
  const auto middle = z_mm.begin() + static_cast<std::ptrdiff_t>(z_mm.size() / 2);
  std::nth_element(z_mm.begin(), middle, z_mm.end());
  return *middle;
}

}  // namespace

LastMeasures measure_last(const Last& last) {
  LastMeasures m;
  for (std::size_t i = 1; i < last.centre_line.size(); ++i)
    m.length_mm += (last.centre_line[i] - last.centre_line[i - 1]).norm();
  m.stick_length_mm = last.toe_end.x() - last.heel_back.x();

  m.heel_to_joint_mm = last.first_joint.x() - last.heel_back.x();
  m.heel_to_fifth_joint_mm = last.fifth_joint.x() - last.heel_back.x();
  m.joint_width_mm = last.first_joint.y() - last.fifth_joint.y();

  // Obliquely over both joints (D5), upright.
  const Vec3 across = last.first_joint - last.fifth_joint;
  m.joint_girth = taped(last.mesh, {last.first_joint, Vec3(across.y(), -across.x(), 0.0).normalized()});
  // The same stations as on the foot that belongs to this joint.
  const double foot_mm = m.heel_to_joint_mm / kHeelToJointPerLength;
  const double instep_mm = last.heel_back.x() + kInstepStation * foot_mm;
  const double joint_mm = (last.first_joint.x() + last.fifth_joint.x()) / 2.0;
  m.instep_girth = taped(last.mesh, across_bottom(last.centre_line, instep_mm));
  m.heel_girth = taped_round_heel(last.mesh, m.instep_girth, last.heel_back.x());
  m.waist_girth = taped(last.mesh, across_bottom(last.centre_line, joint_mm + kWaistBetween * (instep_mm - joint_mm)));
  m.heel_width_mm = heel_width_mm(last, last.heel_back.x() + kHeelWidthStation * foot_mm);

  m.heel_height_mm = heel_edge_z_mm(last) - last.tread.z();
  m.toe_spring_mm = last.centre_line.back().z() - last.tread.z();
  return m;
}

}  // namespace lastroom
