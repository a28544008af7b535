#include "commands/kept_apart.h"

#include <fmt/format.h>

#include <algorithm>

#include "error.h"
#include "files/input_file.h"

namespace lastroom {
namespace {

namespace fs = std::filesystem;

/// Absolute, without links, "." and "..", as far as it is there; without a slash at the end.
fs::path real(const fs::path& path) {
  std::error_code error;
  const fs::path absolute = fs::absolute(path, error);
  fs::path result = fs::weakly_canonical(absolute, error);
  if (error) result = absolute.lexically_normal();
  return result.has_filename() ? result : result.parent_path();
}

bool is_in(const fs::path& inner, const fs::path& outer) {
  return std::mismatch(outer.begin(), outer.end(), inner.begin(), inner.end()).first == outer.end();
}

bool is_same(const fs::path& a, const fs::path& b) {
  std::error_code absent;  // also two names of one file (hard links)
  return real(a) == real(b) || fs::equivalent(a, b, absent);
}

[[noreturn]] void refuse(const fs::path& output, const std::string& why) {
  throw OutputError(fmt::format("{}: {}; nothing was written: choose another name", output.string(), why));
}

}  // namespace

void keep_apart(const std::vector<fs::path>& inputs, const std::vector<fs::path>& outputs) {
  for (auto output = outputs.begin(); output != outputs.end(); ++output) {
    if (output->empty()) continue;
    for (const fs::path& input : inputs) {
      if (input.empty()) continue;
      if (is_same(*output, input)) refuse(*output, "is one of the inputs");
      if (is_in(real(*output), real(input)))
        refuse(*output, fmt::format("lies inside the input {}", shown_name(input)));
      if (is_in(real(input), real(*output))) refuse(*output, fmt::format("holds the input {}", shown_name(input)));
    }
    for (auto other = outputs.begin(); other != output; ++other)
      if (!other->empty() && is_same(*output, *other)) refuse(*output, "is asked for twice");
  }
}

}  // namespace lastroom
