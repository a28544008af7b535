#pragma once

#include <doctest/doctest.h>

#include <numbers>
#include <random>

#include "makehuman_feet.h"
#include "near.h"
#include "preparation/foot.h"

namespace lastroom::test {

/// E2 (ISO 20685-1, from memory): 2 mm is the largest mean error allowed of a dimension taken from a scan.
constexpr double kScanDimension_mm = 2.0;

/// Numbers for one test: portable, unlike the distributions of <random>.
class Dice {
 public:
  explicit Dice(unsigned seed) : engine_(seed) {}
  double unit() { return static_cast<double>(engine_()) / 4294967296.0; }
  double normal() {  // sum of twelve: mean 6, variance 1
    double sum = -6.0;
    for (int i = 0; i < 12; ++i) sum += unit();
    return sum;
  }
  Motion pose() {
    Motion motion = Motion::Identity();
    const double x = normal(), y = normal(), z = normal(), w = normal();
    motion.linear() = Eigen::Quaterniond(w, x, y, z).normalized().toRotationMatrix();
    for (int k = 0; k < 3; ++k) motion.translation()[k] = 1000.0 * unit() - 500.0;
    return motion;
  }

 private:
  std::mt19937 engine_;
};

inline MeshFile scan_of(Mesh mesh, double units_per_mm = 1.0) {
  for (Vec3& p : mesh.vertices) p *= units_per_mm;
  MeshFile file;
  file.name = "foot.stl";
  file.vertices_in_file = mesh.vertices.size();
  file.triangles_in_file = mesh.triangles.size();
  file.mesh = std::move(mesh);
  return file;
}

/// A right-form foot as a scanner may hand it out: of this side, lying anywhere.
inline Mesh thrown(const Mesh& right_form, Side side, const Motion& pose) {
  return moved(side == Side::left ? mirrored_y(right_form) : right_form, pose);
}

inline Mesh noisy(Mesh mesh, double noise_mm, unsigned seed) {
  Dice dice(seed);
  const std::vector<Vec3> normals = vertex_normals(mesh);
  for (std::size_t i = 0; i < normals.size(); ++i) mesh.vertices[i] += noise_mm * dice.normal() * normals[i];
  return mesh;
}

inline bool tells(const Foot& foot, const std::string& words) {
  return std::any_of(foot.facts.repairs.begin(), foot.facts.repairs.end(),
                     [&](const Message& repair) { return english(repair).find(words) != std::string::npos; });
}

/// The triangles whose first corner is wanted.
template <class Wanted>
Mesh part_where(const Mesh& mesh, const Wanted& wanted) {
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : mesh.triangles) keep.push_back(wanted(mesh.vertices[t[0]]) ? 1 : 0);
  return submesh(mesh, keep);
}

inline double longest_toe(const std::array<Vec3, 5>& tips) {
  double x = 0.0;
  for (const Vec3& tip : tips) x = std::max(x, tip.x());
  return x;
}

/// What was found against what was made: the coordinate that defines a landmark closely, the point itself more loosely,
/// because a round surface is level at its extreme: 2 mm in that coordinate's tangent plane cost 2^2 / (2 x 8 mm) =
/// 0.25 mm on the sharpest toe, a tenth of that on a heel, so noise moves the point along it.
inline void check_landmarks(const Foot& foot, const MadeFoot& truth, double within_mm) {
  const FootLandmarks& found = foot.landmarks;
  CHECK(found.heel.x() == WithinMm{0.0, 1e-6});
  CHECK(found.toe_tips[1].y() == WithinMm{0.0, 1e-6});
  CHECK(longest_toe(found.toe_tips) == WithinMm{longest_toe(truth.toe_tips), within_mm});
  CHECK(found.first_joint.y() - found.fifth_joint.y() ==
        WithinMm{truth.first_joint.y() - truth.fifth_joint.y(), within_mm});
  for (std::size_t toe = 0; toe < 5; ++toe) {
    CAPTURE(toe);
    CHECK(found.toe_tips[toe].x() == WithinMm{truth.toe_tips[toe].x(), within_mm});
    CHECK((found.toe_tips[toe] - truth.toe_tips[toe]).norm() < 2.5 * within_mm);
  }
  CHECK((found.first_joint - truth.first_joint).norm() < 2.5 * within_mm);
  CHECK((found.fifth_joint - truth.fifth_joint).norm() < 2.5 * within_mm);
}

}  // namespace lastroom::test
