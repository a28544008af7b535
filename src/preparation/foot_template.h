#pragma once

#include <vector>

#include "geometry/mesh.h"

namespace lastroom {

/// A generic bare right foot without its leg, as points of the skin, in the foot frame, in units of the foot's length.
struct FootTemplatePoint {
  Vec3 point = Vec3::Zero();
  Vec3 normal = Vec3::UnitZ();
};
const std::vector<FootTemplatePoint>& foot_template();

/// Where that foot has its landmarks, in the same frame and unit.
struct FootTemplateLandmarks {
  Vec3 first_joint, fifth_joint;
  std::array<Vec3, 5> toe_tips;
};
const FootTemplateLandmarks& foot_template_landmarks();

}  // namespace lastroom
