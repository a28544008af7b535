#pragma once

#include <unistd.h>

namespace lastroom {

/// What open(2) returned, closed with its owner.
struct Descriptor {
  int number;
  explicit Descriptor(int n) : number(n) {}
  ~Descriptor() {
    if (number >= 0) ::close(number);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
};

}  // namespace lastroom
