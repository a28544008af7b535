#include "clearance/clearance.h"

namespace lastroom {

bool is_toe_end(Zone zone) {
  return zone == Zone::big_toe_tip || zone == Zone::middle_toes_tip || zone == Zone::fifth_toe_tip;
}

}  // namespace lastroom
