#pragma once

#include <array>
#include <chrono>
#include <optional>
#include <string>

#include "fitting.h"
#include "report/outputs.h"

namespace lastroom {

/// Says on stderr which stage begins, and takes the time of each.
class Stopwatch {
 public:
  /// `whose` stands before each stage ("left foot: "); may be empty.
  Stopwatch(bool quiet, std::string whose);
  /// Ends the stage before. What that has freed goes back to the system instead of lying in pieces beside what the next
  /// one takes: a fifth of the peak on a scan of a million triangles.
  void begin(Stage stage);
  /// Up to now, the stage that runs included.
  Timing timing() const;

 private:
  using Clock = std::chrono::steady_clock;
  bool quiet_;
  std::string whose_;
  Clock::time_point start_ = Clock::now(), stage_start_ = start_;
  std::optional<Stage> stage_;
  std::array<double, kStageCount> seconds_ = {};
};

}  // namespace lastroom
