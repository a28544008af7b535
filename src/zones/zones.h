#pragma once

#include <string>
#include <string_view>

#include "message.h"
#include "preparation/foot.h"
#include "zones/zone_traits.h"

namespace lastroom {

Zone zone_named(std::string_view name);  ///< throws std::invalid_argument
Message zone_message(Zone zone);         ///< its name within a sentence

/// Which toe a vertex of the fore part belongs to: 1 (big) .. 5, 0 for none.
struct SkinMap {
  std::vector<Zone> zone;                    ///< one per vertex of foot.mesh
  std::vector<std::uint8_t> toe;             ///< one per vertex
  std::vector<std::uint8_t> sole_flat = {};  ///< one per vertex: looks down within 32 degrees, as a sole's flat does
  bool sole_missing = false;  ///< what is left of a sole that was not scanned is its border, higher than the rest
};

/// Every vertex of the foot by where it lies between the landmarks and which way its skin faces.
SkinMap map_skin(const Foot& foot);
/// The zone of skin that looks there along a unit normal; foot frame.
Zone zone_at(const FootLandmarks& landmarks, const Vec3& point_mm, const Vec3& normal);

}  // namespace lastroom
