#include "geometry/parallel.h"

#include <sys/resource.h>
#include <tbb/global_control.h>
#include <tbb/parallel_for.h>
#include <tbb/parallel_sort.h>

#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <exception>
#include <memory>
#include <string>
#include <system_error>
#include <thread>

#include "geometry/sort_pairs.h"

namespace lastroom {
namespace {

std::unique_ptr<tbb::global_control>& thread_limit() {
  // Never destroyed: lifting the limit at the end of the process could start threads again.
  static auto* const limit = new std::unique_ptr<tbb::global_control>;
  return *limit;
}

/// Every thread takes address space for its stack and its own heap (8 + 64 MB with glibc), and a library that can't
/// start one ends the process: where the space or the number of threads is limited, one thread has to do.
bool only_one_is_safe() {
  rlimit space{};
  if (::getrlimit(RLIMIT_AS, &space) == 0 && space.rlim_cur != RLIM_INFINITY) return true;
  try {
    std::thread([] {}).join();
  } catch (const std::system_error&) {
    return true;
  }
  return false;
}

}  // namespace

void set_thread_limit(int threads) {
  if (threads != 1 && only_one_is_safe()) threads = 1;
  if (threads > 0) ::setenv("OMP_NUM_THREADS", std::to_string(threads).c_str(), 1);  // for what Open3D does
  thread_limit().reset();
  if (threads > 0)
    thread_limit() = std::make_unique<tbb::global_control>(tbb::global_control::max_allowed_parallelism,
                                                           static_cast<std::size_t>(threads));
}

#ifdef __SANITIZE_THREAD__
// Debian's oneTBB is not instrumented, so ThreadSanitizer must be told what it orders: tasks come after what was before
// them, and what follows comes after the tasks.
extern "C" void __tsan_acquire(void*);
extern "C" void __tsan_release(void*);
namespace {
void come_after(void* order) { __tsan_acquire(order); }
void come_before(void* order) { __tsan_release(order); }
}  // namespace
#else
namespace {
void come_after(void*) {}
void come_before(void*) {}
}  // namespace
#endif

void for_blocks(std::size_t count, std::size_t block, const std::function<void(std::size_t, std::size_t)>& work) {
  const std::size_t blocks = (count + block - 1) / block;
  std::atomic<bool> failed = false;
  std::exception_ptr thrown;
  char order = 0;
  come_before(&order);
  tbb::parallel_for(std::size_t{0}, blocks, [&](std::size_t i) {
    if (failed) return;
    come_after(&order);
    // oneTBB must not see it: it would break off the loops inside the other blocks that are running, half done.
    try {
      work(i * block, std::min(count, (i + 1) * block));
    } catch (...) {
      if (!failed.exchange(true)) thrown = std::current_exception();
    }
    come_before(&order);
  });
  come_after(&order);
  if (thrown) std::rethrow_exception(thrown);
}

void sort_pairs(std::vector<std::pair<std::uint32_t, std::uint32_t>>& pairs) {
  tbb::parallel_sort(pairs.begin(), pairs.end());
}

}  // namespace lastroom
