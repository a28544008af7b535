#include "report/outputs.h"

namespace lastroom {

std::string_view tool_version() { return LASTROOM_VERSION; }

}  // namespace lastroom
