#include "commands/stopwatch.h"

#include <fmt/format.h>
#include <malloc.h>

#include <algorithm>
#include <cstdio>
#include <utility>

namespace lastroom {
namespace {

constexpr std::array<std::string_view, kStageCount> kWords = {"reading",
                                                              "cleaning and measuring foot and last",
                                                              "standing the foot in the last",
                                                              "measuring the room at every point of the skin",
                                                              "judging",
                                                              "writing the report"};

}  // namespace

Stopwatch::Stopwatch(bool quiet, std::string whose) : quiet_(quiet), whose_(std::move(whose)) {}

void Stopwatch::begin(Stage stage) {
#ifdef __GLIBC__
  ::malloc_trim(0);
#endif
  const Clock::time_point now = Clock::now();
  if (stage_) seconds_[static_cast<std::size_t>(*stage_)] += std::chrono::duration<double>(now - stage_start_).count();
  stage_ = stage;
  stage_start_ = now;
  if (!quiet_) fmt::print(stderr, "{}{} ...\n", whose_, kWords[static_cast<std::size_t>(stage)]);
}

Timing Stopwatch::timing() const {
  const auto until_now_s = [now = Clock::now()](Clock::time_point start) {
    return std::chrono::duration<double>(now - start).count();
  };
  Timing result;
  std::ranges::copy(seconds_, result.stage_s.begin());
  if (stage_) *result.stage_s[static_cast<std::size_t>(*stage_)] += until_now_s(stage_start_);
  result.total_s = until_now_s(start_);
  return result;
}

}  // namespace lastroom
