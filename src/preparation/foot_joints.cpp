#include "preparation/foot_joints.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace lastroom {
namespace {

constexpr double kFrom = 0.46, kStep = 0.004;  // of length: stations 1 mm apart
constexpr std::size_t kStations = 120;         // to 0.936
constexpr double kHighest = 0.22;              // of length: over it the side is the instep's

double x_of(std::size_t station) { return kFrom + kStep * static_cast<double>(station); }
std::size_t station_of(double x) {
  return static_cast<std::size_t>(std::clamp(std::round((x - kFrom) / kStep), 0.0, kStations - 1.0));
}

/// How far the skin reaches to one side at each station, in foot lengths; `side` is 1 for the inside, -1 outside.
using Edge = std::array<double, kStations>;

constexpr double kNone = -10.0;  ///< no skin at a station

/// Over 11 mm, a scan's noise; by the parabola through them (Savitzky and Golay 1964), which leaves a top where it is
/// though its two sides fall off differently.
Edge evened(const Edge& edge) {
  constexpr int kEven = 5;
  Edge even = edge;
  for (int i = 0; i < static_cast<int>(kStations); ++i) {
    double sum = 0.0, weights = 0.0;
    for (int k = -kEven; k <= kEven; ++k) {
      const int n = i + k;
      if (n < 0 || n >= static_cast<int>(kStations) || edge[static_cast<std::size_t>(n)] <= kNone) continue;
      const double weight = 3.0 * kEven * kEven + 3.0 * kEven - 1.0 - 5.0 * k * k;
      sum += weight * edge[static_cast<std::size_t>(n)], weights += weight;
    }
    if (weights > 0.0) even[static_cast<std::size_t>(i)] = sum / weights;
  }
  return even;
}

/// Cuts every triangle at every station, so that large ones count like many small ones.
Edge edge_of(const MeshView& mesh, double length, double side) {
  Edge edge;
  edge.fill(kNone);
  for (const Triangle& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 a = mesh.vertices[t[k]] / length, b = mesh.vertices[t[(k + 1) % 3]] / length;
      if (std::min(a.z(), b.z()) > kHighest) continue;
      const double low = std::min(a.x(), b.x()), high = std::max(a.x(), b.x());
      if (high < kFrom || low > x_of(kStations) || low == high) continue;
      const auto first = static_cast<std::size_t>(std::ceil(std::max(0.0, (low - kFrom) / kStep)));
      for (std::size_t i = first; i < kStations && x_of(i) <= high; ++i) {
        const Vec3 p = a + (x_of(i) - a.x()) / (b.x() - a.x()) * (b - a);
        if (p.z() < kHighest) edge[i] = std::max(edge[i], side * p.y());
      }
    }
  return evened(edge);
}

/// A place that the skin speaks for: where a height has a top, and how sharp that is.
struct Bulge {
  double at, sigma;
};

/// The highest of the tops of `height` between two places; a straight run has none. Seen from a little aside a round
/// top lies elsewhere: by that angle times its radius.
template <class Height>
std::optional<Bulge> top_between(double from, double to, const Height& height) {
  constexpr double kFall = 0.0008;  // of length: 0.2 mm, what evened skin may err by
  constexpr double kPlace = 0.004;  // of length, 1 mm: how finely the side is cut (A2: a joint is its skin's top)
  constexpr double kAside = 0.035;  // 2 degrees, our choice: half of what the outline's bend spreads by (A3)
  std::size_t top = station_of(from);
  for (std::size_t i = top; i <= station_of(to); ++i)
    if (height(i) > height(top)) top = i;
  if (top == station_of(from) || top == station_of(to)) return std::nullopt;
  std::size_t low = top, high = top;
  while (low > 0 && height(low) > height(top) - kFall) --low;
  while (high + 1 < kStations && height(high) > height(top) - kFall) ++high;
  const double half_width = 0.5 * kStep * static_cast<double>(high - low);
  const double radius = half_width * half_width / (2.0 * kFall);
  return Bulge{x_of(top), std::hypot(kPlace, kAside * radius)};
}

/// Whether the side falls off steeply behind where a head would end: the front of its ray is gone.
bool ends_early(const Edge& edge, double head_ends) {
  constexpr std::size_t kOver = 3;               // stations, 3 mm
  constexpr double kFall = 1.5 * kOver * kStep;  // by 56 degrees: whole feet, bunions too, stay under 45 (our choice)
  for (std::size_t i = 0; x_of(i + kOver) < head_ends; ++i)
    if (edge[i + kOver] > kNone && edge[i] - edge[i + kOver] > kFall) return true;
  return false;
}

/// How well a joint at each station agrees with the side's bulge, which may mislead. The tape goes over the most inside
/// and the most outside point (A2); the bulge from the chord speaks where there is none, since the toe itself stands
/// out most. Where the head itself is gone, a stump's bulge says nothing.
std::array<double, kStations> likelihood(const Edge& edge, double from, double to, double chord_from, double chord_to,
                                         bool head_gone) {
  constexpr double kMostOutside = 0.9, kChord = 0.8, kNeither = 0.1;  // our choice
  std::array<double, kStations> result;
  result.fill(kNeither / (to - from));
  if (head_gone) return result;
  const std::optional<Bulge> most_outside = top_between(from, to, [&](std::size_t i) { return edge[i]; });
  const std::size_t a = station_of(chord_from), b = station_of(chord_to);
  const double slope = (edge[b] - edge[a]) / (x_of(b) - x_of(a));
  const std::optional<Bulge> bulge =
      most_outside ? most_outside : top_between(from, to, [&](std::size_t i) { return edge[i] - slope * x_of(i); });
  if (!bulge) return result;
  for (std::size_t i = 0; i < kStations; ++i) {
    const double off = (x_of(i) - bulge->at) / bulge->sigma;
    result[i] += (most_outside ? kMostOutside : kChord) * std::exp(-0.5 * off * off) / (bulge->sigma * 2.5066);
  }
  return result;
}

}  // namespace

JointPlaces find_joints(const MeshView& mesh, double length) {
  // People: the first head at 0.739 +- 0.015 (A1: 1st to 99th percentile 0.704 to 0.774), the fifth 25 to 30 mm behind
  // it (surveys, from memory). That the fifth lies at 0.60 to 0.66 (A8) follows from the two, and is not said twice.
  constexpr double kFirst = 0.739, kFirstSpread = 0.015, kBehind = 0.100, kBehindSpread = 0.016;
  const Edge inside_edge = edge_of(mesh, length, 1.0), outside_edge = edge_of(mesh, length, -1.0);
  // A stump ends before the head does: half of one is 0.03 long (common practice, no source); the inside's is not
  // waited for, since a drifted big toe falls off there.
  const bool first_gone = ends_early(inside_edge, kFirst),
             fifth_gone = ends_early(outside_edge, kFirst - kBehind + 0.03);
  const std::array<double, kStations> inside = likelihood(inside_edge, 0.66, 0.82, 0.54, 0.88, first_gone);
  const std::array<double, kStations> outside = likelihood(outside_edge, 0.55, 0.74, 0.48, 0.78, fifth_gone);
  double sum = 0.0;
  Vec2 mean = Vec2::Zero(), square = Vec2::Zero();
  for (std::size_t i = 0; i < kStations; ++i)
    for (std::size_t o = 0; o < kStations; ++o) {
      const Vec2 at(x_of(i), x_of(o));
      const Vec2 off((at.x() - kFirst) / kFirstSpread, (at.x() - at.y() - kBehind) / kBehindSpread);
      const double weight = inside[i] * outside[o] * std::exp(-0.5 * off.squaredNorm());
      sum += weight, mean += weight * at, square += weight * at.cwiseProduct(at);
    }
  mean /= sum;
  const Vec2 sigma = (square / sum - mean.cwiseProduct(mean)).cwiseMax(0.0).cwiseSqrt();
  return {{mean.x(), sigma.x()}, {mean.y(), sigma.y()}};
}

}  // namespace lastroom
