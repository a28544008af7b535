#pragma once

#include <optional>

#include "preparation/foot.h"
#include "preparation/last.h"

namespace lastroom {

/// What is to be looked at where a body that was taken as a foot has a last's cone for its ankle; nothing else.
std::optional<Message> doubt_of_a_foot(const Foot& foot);
/// What is to be looked at where a body that was taken as a last has an ankle for its cone; nothing else.
std::optional<Message> doubt_of_a_last(const Last& last);

}  // namespace lastroom
