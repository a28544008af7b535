#pragma once

#include <cstddef>
#include <functional>

namespace lastroom {

/// Caps the threads of everything that follows in this process; 0 = all cores. Results never depend on it.
void set_thread_limit(int threads);

/// Calls `work(first, last)` for consecutive blocks of [0, count), in parallel (oneTBB). Block borders depend on
/// `block` only, so sums taken per block and then added in block order are the same with any number of threads. When
/// one throws, blocks that have begun end, no other begins, and then the exception comes out.
void for_blocks(std::size_t count, std::size_t block, const std::function<void(std::size_t, std::size_t)>& work);

/// Both at once, if there is a thread to spare. When both throw, it is the first one's exception that comes out.
void side_by_side(const std::function<void()>& first, const std::function<void()>& second);

}  // namespace lastroom
