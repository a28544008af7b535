#pragma once

#include <functional>

namespace lastroom {

/// Runs `work` on at most so many threads; 0: as many as the process lets. Unlike `set_thread_limit` it holds for this
/// call alone and touches nothing of the process: for who is a guest in it. What `work` throws comes out.
void with_threads(int threads, const std::function<void()>& work);

}  // namespace lastroom
