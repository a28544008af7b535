#pragma once

#include <string>
#include <string_view>

#include "preparation/foot.h"

namespace lastroom {

/// Zones of the foot's skin, in the order of the contract; `none` is skin that no rule looks at (leg, ankle, webs).
enum class Zone : std::uint8_t {
  heel_back,
  heel_sides,
  seat,
  arch,
  waist,
  instep,
  inside_joint,
  outside_joint,
  joint_top,
  tread,
  big_toe_side,
  big_toe_tip,
  middle_toes_tip,
  fifth_toe_side,
  fifth_toe_tip,
  toe_tops,
  toe_pads,
  none
};
constexpr std::size_t kZoneCount = 17;

std::string_view zone_name(Zone zone);   ///< "heel_back" ...
Zone zone_named(std::string_view name);  ///< throws std::invalid_argument
std::string zone_words(Zone zone);       ///< its name with spaces, for sentences

/// Which toe a vertex of the fore part belongs to: 1 (big) .. 5, 0 for none.
struct SkinMap {
  std::vector<Zone> zone;                    ///< one per vertex of foot.mesh
  std::vector<std::uint8_t> toe;             ///< one per vertex
  std::vector<std::uint8_t> sole_flat = {};  ///< one per vertex: looks down within 32 degrees, as a sole's flat does
  bool sole_missing = false;  ///< what is left of a sole that was not scanned is its border, higher than the rest
};
bool is_under_the_foot(Zone zone);  ///< seat, arch, tread, toe pads

/// Every vertex of the foot by where it lies between the landmarks and which way its skin faces.
SkinMap map_skin(const Foot& foot);

}  // namespace lastroom
