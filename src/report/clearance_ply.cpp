#include <cmath>

#include "report/colour_scale.h"
#include "report/outputs.h"
#include "report/worn.h"

namespace lastroom {

std::string clearance_ply(const Fitting& fitting) {
  const ClearanceField& field = fitting.clearance;
  const WornMesh skin = worn_skin(fitting);
  const bool placed = fitting.assessment.verdict != Verdict::none;
  std::vector<VertexColour> colours;
  std::vector<std::uint8_t> judged;
  colours.reserve(field.clearance_mm.size());
  judged.reserve(field.clearance_mm.size());
  for (std::size_t v = 0; v < field.clearance_mm.size(); ++v) {
    const bool counts = placed && is_judged(field, fitting.skin, v) && std::isfinite(field.clearance_mm[v]);
    colours.push_back(counts ? clearance_colour(field.clearance_mm[v]) : kNotJudged);
    judged.push_back(counts ? 1 : 0);
  }
  const std::vector<float> clearance_mm(field.clearance_mm.begin(), field.clearance_mm.end());
  return ply_with_clearance(skin.mesh, colours, clearance_mm, judged);
}

std::string change_ply(const Fitting& fitting, const Mesh& corrected) {
  constexpr double kThin_mm = 0.3;  // left as it is
  const std::vector<double>& height_mm = fitting.assessment.corrections.height_mm;
  std::vector<VertexColour> colours;
  for (const double mm : height_mm) colours.push_back(std::abs(mm) < kThin_mm ? kNotJudged : clearance_colour(-mm));
  return ply_with_change(corrected, colours, {height_mm.begin(), height_mm.end()});
}

}  // namespace lastroom
