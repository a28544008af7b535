#include "files/staging_folder.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <stdio.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstring>

#include "error.h"
#include "files/descriptor.h"
#include "files/output_folder.h"

namespace lastroom {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kAside = "-old";

// The hidden names: ".lastroom-", which target (as a hash: its own name may be too long already), whose process.
std::string prefix_for(const fs::path& target) {
  std::uint32_t hash = 2166136261u;  // FNV-1a (public domain, G. Fowler, L. C. Noll, K.-P. Vo)
  for (char c : target.filename().string()) hash = (hash ^ static_cast<unsigned char>(c)) * 16777619u;
  return fmt::format(".lastroom-{:08x}-", hash);
}

bool is_dead(std::string_view process) {
  int id = 0;
  const auto [p, error] = std::from_chars(process.data(), process.data() + process.size(), id);
  return error == std::errc() && id > 0 && ::kill(id, 0) != 0 && errno == ESRCH;
}

// A process id means nothing to another machine on the same network disk; a lock does.
bool is_locked(const fs::path& folder) {
  const int descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC | O_NOFOLLOW);
  if (descriptor < 0) return errno != ENOENT && errno != ENOTDIR;
  const bool locked = ::flock(descriptor, LOCK_EX | LOCK_NB) != 0;
  ::close(descriptor);
  return locked;
}

std::mutex& staging_folders_mutex() {
  static std::mutex* const mutex = new std::mutex;  // never destroyed: a signal may come during exit
  return *mutex;
}

std::vector<StagingFolder*>& open_staging_folders() {
  static std::vector<StagingFolder*>* const staging_folders = new std::vector<StagingFolder*>;
  return *staging_folders;
}

void clean_up_after_the_dead(const fs::path& target) {
  const std::string prefix = prefix_for(target);
  std::error_code error;
  for (fs::directory_iterator entry(target.parent_path(), error), end; !error && entry != end; entry.increment(error)) {
    const std::string name = entry->path().filename().string();
    if (name.compare(0, prefix.size(), prefix) != 0) continue;
    if (!is_dead(std::string_view(name).substr(prefix.size())) || is_locked(entry->path())) continue;
    const bool aside = name.size() > kAside.size() && name.ends_with(kAside);
    if (aside && renamed(entry->path(), target, Rename::no_replace) == 0) continue;  // died between two renames
    fs::remove_all(entry->path(), error);
    error.clear();
  }
}

void remove_empty(const std::vector<fs::path>& folders) {
  for (auto folder = folders.rbegin(); folder != folders.rend(); ++folder) ::rmdir(folder->c_str());
}

}  // namespace

void cannot_write(const fs::path& target, int error_number) {
  const char* advice = "choose another folder";
  if (error_number == ENOSPC || error_number == EDQUOT || error_number == EFBIG) advice = "make room on the disk";
  if (error_number == EBUSY) advice = "it is where a disk is mounted: choose a folder inside it";
  if (error_number == ENAMETOOLONG) advice = "choose a shorter name";
  throw OutputError(fmt::format("{}: can't be written ({}); {}", target.string(), std::strerror(error_number), advice));
}

StagingFolder::StagingFolder(const fs::path& target) : target_(target) {
  const auto held = hold_staging_folders();
  make_folders_above();
  clean_up_after_the_dead(target);
  for (int attempt = 0; folder_.empty(); ++attempt) {
    const fs::path candidate = target.parent_path() / fmt::format("{}{}-{}", prefix_for(target), ::getpid(), attempt);
    if (::mkdir(candidate.c_str(), 0777) == 0)
      folder_ = candidate;
    else if (errno != EEXIST) {
      const int reason = errno;
      remove_empty(made_above_);
      cannot_write(target, reason);
    }
  }
  lock_ = ::open(folder_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (lock_ >= 0) ::flock(lock_, LOCK_EX | LOCK_NB);
  open_staging_folders().push_back(this);
}

StagingFolder::~StagingFolder() {
  const auto held = hold_staging_folders();
  std::erase(open_staging_folders(), this);
  remove();
  if (lock_ >= 0) ::close(lock_);
}

void StagingFolder::remove() noexcept {
  std::error_code ignored;
  fs::remove_all(folder_, ignored);
  remove_empty(made_above_);
}

fs::path StagingFolder::aside() const { return folder_.string() + std::string(kAside); }

void StagingFolder::make_folders_above() {
  std::vector<fs::path> missing;
  std::error_code error;
  for (fs::path above = target_.parent_path();
       !fs::exists(fs::symlink_status(above, error)) && above.has_relative_path(); above = above.parent_path())
    missing.push_back(above);
  for (auto folder = missing.rbegin(); folder != missing.rend(); ++folder) {
    if (::mkdir(folder->c_str(), 0777) == 0) {
      made_above_.push_back(*folder);
    } else if (errno != EEXIST) {
      const int reason = errno;
      remove_empty(made_above_);
      cannot_write(target_, reason);
    }
  }
}

std::unique_lock<std::mutex> hold_staging_folders() { return std::unique_lock(staging_folders_mutex()); }

void abandon_staging_folders() noexcept {
  // Kept for ever: whoever wants to write from now on waits until the process has ended. Half a second is enough for a
  // file of ours; a disk that hangs for longer must not hold up the end, and the next run cleans up after us.
  auto held = std::unique_lock(staging_folders_mutex(), std::defer_lock);
  for (int tries = 0; tries < 50 && !held.try_lock(); ++tries) ::usleep(10'000);
  if (!held.owns_lock()) return;
  held.release();
  for (StagingFolder* staging_folder : open_staging_folders()) staging_folder->remove();
}

void write_new_file(const fs::path& file, std::string_view bytes, const fs::path& target) {
  const Descriptor out(::open(file.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666));
  if (out.number < 0) cannot_write(target, errno);
  while (!bytes.empty()) {
    const ssize_t written = ::write(out.number, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) cannot_write(target, errno);
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
}

int synced(const fs::path& file_or_folder) noexcept {
  const Descriptor descriptor(::open(file_or_folder.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW));
  if (descriptor.number < 0) return errno == EACCES ? 0 : errno;          // not ours: taken over from the old folder
  return ::fsync(descriptor.number) == 0 || errno == EINVAL ? 0 : errno;  // EINVAL: this disk has no such thing
}

int renamed(const fs::path& from, const fs::path& to, Rename how) noexcept {
  if (how == Rename::plain) return ::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
  const unsigned flags = how == Rename::exchange ? RENAME_EXCHANGE : RENAME_NOREPLACE;
  return ::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), flags) == 0 ? 0 : errno;
}

}  // namespace lastroom
