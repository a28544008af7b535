#pragma once

#include <optional>

#include "preparation/foot.h"
#include "preparation/last.h"

namespace lastroom {

/// What is to be looked at where a body that was taken as a foot has a last's cone for its ankle; nothing else.
std::optional<Message> doubt_of_a_foot(const Foot& foot);
/// What is to be looked at where a body that was taken as a last has an ankle for its cone; nothing else.
std::optional<Message> doubt_of_a_last(const Last& last);

/// Throws InputError when an edge as of a sole stands out along the bottom of what was taken as a last: a shoe, a boot.
void refuse_shoe(const Last& last);

/// How like a bare foot, or a last, it is, in words.
Message likeness_of(const Foot& foot);
Message likeness_of(const Last& last);

/// What `ready_foot` and `ready_last` put before all repairs; null when nothing is doubted.
const Message* first_doubt(const InputFacts& facts);

}  // namespace lastroom
