#pragma once

#include <algorithm>
#include <cstdint>
#include <numeric>
#include <vector>

namespace lastroom {

/// Union-find with path halving.
class Sets {
 public:
  explicit Sets(std::size_t count) : parent_(count) { std::iota(parent_.begin(), parent_.end(), 0u); }
  std::uint32_t root(std::uint32_t i) {
    while (parent_[i] != i) i = parent_[i] = parent_[parent_[i]];
    return i;
  }
  void join(std::uint32_t a, std::uint32_t b) {
    const std::uint32_t ra = root(a), rb = root(b);
    parent_[std::max(ra, rb)] = std::min(ra, rb);
  }

 private:
  std::vector<std::uint32_t> parent_;
};

}  // namespace lastroom
