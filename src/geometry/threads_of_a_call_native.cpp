#include "geometry/threads_of_a_call.h"

#include <tbb/task_arena.h>

namespace lastroom {

void with_threads(int threads, const std::function<void()>& work) {
  if (threads <= 0) return work();
  tbb::task_arena(threads).execute(work);
}

}  // namespace lastroom
