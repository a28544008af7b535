#pragma once

// Private to shelf_index: a prepared last as bytes, for the same build of the program on the same kind of machine.

#include <optional>
#include <string>
#include <string_view>

#include "measurement/measure.h"

namespace lastroom {

std::string packed(const Last& last, const LastMeasures& measures);
/// Nothing when the bytes don't hold what `packed` writes. `last` and `measures` are then half filled.
bool unpack(std::string_view bytes, Last& last, LastMeasures& measures);

/// Numbers only, without the loops.
std::string packed_numbers(const LastMeasures& measures);
bool unpack_numbers(std::string_view bytes, LastMeasures& measures);

}  // namespace lastroom
