#pragma once

// A prepared last as bytes, for the same build of the program on the same kind of machine.

#include <optional>
#include <string>
#include <string_view>

#include "measurement/ready_last.h"

namespace lastroom {

std::string packed(const ReadyLast& ready);
/// False when the bytes don't hold what `packed` writes. `ready` is then half filled.
bool unpack(std::string_view bytes, ReadyLast& ready);

/// Numbers only, without the loops.
std::string packed_numbers(const LastMeasures& measures);
bool unpack_numbers(std::string_view bytes, LastMeasures& measures);

}  // namespace lastroom
