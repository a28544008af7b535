#pragma once

#include <string_view>

namespace lastroom {

/// Version and a hash of all sources. What is kept between runs is kept under it: a result of another build is none.
std::string_view build_name();

}  // namespace lastroom
