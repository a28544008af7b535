#pragma once

#include <filesystem>
#include <memory>
#include <span>
#include <string>

namespace lastroom {

/// A file's bytes. Not mapped: a file that another program shortens while we look at it would end ours.
struct FileBytes {
  std::unique_ptr<char[]> data;
  std::size_t size = 0;
  std::span<const char> bytes() const { return {data.get(), size}; }
};

/// The name without folders, for messages.
std::string shown_name(const std::filesystem::path& file);

/// Reads a regular file of at most `largest_bytes`. Throws InputError.
FileBytes read_bytes(const std::filesystem::path& file, std::uint64_t largest_bytes);

}  // namespace lastroom
