#pragma once

#include <filesystem>
#include <string>
#include <string_view>

namespace lastroom {

/// A folder that appears whole or not at all: files are written into a hidden sibling and renamed by `publish`.
/// Without `publish` the destructor removes everything. Throws OutputError. An existing non-empty folder is refused
/// unless `overwrite`; then the old one stays until the new one is complete.
class OutputFolder {
 public:
  OutputFolder(std::filesystem::path folder, bool overwrite);
  ~OutputFolder();
  OutputFolder(const OutputFolder&) = delete;
  OutputFolder& operator=(const OutputFolder&) = delete;

  void write(std::string_view file_name, std::string_view bytes);
  void publish();

 private:
  std::filesystem::path target_, workshop_;
  bool overwrite_, published_ = false;
};

/// One file, whole or not at all (temporary sibling, then rename). Refuses links and devices.
void write_file(const std::filesystem::path& file, std::string_view bytes, bool overwrite);

}  // namespace lastroom
