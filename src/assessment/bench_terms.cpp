#include "assessment/bench_terms.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "geometry/barycentric.h"
#include "geometry/section.h"
#include "measurement/stations.h"

namespace lastroom {
namespace {

std::vector<Vec3>::const_iterator nearest_in_plan(const std::vector<Vec3>& line, const Vec3& p) {
  return std::min_element(line.begin(), line.end(), [&](const Vec3& a, const Vec3& b) {
    return (a - p).head<2>().squaredNorm() < (b - p).head<2>().squaredNorm();
  });
}

}  // namespace

double from_heel_mm(const Last& last, const Vec3& p) {
  const auto there = nearest_in_plan(last.centre_line, p);
  if (there == last.centre_line.end()) return p.x();
  double walked = 0.0;
  for (auto at = last.centre_line.begin(); at != there; ++at) walked += (*(at + 1) - *at).norm();
  return walked;
}

namespace {

/// A closed line's places, so far apart.
std::vector<Vec3> evenly(const std::vector<Vec3>& loop, double every_mm) {
  std::vector<Vec3> places;
  double walked = 0.0, next = 0.0;
  for (std::size_t i = 0; i < loop.size(); ++i) {
    const Vec3 &a = loop[i], &b = loop[(i + 1) % loop.size()];
    const double side = (b - a).norm();
    for (; next < walked + side; next += every_mm) places.push_back(a + (next - walked) / side * (b - a));
    walked += side;
  }
  return places;
}

}  // namespace

std::vector<Vec3> smooth_feather_edge(const Last& last) {
  std::vector<Vec3> loop = last.feather_edge;
  constexpr double kEvery_mm = 2.0, kReach_mm = 8.0;
  for (int round = 0; round < 2; ++round) {
    const std::vector<Vec3> places = evenly(loop, kEvery_mm);
    constexpr auto kReach = static_cast<std::size_t>(kReach_mm / kEvery_mm);
    const std::size_t count = places.size();
    loop.assign(count, Vec3::Zero());
    for (std::size_t i = 0; i < count; ++i)
      for (std::size_t k = 0; k <= 2 * kReach; ++k)
        loop[i] += places[(i + k + count - kReach) % count] / static_cast<double>(2 * kReach + 1);
  }
  const auto heel = std::ranges::min_element(loop, {}, [](const Vec3& p) { return p.squaredNorm(); });
  std::rotate(loop.begin(), heel, loop.end());
  return loop;
}

double centre_y_mm(const Last& last, const Vec3& p) {
  const auto there = std::ranges::lower_bound(last.centre_line, p.x(), {}, [](const Vec3& c) { return c.x(); });
  if (there != last.centre_line.end()) return there->y();
  return last.centre_line.empty() ? 0.0 : last.centre_line.back().y();
}

namespace {

double to_segment_mm(const Vec3& p, const Vec3& a, const Vec3& b) {
  const Vec3 along = b - a;
  const double squared = along.squaredNorm();
  const double t = squared > 0.0 ? std::clamp((p - a).dot(along) / squared, 0.0, 1.0) : 0.0;
  return (p - a - t * along).norm();
}

/// The nearest place of the feather edge: how far off, and how far along it from the heel point by its own side.
struct OnEdge {
  double off_mm = 1e9, along_mm = 0.0;
};
OnEdge on_feather_edge(const std::vector<Vec3>& edge, const Vec3& p) {
  OnEdge found;
  double walked = 0.0;
  for (std::size_t i = 0; i < edge.size(); ++i) {
    const Vec3 &a = edge[i], &b = edge[(i + 1) % edge.size()];
    if (const double off = to_segment_mm(p, a, b); off < found.off_mm) found = {off, walked + (p - a).norm()};
    walked += (b - a).norm();
  }
  found.along_mm = std::min(found.along_mm, walked - found.along_mm);
  return found;
}

/// The upright cut through a place, square to the last's side there.
Plane cut_through(const Vec3& at, const Vec3& normal) {
  const Vec3 along(-normal.y(), normal.x(), 0.0);
  constexpr double kSteep = 0.5;  // a place on the top has no side: it is cut across
  return {at, along.norm() > kSteep ? Vec3(along.normalized()) : Vec3(Vec3::UnitX())};
}

/// A walk along a cut from its place nearest to `at`, one way.
struct Walk {
  double to_edge_mm = 0.0, changed_mm = 0.0;
  bool edge_met = false;
  Vec3 end_mm = Vec3::Zero();
};
template <class IsChanged>
Walk walked(const SectionCurve& curve, std::size_t start, bool forwards, const std::vector<Vec3>& edge,
            const IsChanged& is_changed) {
  constexpr double kAtEdge_mm = 1.5;
  const std::size_t count = curve.points_mm.size();
  Walk walk{.end_mm = curve.points_mm[start]};
  bool changed = true;
  for (std::size_t step = 1; step < count; ++step) {
    if (!curve.closed && (forwards ? start + step >= count : step > start)) break;
    const Vec3& next = curve.points_mm[(forwards ? start + step : start + count - step) % count];
    walk.to_edge_mm += (next - walk.end_mm).norm();
    walk.end_mm = next;
    changed = changed && is_changed(next);
    if (changed) walk.changed_mm = walk.to_edge_mm;
    if (on_feather_edge(edge, next).off_mm < kAtEdge_mm) {
      walk.edge_met = true;
      break;
    }
  }
  return walk;
}

}  // namespace

BenchPlace bench_place(const Last& last, const SignedDistance& surface, const std::vector<double>& height_mm,
                       std::uint32_t peak, bool on_bottom) {
  const Vec3& at = last.mesh.vertices[peak];
  BenchPlace place;
  place.inside = at.y() > centre_y_mm(last, at);
  place.on_bottom = on_bottom;
  const std::vector<Vec3> edge = smooth_feather_edge(last);
  place.along_mm = on_bottom ? from_heel_mm(last, at) : on_feather_edge(edge, at).along_mm;
  place.up_mm = on_bottom ? std::abs(at.y() - centre_y_mm(last, at)) : 0.0;
  const Plane cut = cut_through(at, surface.at(at).normal);
  const SectionCurve* nearest = nullptr;
  std::size_t start = 0;
  double least = 1e9;
  const std::vector<SectionCurve> curves = section(last.mesh, cut);
  for (const SectionCurve& curve : curves)
    for (std::size_t i = 0; i < curve.points_mm.size(); ++i)
      if (const double off = (curve.points_mm[i] - at).norm(); off < least) least = off, nearest = &curve, start = i;
  if (!nearest) return place;
  constexpr double kThin_mm = 0.3;
  const auto is_changed = [&](const Vec3& p) {
    const SurfacePoint there = surface.at(p);
    return std::abs(at_point(last.mesh, height_mm, there.triangle, there.point_mm)) >= kThin_mm;
  };
  const Walk one = walked(*nearest, start, true, last.feather_edge, is_changed),
             other = walked(*nearest, start, false, last.feather_edge, is_changed);
  place.across_mm = one.changed_mm + other.changed_mm;
  place.side_mm = (on_bottom ? 1.0 : 0.5) * (one.to_edge_mm + other.to_edge_mm);
  if (!on_bottom && one.edge_met != other.edge_met) place.side_mm *= 2.0;  // open above: one side alone
  const Walk& down = !other.edge_met || (one.edge_met && one.to_edge_mm < other.to_edge_mm) ? one : other;
  if (on_bottom || !down.edge_met) return place;
  place.up_mm = down.to_edge_mm;
  place.along_mm = on_feather_edge(edge, down.end_mm).along_mm;
  return place;
}

std::string_view station_name(Station station) {
  constexpr std::array<std::string_view, kStationCount> kNames = {"seat", "instep", "waist", "joint", "toes"};
  return kNames.at(static_cast<std::size_t>(station));
}

std::array<double, kStationCount> stations_mm(const Last& last, const LastMeasures& measures) {
  const double foot_mm = measures.heel_to_joint_mm / kHeelToJointPerLength, heel_mm = last.heel_back.x();
  const double joint_mm = 0.5 * (last.first_joint.x() + last.fifth_joint.x());
  const double instep_mm = heel_mm + kInstepStation * foot_mm;
  return {heel_mm + kHeelWidthStation * foot_mm, instep_mm, instep_mm + kWaistBetween * (joint_mm - instep_mm),
          joint_mm, 0.5 * (joint_mm + last.toe_end.x())};
}

NearestStation nearest_station(const Last& last, const LastMeasures& measures, const Vec3& p) {
  const std::array<double, kStationCount> at_mm = stations_mm(last, measures);
  std::size_t best = 0;
  for (std::size_t k = 1; k < at_mm.size(); ++k)
    if (std::abs(p.x() - at_mm[k]) < std::abs(p.x() - at_mm[best])) best = k;
  return {static_cast<Station>(best), p.x() - at_mm[best]};
}

}  // namespace lastroom
