#include "geometry/parallel.h"

#include <exception>

namespace lastroom {

void side_by_side(const std::function<void()>& first, const std::function<void()>& second) {
  std::exception_ptr thrown[2];
  for_blocks(2, 1, [&](std::size_t job, std::size_t) {
    try {
      job == 0 ? first() : second();
    } catch (...) {
      thrown[job] = std::current_exception();
    }
  });
  for (const std::exception_ptr& exception : thrown)
    if (exception) std::rethrow_exception(exception);
}

}  // namespace lastroom
