#include "standing_picture.h"

#include <fmt/format.h>

#include "geometry/section.h"

namespace lastroom::test {
namespace {

using Projection = std::pair<Vec3, Vec3>;  ///< right and up on the page

std::string drawn(const Mesh& mesh, const Plane& plane, const Projection& onto, const char* colour, const char* dash,
                  double right_mm, double down_mm) {
  std::string svg;
  for (const SectionCurve& curve : section(mesh, plane)) {
    svg +=
        "<path fill='none' stroke-width='0.5' stroke='" + std::string(colour) + "' stroke-dasharray='" + dash + "' d='";
    char move = 'M';
    for (const Vec3& p : curve.points_mm) {
      const Vec3 q = p - plane.point_mm;
      svg += fmt::format("{}{:.1f} {:.1f}", move, right_mm + q.dot(onto.first), down_mm - q.dot(onto.second));
      move = 'L';
    }
    svg += curve.closed ? "Z'/>" : "'/>";
  }
  return svg;
}

}  // namespace

std::string standing_picture(const StandingCase& standing, const std::vector<Vec3>* found_mm) {
  const Foot& foot = standing.foot;
  const Mesh truth{posed_skin(foot, standing.settled.pose), foot.mesh.triangles};
  const Mesh found{found_mm ? *found_mm : std::vector<Vec3>{}, foot.mesh.triangles};
  const Motion& pose = standing.settled.pose.last_from_foot;
  const MadeLast& last = standing.pair.last;
  std::string svg =
      "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 340 420' width='1360' height='1680'>"
      "<rect width='340' height='420' fill='white'/>";
  const auto panel = [&](const Plane& plane, const Projection& onto, double right_mm, double down_mm) {
    svg += drawn(last.mesh, plane, onto, "black", "none", right_mm, down_mm);
    svg += drawn(truth, plane, onto, "#c33", "none", right_mm, down_mm);
    if (found_mm) svg += drawn(found, plane, onto, "#26c", "2 1", right_mm, down_mm);
  };
  const double length_mm = standing.pair.foot.toe_tips[0].x();
  // Along the foot's middle, and along the big toe.
  const Vec3 heel = pose * foot.landmarks.heel, joint = standing.settled.pose.hinge.point_mm;
  const Vec3 along = (Vec3(joint.x(), joint.y(), 0.0) - Vec3(heel.x(), heel.y(), 0.0)).normalized();
  panel({Vec3(0.0, heel.y(), last.tread.z()), Vec3(-along.y(), along.x(), 0.0)}, {along, Vec3::UnitZ()}, 25.0, 140.0);
  const Vec3 first = last.first_joint - Vec3(0.0, 18.0, 0.0);
  panel({Vec3(0.0, first.y(), last.tread.z()), Vec3::UnitY()}, {Vec3::UnitX(), Vec3::UnitZ()}, 25.0, 270.0);
  const auto across = [&](double share, double right_mm, double down_mm) {
    const Vec3 at = pose * Vec3(share * length_mm, 0.0, 0.0);
    const Vec3 ahead = pose.linear() * Vec3::UnitX(), up = pose.linear() * Vec3::UnitZ();
    panel({at, ahead}, {pose.linear() * Vec3::UnitY(), up}, right_mm, down_mm);
  };
  across(0.12, 55.0, 400.0);
  across(0.45, 140.0, 400.0);
  across(0.69, 225.0, 400.0);
  const Vec3 toes(last.toe_end.x() - 45.0, 0.0, last.tread.z());
  panel({toes, Vec3::UnitX()}, {Vec3::UnitY(), Vec3::UnitZ()}, 295.0, 400.0);
  return svg + "</svg>\n";
}

}  // namespace lastroom::test
