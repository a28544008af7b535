#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "geometry/section.h"
#include "measurement/measure.h"
#include "measurement/stations.h"
#include "measurement/tape.h"

namespace lastroom {
namespace {

Girth taped_across(const Mesh& mesh, double x_mm) { return taped(mesh, {Vec3(x_mm, 0.0, 0.0), Vec3::UnitX()}); }

/// Upright plane through both joints: the tape runs obliquely (D5), over the most inside and the most outside point
/// (A2).
Girth taped_over_joints(const Mesh& mesh, const FootLandmarks& marks) {
  const Vec3 across = marks.first_joint - marks.fifth_joint;
  return taped(mesh, {marks.first_joint, Vec3(across.y(), -across.x(), 0.0).normalized()});
}

/// What the girth changes by when each joint lies one standard deviation off: the root mean square of further forward
/// and further back, since a foot widens to one side only. Skin that is missing under the foot would have made it
/// longer: a sole that ends 3 to 7 mm over the floor takes 1 to 4 mm off (made feet).
double joint_girth_sigma_mm(const Foot& foot, double girth_mm) {
  constexpr double kMissingSole_mm = 2.0;
  const FootLandmarks& marks = foot.landmarks;
  double squares = foot.sole_missing ? kMissingSole_mm * kMissingSole_mm : 0.0;
  for (const double way : {1.0, -1.0}) {
    FootLandmarks first = marks, fifth = marks;
    first.first_joint.x() += way * marks.first_joint_sigma_mm;
    fifth.fifth_joint.x() += way * marks.fifth_joint_sigma_mm;
    for (const FootLandmarks& moved : {first, fifth})
      squares += 0.5 * std::pow(taped_over_joints(foot.mesh, moved).mm - girth_mm, 2);
  }
  return std::sqrt(squares);
}

double heel_width_mm(const Mesh& mesh, double length_mm) {
  double inside = 0.0, outside = 0.0;
  for (const SectionCurve& curve : section(mesh, {Vec3(kHeelWidthStation * length_mm, 0.0, 0.0), Vec3::UnitX()}))
    for (const Vec3& p : curve.points_mm)
      if (p.z() < kHeelWidthBelow_mm) inside = std::max(inside, p.y()), outside = std::min(outside, p.y());
  return inside - outside;
}

/// Top of a toe at its last joint: the highest skin across the toe there.
double toe_height_mm(const Mesh& mesh, const Vec3& tip, double back_mm, double half_width_mm) {
  double top = 0.0;
  for (const SectionCurve& curve : section(mesh, {tip - back_mm * Vec3::UnitX(), Vec3::UnitX()}))
    for (const Vec3& p : curve.points_mm)
      if (std::abs(p.y() - tip.y()) < half_width_mm) top = std::max(top, p.z());
  return top;
}

/// ANSUR II, 1st to 99th percentile over men and women (Gordon et al. 2014, NATICK/TR-15/007): A1.
void compare_with_population(FootMeasures& m) {
  constexpr double kShortest_mm = 198.0, kLongest_mm = 323.0;
  if (m.length_mm < kShortest_mm || m.length_mm > kLongest_mm)
    m.outside_population.push_back({"population.foot_length",
                                    {{"length_mm", Quantity{m.length_mm, 0}},
                                     {"low_mm", Quantity{kShortest_mm, 0}},
                                     {"high_mm", Quantity{kLongest_mm, 0}}}});
  const auto told = [&](const char* what, double ratio, double low, double high) {
    if (ratio < low || ratio > high)
      m.outside_population.push_back({"population.ratio",
                                      {{"what", Message{what}},
                                       {"ratio", Quantity{ratio, 3}},
                                       {"low", Quantity{low, 3}},
                                       {"high", Quantity{high, 3}}}});
  };
  told("population.heel_to_joint", m.heel_to_joint_mm / m.length_mm, 0.704, 0.774);
  told("population.joint_width", m.joint_width_mm / m.length_mm, 0.336, 0.421);
  told("population.joint_girth", m.joint_girth.mm / m.length_mm, 0.829, 1.033);
  told("population.girth_by_width", m.joint_girth.mm / m.joint_width_mm, 2.306, 2.634);
  told("population.heel_width", m.heel_width_mm / m.joint_width_mm, 0.610, 0.845);
}

}  // namespace

FootMeasures measure_foot(const Foot& foot) {
  const FootLandmarks& marks = foot.landmarks;
  FootMeasures m;
  const auto longest = std::max_element(marks.toe_tips.begin(), marks.toe_tips.end(),
                                        [](const Vec3& a, const Vec3& b) { return a.x() < b.x(); });
  m.longest_toe = static_cast<int>(longest - marks.toe_tips.begin()) + 1;
  m.length_mm = foot_length_mm(marks);

  const double instep_mm = marks.heel.x() + kInstepStation * m.length_mm;
  const double joint_mm = (marks.first_joint.x() + marks.fifth_joint.x()) / 2.0;
  m.joint_girth = taped_over_joints(foot.mesh, marks);
  m.joint_girth_sigma_mm = joint_girth_sigma_mm(foot, m.joint_girth.mm);
  m.waist_girth = taped_across(foot.mesh, joint_mm + kWaistBetween * (instep_mm - joint_mm));
  m.instep_girth = taped_across(foot.mesh, instep_mm);
  m.heel_girth = taped_round_heel(foot.mesh, m.instep_girth, marks.heel.x());

  m.joint_width_mm = marks.first_joint.y() - marks.fifth_joint.y();
  m.heel_width_mm = heel_width_mm(foot.mesh, m.length_mm);
  m.heel_to_joint_mm = marks.first_joint.x() - marks.heel.x();
  m.heel_to_fifth_joint_mm = marks.fifth_joint.x() - marks.heel.x();
  m.big_toe_height_mm =
      toe_height_mm(foot.mesh, marks.toe_tips[0], kBigToeJointBehindTip * m.length_mm, kBigToeHalfWidth_mm);
  m.fifth_toe_height_mm =
      toe_height_mm(foot.mesh, marks.toe_tips[4], kFifthToeJointBehindTip * m.length_mm, kFifthToeHalfWidth_mm);
  for (const SectionCurve& curve : section(foot.mesh, {Vec3(instep_mm, 0.0, 0.0), Vec3::UnitX()}))
    for (const Vec3& p : curve.points_mm) m.instep_height_mm = std::max(m.instep_height_mm, p.z());
  compare_with_population(m);
  return m;
}

}  // namespace lastroom
