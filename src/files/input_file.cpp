#include "files/input_file.h"

namespace lastroom {

std::string shown_name(const std::filesystem::path& file) {
  const std::filesystem::path name = file.has_filename() ? file.filename() : file.parent_path().filename();
  std::string shown = name.empty() ? file.string() : name.string();
  for (char& c : shown)  // a line end or a terminal's command has no place in a message or a report
    if (static_cast<unsigned char>(c) < ' ' || c == '\x7F') c = '?';
  return shown;
}

}  // namespace lastroom
