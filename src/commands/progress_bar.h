#pragma once

#include <chrono>
#include <string>

namespace lastroom {

/// How far a long run is and how long it may still take, on stderr: one line that is written over again on a terminal,
/// else a line every few seconds.
class ProgressBar {
 public:
  ProgressBar(std::string what, bool quiet);
  ~ProgressBar();
  ProgressBar(const ProgressBar&) = delete;
  ProgressBar& operator=(const ProgressBar&) = delete;

  /// `left` may shrink faster than `done` grows.
  void show(std::size_t done, std::size_t left);

 private:
  using Clock = std::chrono::steady_clock;
  std::string what_;
  bool quiet_, terminal_, shown_ = false;
  Clock::time_point start_ = Clock::now(), last_;
};

}  // namespace lastroom
