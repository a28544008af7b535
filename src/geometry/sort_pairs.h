#pragma once

#include <cstdint>
#include <utility>
#include <vector>

namespace lastroom {

/// Ascending, in parallel. No two may be equal.
void sort_pairs(std::vector<std::pair<std::uint32_t, std::uint32_t>>& pairs);

}  // namespace lastroom
