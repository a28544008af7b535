#pragma once

#include <functional>
#include <mutex>

namespace lastroom {

/// From now on Ctrl-C (SIGINT), SIGTERM and SIGHUP end the process at once, leave no hidden folder behind and give exit
/// status 128 + the signal's number (130 for Ctrl-C). To be called before anything starts a thread.
void end_cleanly_when_interrupted();

/// While it is held, an interruption waits; once one is under way, this waits for the end of the process.
std::unique_lock<std::mutex> hold_interruption();
/// What an interruption does beside removing unpublished folders (none: nothing more). To be set while the above is
/// held.
void when_interrupted(std::function<void()> last_deed);

/// What nobody can catch, because it is thrown in a library's thread or where nothing may be thrown, ends in a sentence
/// and an exit status too, not in an abort: 3 when memory or threads have run out, else 70.
void end_cleanly_when_nothing_helps();

constexpr const char* kOutOfMemory =
    "not enough memory or threads for these files; use a smaller scan, raise the limits (ulimit) or use a machine with "
    "more memory";

}  // namespace lastroom
