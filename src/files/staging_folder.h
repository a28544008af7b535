#pragma once

// Private to files: hidden siblings in which an output is built, and the system calls of output_folder_native.cpp.

#include <filesystem>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

namespace lastroom {

/// Throws OutputError: "`target` can't be written (`why`); `what to do`".
[[noreturn]] void cannot_write(const std::filesystem::path& target, int error_number);

/// A fresh hidden folder beside `target`. Before it is made, those that dead processes left there are removed, and a
/// result that one of them had just moved aside is put back. Makes the folders above. Throws OutputError.
class StagingFolder {
 public:
  explicit StagingFolder(const std::filesystem::path& target);
  /// Removes what is at its name by then, and the folders above that it made if nothing came into them.
  ~StagingFolder();
  StagingFolder(const StagingFolder&) = delete;
  StagingFolder& operator=(const StagingFolder&) = delete;

  const std::filesystem::path& folder() const { return folder_; }
  /// Where the old result is put when it can't be exchanged in one step.
  std::filesystem::path aside() const;

 private:
  friend void abandon_staging_folders() noexcept;
  void make_folders_above();
  void remove() noexcept;
  std::filesystem::path target_, folder_;
  std::vector<std::filesystem::path> made_above_;  ///< the deepest last
  int lock_ = -1;
};

/// Held while files are written or renamed: an interruption waits for the end of such a step (output_folder.h).
std::unique_lock<std::mutex> hold_staging_folders();

/// Writes a new file. Throws OutputError, naming `target`.
void write_new_file(const std::filesystem::path& file, std::string_view bytes, const std::filesystem::path& target);

/// Waits until the disk has the file, or the folder's list of names. 0, or the error number.
int synced(const std::filesystem::path& file_or_folder) noexcept;

enum class Rename { plain, no_replace, exchange };
/// 0, or the error number. `ENOSYS` or `EINVAL` when the file system can't do this kind.
int renamed(const std::filesystem::path& from, const std::filesystem::path& to, Rename how) noexcept;

}  // namespace lastroom
