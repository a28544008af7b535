#include <cmath>

#include "report/colour_scale.h"
#include "report/outputs.h"
#include "report/worn.h"

namespace lastroom {

std::string clearance_ply(const Fitting& fitting) {
  const ClearanceField& field = fitting.clearance;
  const WornMesh skin = worn_skin(fitting);
  std::vector<VertexColour> colours;
  std::vector<float> clearance_mm;
  colours.reserve(field.clearance_mm.size());
  clearance_mm.reserve(field.clearance_mm.size());
  for (std::size_t v = 0; v < field.clearance_mm.size(); ++v) {
    const bool known = !field.on_rim[v] && std::isfinite(field.clearance_mm[v]);
    colours.push_back(known ? clearance_colour(field.clearance_mm[v]) : kNotJudged);
    clearance_mm.push_back(static_cast<float>(field.clearance_mm[v]));
  }
  return ply_with_clearance(skin.mesh, colours, clearance_mm);
}

}  // namespace lastroom
