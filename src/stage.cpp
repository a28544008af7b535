#include "stage.h"

#include <malloc.h>

#include <chrono>

namespace lastroom {

void stage(double& seconds, const std::function<void()>& work) {
  const auto start = std::chrono::steady_clock::now();
  work();
#ifdef __GLIBC__
  ::malloc_trim(0);
#endif
  seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

}  // namespace lastroom
