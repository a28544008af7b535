#include "geometry/parallel.h"

#include <algorithm>

#include "geometry/sort_pairs.h"

namespace lastroom {

void set_thread_limit(int) {}  // a page opened from a file has one thread for this

void for_blocks(std::size_t count, std::size_t block, const std::function<void(std::size_t, std::size_t)>& work) {
  for (std::size_t first = 0; first < count; first += block) work(first, std::min(count, first + block));
}

void sort_pairs(std::vector<std::pair<std::uint32_t, std::uint32_t>>& pairs) { std::sort(pairs.begin(), pairs.end()); }

}  // namespace lastroom
