#pragma once

#include <string_view>

// Of these headers. 0.x: what is public may still change; the namespace's name changes with it, so that headers and an
// archive that do not belong together fail to link instead of running wrong.
#define LASTROOM_VERSION_MAJOR 0
#define LASTROOM_VERSION_MINOR 1
#define LASTROOM_VERSION_PATCH 0

/// What is public lies in `lastroom_v0` and is called `lastroom::Mesh`, `lastroom::fit` ... The program's own rooms
/// have types of the same names in `lastroom`, which no header installed here shows.
namespace lastroom_v0 {

/// "0.1.0", of the library that was linked.
std::string_view version();

}  // namespace lastroom_v0

namespace lastroom {
using namespace lastroom_v0;
}
