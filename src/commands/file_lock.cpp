#include "commands/file_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>

#include "error.h"

namespace lastroom {

FileLock::FileLock(std::filesystem::path file) : file_(std::move(file)) {
  for (;;) {  // again only when the one before removed the file between our two steps: then somebody was served
    descriptor_ = ::open(file_.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (descriptor_ < 0) throw OutputError(file_.string() + ": can't be written; choose another folder");
    while (::flock(descriptor_, LOCK_EX) != 0) {
      if (errno == EINTR) continue;
      ::close(descriptor_);
      throw OutputError(file_.string() + ": can't be locked on this disk; choose another folder");
    }
    struct stat mine, named;
    if (::fstat(descriptor_, &mine) == 0 && ::lstat(file_.c_str(), &named) == 0 && mine.st_ino == named.st_ino &&
        mine.st_dev == named.st_dev)
      return;
    ::close(descriptor_);
  }
}

FileLock::~FileLock() {
  ::unlink(file_.c_str());
  ::close(descriptor_);
}

}  // namespace lastroom
