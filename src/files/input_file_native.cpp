#include "files/input_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstring>

#include "error.h"
#include "files/descriptor.h"

namespace lastroom {
namespace {

/// How many of its bytes are on the disk; the rest are holes, which read as zeros without end. All of them where the
/// disk can't tell.
std::uint64_t bytes_there(int descriptor, std::uint64_t size) {
  constexpr int kMostPieces = 10'000;
  std::uint64_t there = 0;
  off_t at = 0;
  for (int piece = 0; piece < kMostPieces; ++piece) {
    const off_t data = ::lseek(descriptor, at, SEEK_DATA);
    if (data < 0 && errno == ENXIO) break;  // no more
    const off_t hole = data < 0 ? -1 : ::lseek(descriptor, data, SEEK_HOLE);
    if (hole < 0) return size;
    there += static_cast<std::uint64_t>(hole - data);
    at = hole;
  }
  ::lseek(descriptor, 0, SEEK_SET);
  return there;
}

}  // namespace

FileBytes read_bytes(const std::filesystem::path& file, std::uint64_t largest_bytes) {
  const std::string name = shown_name(file);
  // Not blocking: a named pipe is refused below instead of being waited for.
  const Descriptor open_file(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (open_file.number < 0) {
    if (errno == ENOENT || errno == ENOTDIR) throw InputError(about_file("file.missing", name));
    if (errno == EACCES) throw InputError(about_file("file.not_permitted", name));
    throw InputError(about_file("file.not_opened", name, {{"why", UserText{std::strerror(errno)}}}));
  }
  struct stat facts;
  if (::fstat(open_file.number, &facts) != 0)
    throw InputError(about_file("file.not_read", name, {{"why", UserText{std::strerror(errno)}}}));
  if (S_ISDIR(facts.st_mode)) throw InputError(about_file("file.folder", name));
  if (!S_ISREG(facts.st_mode)) throw InputError(about_file("file.not_ordinary", name));
  if (facts.st_size == 0) throw InputError(about_file("file.empty", name));
  const auto size = static_cast<std::uint64_t>(facts.st_size);
  if (size > largest_bytes)
    throw InputError(about_file("file.too_large", name,
                                {{"size_mb", Quantity{static_cast<double>(size) / 1e6, 1}},
                                 {"most_mb", Quantity{static_cast<double>(largest_bytes) / 1e6, 1}}}));
  constexpr std::uint64_t kLarge = 10'000'000, kMostlyHoles = 20;  // our choice: no mesh is zeros for the most part
  if (size > kLarge && bytes_there(open_file.number, size) < size / kMostlyHoles)
    throw InputError(about_file("file.holes", name, {{"size_mb", Quantity{static_cast<double>(size) / 1e6, 1}}}));
  FileBytes result{std::make_unique_for_overwrite<char[]>(size), 0};
  while (result.size < size) {
    const ssize_t got = ::read(open_file.number, result.data.get() + result.size, size - result.size);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) throw InputError(about_file("file.not_read", name, {{"why", UserText{std::strerror(errno)}}}));
    if (got == 0) break;  // it was shortened meanwhile; the reader will say that it is cut off
    result.size += static_cast<std::size_t>(got);
  }
  return result;
}

}  // namespace lastroom
