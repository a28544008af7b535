#pragma once

#include <filesystem>

namespace lastroom {

/// Held by one program at a time; others wait. A file of this name is there meanwhile (a folder can't be locked on
/// every network disk) and is gone afterwards. Throws OutputError.
class FileLock {
 public:
  explicit FileLock(std::filesystem::path file);
  ~FileLock();
  FileLock(const FileLock&) = delete;
  FileLock& operator=(const FileLock&) = delete;

 private:
  std::filesystem::path file_;
  int descriptor_ = -1;
};

}  // namespace lastroom
