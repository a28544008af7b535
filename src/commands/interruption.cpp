#include "commands/interruption.h"

#include <pthread.h>
#include <signal.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <cstring>
#include <exception>
#include <new>
#include <system_error>
#include <thread>

#include "files/output_folder.h"

namespace lastroom {
namespace {

/// Signals that end a process; not those that whoever started us wants ignored (nohup, a shell's background job).
sigset_t ending_signals() {
  sigset_t signals;
  sigemptyset(&signals);
  for (const int number : {SIGINT, SIGTERM, SIGHUP}) {
    struct sigaction now = {};
    sigaction(number, nullptr, &now);
    if (now.sa_handler != SIG_IGN) sigaddset(&signals, number);
  }
  return signals;
}

void say(const char* text) {  // stdio's lock may be held by a thread that will never let go
  std::array<char, 512> line;
  const int length = std::snprintf(line.data(), line.size(), "lastroom: %s\n", text);
  [[maybe_unused]] const ssize_t ignored =
      ::write(STDERR_FILENO, line.data(), std::min(line.size() - 1, static_cast<std::size_t>(length)));
}

std::mutex& interruption_mutex() {
  static std::mutex* const mutex = new std::mutex;  // never destroyed: a signal may come during exit
  return *mutex;
}

std::function<void()>& last_deed() {
  static std::function<void()>* const deed = new std::function<void()>;
  return *deed;
}

[[noreturn]] void end_with(const char* text, int status) {
  abandon_staging_folders();
  // Kept for ever, and not waited for longer than half a second, as the folders are.
  auto held = std::unique_lock(interruption_mutex(), std::defer_lock);
  for (int tries = 0; tries < 50 && !held.try_lock(); ++tries) ::usleep(10'000);
  if (held.owns_lock()) {
    held.release();
    if (last_deed()) last_deed()();
  }
  say(text);
  ::_exit(status);
}

[[noreturn]] void end_uncaught() {
  try {
    if (const std::exception_ptr thrown = std::current_exception()) std::rethrow_exception(thrown);
  } catch (const std::bad_alloc&) {
    end_with(kOutOfMemory, 3);
  } catch (const std::system_error&) {
    end_with(kOutOfMemory, 3);
  } catch (const std::exception& error) {
    say(error.what());
  } catch (...) {
  }
  end_with("an error of our own, please report it with the command line", 70);
}

}  // namespace

void end_cleanly_when_interrupted() {
  ::signal(SIGXFSZ, SIG_IGN);  // a file may not grow: the write fails, and that is told as a full disk
  const sigset_t signals = ending_signals();
  pthread_sigmask(SIG_BLOCK, &signals, nullptr);  // inherited by every thread that comes later
  try {
    std::thread([signals] {
      int number = 0;
      if (sigwait(&signals, &number) == 0)
        end_with("interrupted; only what was finished before was written", 128 + number);
    }).detach();
  } catch (const std::system_error&) {  // no thread to listen: the signals end us as they end any program
    pthread_sigmask(SIG_UNBLOCK, &signals, nullptr);
  }
}

std::unique_lock<std::mutex> hold_interruption() { return std::unique_lock(interruption_mutex()); }

void when_interrupted(std::function<void()> deed) { last_deed() = std::move(deed); }

void end_cleanly_when_nothing_helps() { std::set_terminate(end_uncaught); }

}  // namespace lastroom
