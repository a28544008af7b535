#include "commands/progress_bar.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <utility>

namespace lastroom {
namespace {

constexpr int kWidth = 24;
constexpr double kEvery_s = 5.0, kEveryOnTerminal_s = 0.1;

std::string time_words(double seconds) {
  if (seconds < 90.0) return fmt::format("{:.0f} s", std::ceil(seconds));
  if (seconds < 5400.0) return fmt::format("{:.0f} min", std::ceil(seconds / 60.0));
  return fmt::format("{:.1f} h", seconds / 3600.0);
}

}  // namespace

ProgressBar::ProgressBar(std::string what, bool quiet)
    : what_(std::move(what)), quiet_(quiet), terminal_(::isatty(STDERR_FILENO) == 1), last_(start_) {}

ProgressBar::~ProgressBar() {
  if (shown_ && terminal_) std::fputs("\r\033[K", stderr);
}

void ProgressBar::show(std::size_t done, std::size_t left) {
  const Clock::time_point now = Clock::now();
  const double since_s = std::chrono::duration<double>(now - last_).count();
  if (quiet_ || left == 0 || since_s < (terminal_ ? kEveryOnTerminal_s : kEvery_s)) return;
  last_ = now;
  shown_ = true;
  const double spent_s = std::chrono::duration<double>(now - start_).count();
  const std::string rest =
      done == 0
          ? ""
          : fmt::format(", about {} left", time_words(spent_s / static_cast<double>(done) * static_cast<double>(left)));
  const std::string text = fmt::format("{} {} of at most {}{}", what_, done, done + left, rest);
  if (!terminal_) {
    fmt::print(stderr, "{}\n", text);
    return;
  }
  const auto filled = static_cast<std::size_t>(kWidth * done / std::max<std::size_t>(1, done + left));
  fmt::print(stderr, "\r\033[K[{}{}] {}", std::string(filled, '#'), std::string(kWidth - filled, '.'), text);
  std::fflush(stderr);
}

}  // namespace lastroom
