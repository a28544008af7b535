#include "measurement/tape.h"

#include <algorithm>

namespace lastroom {

Girth taped(const Mesh& mesh, const Plane& plane) {
  const std::vector<SectionCurve> curves = section(mesh, plane);
  return {girth_mm(curves, plane), tape_loop(curves, plane)};
}

Girth taped_round_heel(const Mesh& mesh, const Girth& instep_girth, double heel_back_mm) {
  const std::vector<Vec3>& loop = instep_girth.loop_mm;
  if (loop.empty()) return {};
  const Vec3 instep =
      *std::max_element(loop.begin(), loop.end(), [](const Vec3& a, const Vec3& b) { return a.z() < b.z(); });
  const double heel_ends_mm = heel_back_mm + 0.5 * (instep.x() - heel_back_mm);  // nearer to the heel than to the tape
  const auto down_and_back = [](const Vec3& p) { return -p.x() - p.z(); };
  const Vec3* edge = nullptr;
  for (const Vec3& p : mesh.vertices)
    if (p.x() < heel_ends_mm && (!edge || down_and_back(p) > down_and_back(*edge))) edge = &p;
  if (!edge) return {};
  const Vec3 up = instep - *edge;
  return taped(mesh, {instep, Vec3(-up.z(), 0.0, up.x()).normalized()});
}

}  // namespace lastroom
