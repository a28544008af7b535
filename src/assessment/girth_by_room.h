#pragma once

#include "assessment/assess.h"

namespace lastroom {

/// By how much longer a tape around the last would be than this one around the foot, as the room along it tells: a
/// convex line moved outwards by `room` grows by the integral of room over its turning (Cauchy's formula for the
/// perimeter, from memory). After the sock. None where a fifth of the turning and more is beside no last.
std::optional<double> girth_by_room_mm(const Girth& of_foot, const Evidence& evidence);
/// The same by a tape around the last in the plane in which this one lies around the foot, as it stands. None without a
/// tape.
std::optional<double> girth_by_tape_mm(const Girth& of_foot, const Evidence& evidence);

}  // namespace lastroom
