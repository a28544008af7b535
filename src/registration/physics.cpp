#include "registration/physics.h"

namespace lastroom {

Physics usual_physics() {
  Physics physics{};
  for (const PhysicsRange& range : kPhysicsRanges) physics.*range.value = 0.5 * (range.least + range.most);
  return physics;
}

}  // namespace lastroom
