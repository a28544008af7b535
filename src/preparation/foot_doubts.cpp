#include "preparation/foot_doubts.h"

#include <fmt/format.h>

#include <algorithm>

#include "error.h"
#include "geometry/signed_distance.h"

namespace lastroom {
namespace {

/// Our choice, in shares of foot length. Made feet of all shapes and the MakeHuman foot stray 0.001 to 0.010 from the
/// generic foot; cubes, balls, hands, heads and halves of feet 0.03 and more.
constexpr double kNoFoot = 0.022;
/// A last strays 0.011 to 0.025; a foot that has lost its furrows to a coarse scan may fit better than that.
constexpr double kNoFootWithoutToes = 0.009;
/// A last's bottom rises to its toe spring: by 0.015 and more in the mean (made lasts, the lowest of heel 0); toes that
/// run together stand on the floor.
constexpr double kSpring = 0.012;
constexpr std::size_t kTold = 2;  ///< borders between toes: a last may have a slot for a thong, but not two
/// Where a toe is missing furrows are there, though not which toes they part. Breadths alone tell a border's place to
/// within its furrow in half of all feet (our choice).
constexpr double kLikely = 0.9;
constexpr double kPartThere = 0.6;

}  // namespace

void refuse_unless_foot(const FootPoses& poses, const std::optional<Side>& side, bool inside_out,
                        const std::string& name) {
  const FootPose& best = poses.best;
  if (best.misfit < 2.0 * kNoFoot && best.toes_there < kPartThere && best.heel_there >= kPartThere)
    throw InputError(about_file("scan.no_toes", name));
  if (best.misfit < 2.0 * kNoFoot && best.heel_there < kPartThere && best.toes_there >= kPartThere)
    throw InputError(about_file("scan.no_heel", name));
  if (best.misfit > kNoFoot)
    throw InputError(
        about_file("scan.no_foot", name,
                   {{"misfit_mm", Quantity{250.0 * best.misfit, 0}}, {"most_mm", Quantity{250.0 * kNoFoot, 0}}}));
  if (side && *side != best.side() && poses.chance_of_wrong_side() < 0.05)
    throw InputError(about_file(inside_out ? "scan.other_side_or_mirrored" : "scan.other_side", name,
                                {{"side", Message{fmt::format("side_in_sentence.{}", side_name(best.side()))}},
                                 {"given", Message{fmt::format("side_in_sentence.{}", side_name(*side))}}}));
}

void refuse_without_toes(const StandingFoot& foot, double misfit, const std::string& name) {
  const FootLandmarks& marks = foot.landmarks;
  const auto told = std::count_if(marks.toe_borders.begin(), marks.toe_borders.end(),
                                  [](const ToeBorder& b) { return b.seen || b.probability > kLikely; });
  const bool given = std::any_of(marks.by_hand.begin() + 3, marks.by_hand.end(), [](bool hand) { return hand; });
  const bool on_floor = foot.toe_rise && *foot.toe_rise < kSpring * foot.length;
  if (misfit > kNoFootWithoutToes && told < static_cast<std::ptrdiff_t>(kTold) && !given && !on_floor)
    throw InputError(about_file("scan.toes_one", name));
}

void refuse_inner_wall(const Mesh& mesh_mm, const std::string& name) {
  // The skin of made feet is 0.45 to 0.66 of what their box has on its sides; two walls have twice that. Our choice:
  // with less than this nothing needs a closer look.
  constexpr double kMuchSkin_ratio = 0.75;
  const Vec3 box = bounds(mesh_mm).size();
  if (area_mm2(mesh_mm) < kMuchSkin_ratio * 2.0 * (box.x() * box.y() + box.y() * box.z() + box.z() * box.x())) return;

  // Behind an inner or an outer wall it is outside again. Our choices: no wall is printed thicker, and of a foot only
  // the toes' webs and edges are thinner.
  constexpr double kThickest_mm = 8.0, kMost_ratio = 0.5;
  constexpr std::size_t kSamples = 1000;
  const std::size_t step = 1 + mesh_mm.vertices.size() / kSamples;
  const std::vector<Vec3> normals = vertex_normals(mesh_mm);
  std::vector<Vec3> behind;
  for (std::size_t i = 0; i < normals.size(); i += step)
    behind.push_back(mesh_mm.vertices[i] - kThickest_mm * normals[i]);
  const std::vector<SurfacePoint> places = SignedDistance::looking_at(mesh_mm).at(behind);
  const auto outside = std::count_if(places.begin(), places.end(),
                                     [](const SurfacePoint& p) { return !p.on_rim && p.distance_mm > 0.0; });
  if (static_cast<double>(outside) > kMost_ratio * static_cast<double>(places.size()))
    throw InputError(about_file("scan.inner_wall", name));
}

}  // namespace lastroom
