#pragma once

#include <string_view>

#include "preparation/side.h"
#include "report/raster.h"

namespace lastroom {

enum class Look : std::uint8_t { above, inside, outside, sole, toe_end };
inline constexpr std::array kLooks = {Look::above, Look::sole, Look::toe_end, Look::inside, Look::outside};

std::string_view look_name(Look look);  ///< "above", "inside" ...: end of a key in the catalogue
/// Plans have the toes up; profiles stand on the ground.
View view_of(Look look, Side side);

}  // namespace lastroom
