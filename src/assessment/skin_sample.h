#pragma once

#include "assessment/assess.h"

namespace lastroom {

/// Some skin points of every zone that stand for the whole: enough for percentiles, cheap to ask again. Skin that is
/// not judged is left out.
struct SkinSample {
  std::vector<std::uint32_t> vertex;  ///< of foot.mesh
  SkinMap skin;
  ClearanceField field;  ///< one entry per sample; without normals
};
SkinSample sampled(const ClearanceField& field, const SkinMap& skin, std::size_t per_zone);

/// Of this zone, none when it has no skin.
const ZoneClearance* find_zone(const std::vector<ZoneClearance>& zones, Zone zone);

}  // namespace lastroom
