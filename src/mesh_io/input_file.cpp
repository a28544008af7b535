#include "mesh_io/input_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <openssl/evp.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cstring>

#include "error.h"

namespace lastroom {
namespace {

struct OpenFile {
  int descriptor;
  explicit OpenFile(int d) : descriptor(d) {}
  ~OpenFile() {
    if (descriptor >= 0) ::close(descriptor);
  }
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;
};

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

std::string shown_name(const std::filesystem::path& file) {
  const std::filesystem::path name = file.has_filename() ? file.filename() : file.parent_path().filename();
  std::string shown = name.empty() ? file.string() : name.string();
  for (char& c : shown)  // a line end or a terminal's command has no place in a message or a report
    if (static_cast<unsigned char>(c) < ' ' || c == '\x7F') c = '?';
  return shown;
}

FileBytes read_bytes(const std::filesystem::path& file, std::uint64_t largest_bytes) {
  const std::string name = shown_name(file);
  // Not blocking: a named pipe is refused below instead of being waited for.
  const OpenFile open_file(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (open_file.descriptor < 0) {
    if (errno == ENOENT || errno == ENOTDIR)
      throw InputError(name + ": there is no such file; check the name and the folder");
    if (errno == EACCES) throw InputError(name + ": may not be read; change its permissions");
    throw InputError(
        fmt::format("{}: can't be opened ({}); check the name and the folder", name, std::strerror(errno)));
  }
  struct stat facts;
  if (::fstat(open_file.descriptor, &facts) != 0)
    throw InputError(fmt::format("{}: can't be read ({}); copy it to another disk", name, std::strerror(errno)));
  if (S_ISDIR(facts.st_mode)) throw InputError(name + ": is a folder; give one mesh file in it");
  if (!S_ISREG(facts.st_mode)) throw InputError(name + ": is not an ordinary file; save the mesh as a file first");
  if (facts.st_size == 0) throw InputError(name + ": is empty; copy or export it again");
  const auto size = static_cast<std::uint64_t>(facts.st_size);
  if (size > largest_bytes)
    throw InputError(fmt::format(
        "{}: has {:.1f} MB and more than {:.1f} MB are not accepted; reduce the mesh, or raise --largest-file", name,
        static_cast<double>(size) / 1e6, static_cast<double>(largest_bytes) / 1e6));
  constexpr std::uint64_t kLarge = 10'000'000, kMostlyHoles = 20;  // our choice: no mesh is zeros for the most part
  if (size > kLarge && bytes_there(open_file.descriptor, size) < size / kMostlyHoles)
    throw InputError(fmt::format("{}: is almost all holes, and no mesh ({:.1f} MB by name); copy or export it again",
                                 name, static_cast<double>(size) / 1e6));
  FileBytes result{std::make_unique_for_overwrite<char[]>(size), 0};
  while (result.size < size) {
    const ssize_t got = ::read(open_file.descriptor, result.data.get() + result.size, size - result.size);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0)
      throw InputError(fmt::format("{}: can't be read ({}); copy it to another disk", name, std::strerror(errno)));
    if (got == 0) break;  // it was shortened meanwhile; the reader will say that it is cut off
    result.size += static_cast<std::size_t>(got);
  }
  return result;
}

std::string sha256_of(std::span<const char> bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest;
  unsigned length = 0;
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), &length, EVP_sha256(), nullptr) != 1)
    throw std::runtime_error("OpenSSL can't compute SHA-256");
  std::string hex;
  for (unsigned i = 0; i < length; ++i) fmt::format_to(std::back_inserter(hex), "{:02x}", digest[i]);
  return hex;
}

}  // namespace lastroom
