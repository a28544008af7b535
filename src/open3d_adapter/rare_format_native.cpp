#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <stdexcept>

#include "error.h"
#include "open3d_adapter/open3d_adapter.h"
#include "open3d_adapter/program_files.h"
#include "open3d_adapter/reader/reader_protocol.h"

namespace lastroom::open3d_adapter {
namespace {

/// The reader at work. It is ended, if it still runs, when this goes.
class Reader {
 public:
  Reader(const std::filesystem::path& program, const std::filesystem::path& file) {
    int ends[2];
    if (::pipe2(ends, O_CLOEXEC) != 0) throw std::bad_alloc();
    from_reader_ = ends[0];
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_adddup2(&files, ends[1], STDOUT_FILENO);
    posix_spawn_file_actions_addopen(&files, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&files, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawnattr_t attributes;  // our threads hold back Ctrl-C, the reader must not
    posix_spawnattr_init(&attributes);
    sigset_t none;
    sigemptyset(&none);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK);
    // Absolute, so that a name like "-x" is no option.
    std::string program_word = program.string(), file_word = std::filesystem::absolute(file).string();
    char* const words[] = {program_word.data(), file_word.data(), nullptr};
    const int failed = ::posix_spawn(&process_, program.c_str(), &files, &attributes, words, environ);
    posix_spawn_file_actions_destroy(&files);
    posix_spawnattr_destroy(&attributes);
    ::close(ends[1]);
    if (failed != 0) {
      ::close(from_reader_);
      throw std::bad_alloc();  // of all that can fail here, only memory and processes are left
    }
  }
  ~Reader() {
    if (!ended_) ::kill(process_, SIGKILL);  // once waited for, the number may be another's
    end();
    ::close(from_reader_);
  }
  Reader(const Reader&) = delete;
  Reader& operator=(const Reader&) = delete;

  bool receive(void* bytes, std::size_t count) {
    for (char* at = static_cast<char*>(bytes); count > 0;) {
      const ssize_t got = ::read(from_reader_, at, count);
      if (got < 0 && errno == EINTR) continue;
      if (got <= 0) return false;
      at += got;
      count -= static_cast<std::size_t>(got);
    }
    return true;
  }

  /// Waits for its end; its status as waitpid tells it.
  int end() {
    while (!ended_) ended_ = ::waitpid(process_, &status_, 0) >= 0 || errno != EINTR;
    return status_;
  }

 private:
  pid_t process_ = 0;
  int from_reader_ = -1, status_ = 0;
  bool ended_ = false;
};

std::filesystem::path reader_program(const std::string& name) {
  for (const std::filesystem::path& place : places_of("lastroom_open3d_reader"))
    if (::access(place.c_str(), X_OK) == 0) return place;
  throw InputError(about_file("file.no_reader", name));
}

Message reason(int status) {
  if (WIFEXITED(status) && WEXITSTATUS(status) == kOutOfMemory) return {"file.rare.memory"};
  if (WIFEXITED(status) && WEXITSTATUS(status) == kNotShutIn) return {"file.rare.not_shut_in"};
  if (WIFSIGNALED(status) && WTERMSIG(status) == SIGXCPU) return {"file.rare.time"};
  return {"file.rare.unreadable"};
}

}  // namespace

Mesh read_rare_format(const std::filesystem::path& file, const std::string& name) {
  Reader reader(reader_program(name), file);
  Mesh mesh;
  ReaderHeader header{};
  // The reader may have been led astray by the file: what it says is held to its limits too.
  bool whole = reader.receive(&header, sizeof header) && header.vertices <= kReaderBytes / sizeof(Vec3) &&
               header.triangles <= kReaderBytes / sizeof(Triangle);
  if (whole) {
    mesh.vertices.resize(header.vertices);
    mesh.triangles.resize(header.triangles);
    whole = reader.receive(mesh.vertices.data(), header.vertices * sizeof(Vec3)) &&
            reader.receive(mesh.triangles.data(), header.triangles * sizeof(Triangle));
  }
  const int status = reader.end();
  if (!whole || status != kRead) throw InputError(about_file("file.rare", name, {{"why", reason(status)}}));
  return mesh;
}

}  // namespace lastroom::open3d_adapter
