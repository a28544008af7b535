#include "preparation/last_top.h"

#include <algorithm>
#include <cmath>

namespace lastroom {
namespace {

constexpr double kInFrontOf_ratio = 0.65;  // of the length: no cone reaches the joint; our choice

struct Face {
  Vec3 middle, normal;
  double area;
  std::uint32_t triangle;
};

/// The rear part's faces that look up, the only ones that a cut may be made of.
std::vector<Face> looking_up(const Mesh& mesh, double end_x) {
  constexpr double kUp = 0.75;  // cuts slope by up to 40 degrees; our choice
  std::vector<Face> faces;
  for (std::uint32_t i = 0; i < mesh.triangles.size(); ++i) {
    const Triangle& t = mesh.triangles[i];
    const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
    const Vec3 twice = (b - a).cross(c - a);
    const double length = twice.norm();
    if (twice.z() < kUp * length || !(length > 0.0) || a.x() > end_x) continue;
    faces.push_back({(a + b + c) / 3.0, twice / length, 0.5 * length, i});
  }
  return faces;
}

/// The faces of the largest flat piece.
struct Cut {
  Vec3 point = Vec3::Zero(), normal = Vec3::UnitZ();
  double area = 0.0;
  bool holds(const Face& face) const {
    constexpr double kFlat_mm = 1.0, kAlike = 0.95;  // sawn by hand or scanned; 18 degrees. Our choice.
    return face.normal.dot(normal) > kAlike && std::abs((face.middle - point).dot(normal)) < kFlat_mm;
  }
};

Cut flattest(const std::vector<Face>& faces) {
  constexpr double kTries = 60.0;  // places spread evenly over the area
  double total = 0.0;
  for (const Face& face : faces) total += face.area;
  Cut best;
  double passed = 0.0, next = 0.5 * total / kTries;
  for (const Face& seed : faces) {
    if ((passed += seed.area) < next) continue;
    while (next <= passed) next += total / kTries;
    Cut cut{seed.middle, seed.normal, 0.0};
    for (int round = 0; round < 3; ++round) {  // each time the plane of what it holds
      Vec3 point = Vec3::Zero(), normal = Vec3::Zero();
      double area = 0.0;
      for (const Face& face : faces)
        if (cut.holds(face)) point += face.area * face.middle, normal += face.area * face.normal, area += face.area;
      if (!(area > 0.0)) break;
      cut = {point / area, normal.normalized(), area};
    }
    if (cut.area > best.area) best = cut;
  }
  return best;
}

/// A cut ends at edges, behind which the surface falls steeply: seen along its normal, little lies just below it. And
/// nothing stands over it.
bool is_cut(const Cut& cut, const Mesh& mesh, double end_x) {
  constexpr double kSmallest_mm2 = 300.0, kOver_mm = 3.0, kDeep_mm = 4.0, kBand = 0.5;  // our choice
  if (cut.area < kSmallest_mm2) return false;
  double band = 0.0;
  for (const Triangle& t : mesh.triangles) {
    const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
    if (a.x() > end_x) continue;
    const double over = ((a + b + c) / 3.0 - cut.point).dot(cut.normal);
    if (over > kOver_mm) return false;
    if (over < -1.0 && over > -kDeep_mm) band += std::max(0.0, 0.5 * (b - a).cross(c - a).dot(cut.normal));
  }
  return band < kBand * cut.area;
}

/// Heights by station and side.
class Heights {
 public:
  Heights(double from_x, double end_x)
      : from_x_(from_x), by_side_(2 * static_cast<std::size_t>(std::max(1.0, (end_x - from_x) / LastTop::kStep_mm))) {
    std::ranges::fill(by_side_, -1e30);
  }
  void add(const Vec3& p) {
    const double place = (p.x() - from_x_) / LastTop::kStep_mm;
    if (place < 0.0 || place >= static_cast<double>(stations())) return;
    double& height = by_side_[2 * static_cast<std::size_t>(place) + (p.y() > 0.0 ? 1 : 0)];
    height = std::max(height, p.z());
  }
  void add_edge(const Vec3& a, const Vec3& b) {  // an edge longer than a station's step passes through all of them
    const double steps = std::ceil(2.0 * std::abs(b.x() - a.x()) / LastTop::kStep_mm) + 1.0;
    for (double s = 0.0; s <= steps; ++s) add(a + s / steps * (b - a));
  }
  std::size_t stations() const { return by_side_.size() / 2; }
  double at(std::size_t station, std::size_t side) const { return by_side_[2 * station + side]; }

 private:
  double from_x_;
  std::vector<double> by_side_;
};

}  // namespace

LastTop find_top(const Mesh& mesh, const SurfaceFeatures& features, double length_mm) {
  const Box box = bounds(mesh);
  const double end_x = kInFrontOf_ratio * length_mm;
  LastTop top;
  const std::vector<Face> faces = looking_up(mesh, end_x);
  if (const Cut cut = flattest(faces); is_cut(cut, mesh, end_x)) {
    top.cut.assign(mesh.triangles.size(), 0);
    for (const Face& face : faces) top.cut[face.triangle] = cut.holds(face) ? 1 : 0;
  }
  // A rim is the top where nothing of the last stands over it: a hole lower down is not.
  Heights ends(box.low.x(), end_x), all(box.low.x(), end_x);
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 &a = mesh.vertices[mesh.triangles[i][k]], &b = mesh.vertices[mesh.triangles[i][(k + 1) % 3]];
      if (a.x() > end_x && b.x() > end_x) continue;
      all.add_edge(a, b);
      if (features.across[i][k] == SurfaceFeatures::kNone || (!top.cut.empty() && top.cut[i])) ends.add_edge(a, b);
    }
  constexpr double kOver_mm = 3.0;
  std::size_t best_from = 0, best_to = 0;
  for (std::size_t from = 0, to = 0; from < all.stations(); from = to + 1) {
    const auto ended = [&](std::size_t s) {
      return std::max(ends.at(s, 0), ends.at(s, 1)) > std::max(all.at(s, 0), all.at(s, 1)) - kOver_mm;
    };
    for (to = from; to < all.stations() && ended(to);) ++to;
    if (to - from > best_to - best_from) best_from = from, best_to = to;
  }
  constexpr std::size_t kShortest = 5;  // stations: 20 mm; our choice
  if (best_to - best_from < kShortest) {
    top.cut.clear();
    return top;
  }
  top.from_x_mm = box.low.x() + static_cast<double>(best_from) * LastTop::kStep_mm;
  for (std::size_t s = best_from; s < best_to; ++s) {
    const double higher = std::max(ends.at(s, 0), ends.at(s, 1));
    const auto side = [&](std::size_t k) { return ends.at(s, k) > -1e29 ? ends.at(s, k) : higher; };
    top.height_mm.push_back({side(0), side(1)});
  }
  return top;
}

LastTop mirrored_y(LastTop top) {
  for (auto& [right, left] : top.height_mm) std::swap(right, left);
  return top;
}

bool above_the_top(const LastTop& top, const Vec3& point_mm) {
  if (top.height_mm.empty()) return false;
  const double place = (point_mm.x() - top.from_x_mm) / LastTop::kStep_mm;
  const double last = static_cast<double>(top.height_mm.size()) - 1.0;
  const std::size_t side = point_mm.y() > 0.0 ? 1 : 0;
  const double in_front_mm = std::max(0.0, place - (last + 1.0)) * LastTop::kStep_mm;
  const auto station = static_cast<std::size_t>(std::clamp(place, 0.0, last));
  return point_mm.z() > top.height_mm[station][side] + in_front_mm;
}

}  // namespace lastroom
