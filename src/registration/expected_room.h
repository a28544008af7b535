#pragma once

#include <array>

#include "zones/zones.h"

namespace lastroom {

enum class Half : std::uint8_t { either, inside, outside };

/// What is expected of the room between skin and last over one part of the foot before anything is measured. The room
/// of a part is not known: it is a number of its own, solved with the pose, that is likely to lie near `room_mm`.
struct ExpectedRoom {
  Zone zone;
  Half half;
  double room_mm;                ///< most likely
  double press_spread_mm;        ///< one standard deviation towards pressing: flesh resists
  double room_spread_mm;         ///< one standard deviation towards room: an easy last is common
  double patch_spread_mm = 0.7;  ///< within the part, from one thumb's breadth of skin to the next
};

/// Our choice, within the limits of a last that fits (rules file: heel -2 to 4, waist -1 to 4, instep -1.5 to 5, joint
/// -1.5 to 4, seat and tread -2 to 3): the foot stands on seat and tread, and from heel to joint is held within a few
/// millimetres. Looser spreads for tread and floor let the hinge find a wrong place 3 degrees off (tried: fore part 3.9
/// instead of 1.2 mm on warped MakeHuman feet). The toes are not among them but for the level they bear at: in front of
/// the joint the last's shape is style. Within a part the room varies by 0.2 to 1 mm rms on truth cases stood at their
/// truth, but under the tread by 1.6: its pads are soft and take a flat bottom's shape, so that its own shape must not
/// turn the foot.
constexpr std::array<ExpectedRoom, 13> kExpectedRoom = {{
    {Zone::heel_back, Half::either, 0.4, 0.7, 1.0},
    {Zone::heel_sides, Half::inside, 0.5, 0.7, 1.0},
    {Zone::heel_sides, Half::outside, 0.5, 0.7, 1.0},
    {Zone::seat, Half::either, 0.0, 0.4, 0.5},
    {Zone::arch, Half::either, 1.2, 1.0, 2.0},
    {Zone::waist, Half::inside, 0.7, 0.8, 1.2},
    {Zone::waist, Half::outside, 0.7, 0.8, 1.2},
    {Zone::instep, Half::either, 0.7, 0.7, 1.2},
    {Zone::inside_joint, Half::either, 0.4, 0.7, 1.0},
    {Zone::outside_joint, Half::either, 0.4, 0.7, 1.0},
    {Zone::joint_top, Half::either, 0.6, 0.8, 1.5},
    {Zone::tread, Half::either, 0.0, 0.4, 0.5, 1.6},
    {Zone::toe_pads, Half::either, 0.0, 0.4, 0.6},  // the level that the toes bear at
}};
constexpr std::size_t kParts = kExpectedRoom.size();

/// Row of the table for a skin point, kParts when the point says nothing about the pose.
inline std::size_t part_of(Zone zone, bool inside) {
  for (std::size_t i = 0; i < kParts; ++i)
    if (kExpectedRoom[i].zone == zone &&
        (kExpectedRoom[i].half == Half::either || (kExpectedRoom[i].half == Half::inside) == inside))
      return i;
  return kParts;
}

}  // namespace lastroom
