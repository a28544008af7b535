#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

namespace lastroom {

class StagingFolder;

/// A folder that appears whole or not at all: files are written into a hidden sibling and renamed by `publish`.
/// Without `publish` the destructor removes everything. Throws OutputError. An existing non-empty folder is refused
/// unless `overwrite`; then the old one stays until the new one is complete, and what is in it under other names than
/// lastroom's own is taken over into the new one.
class OutputFolder {
 public:
  OutputFolder(std::filesystem::path folder, bool overwrite);
  ~OutputFolder();
  OutputFolder(const OutputFolder&) = delete;
  OutputFolder& operator=(const OutputFolder&) = delete;

  /// `file_name` may name a folder inside: "demo/scan.stl".
  void write(std::string_view file_name, std::string_view bytes);
  void publish();
  /// Instead of a result: only refusal.html. An old result stays as it is beside it. A folder that holds nothing else
  /// counts as empty, and the next result takes its place.
  void refuse_with(std::string_view page);

 private:
  std::filesystem::path target_;
  bool overwrite_;
  std::unique_ptr<StagingFolder> staging_folder_;  ///< none once published
};

/// For the end of a process that was told to stop: removes every unpublished folder, once whatever is being written or
/// renamed is done. Nothing can be written afterwards, so the process must end.
void abandon_staging_folders() noexcept;

/// One file, whole or not at all (temporary sibling, then rename). Refuses links and devices.
void write_file(const std::filesystem::path& file, std::string_view bytes, bool overwrite);

}  // namespace lastroom
