#include <cmath>
#include <limits>

#include "report/colour_scale.h"
#include "report/outputs.h"
#include "report/worn.h"

namespace lastroom {

std::string clearance_ply(const Fitting& fitting) {
  const ClearanceField& field = fitting.clearance;
  const WornMesh skin = worn_skin(fitting);
  const bool placed = fitting.assessment.verdict != Verdict::none;
  constexpr float kUnknown = std::numeric_limits<float>::quiet_NaN();
  std::vector<VertexColour> colours;
  std::vector<float> clearance_mm;
  colours.reserve(field.clearance_mm.size());
  clearance_mm.reserve(field.clearance_mm.size());
  for (std::size_t v = 0; v < field.clearance_mm.size(); ++v) {
    const bool known = placed && is_judged(field, fitting.skin, v) && std::isfinite(field.clearance_mm[v]);
    colours.push_back(known ? clearance_colour(field.clearance_mm[v]) : kNotJudged);
    clearance_mm.push_back(known ? static_cast<float>(field.clearance_mm[v]) : kUnknown);
  }
  return ply_with_clearance(skin.mesh, colours, clearance_mm);
}

}  // namespace lastroom
