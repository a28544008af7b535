#pragma once

#include "clearance/clearance.h"

namespace lastroom {

/// Fills `zone.patch_mm` and its like. `members` are the zone's judged vertices, `tail` the tightest of them, tightest
/// first: a disc is tried around each.
void note_worst_patch(const ClearanceField& field, const std::vector<std::uint32_t>& members,
                      const std::vector<std::uint32_t>& tail, ZoneClearance& zone);

}  // namespace lastroom
