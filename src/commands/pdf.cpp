#include "commands/pdf.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cctype>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <iterator>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "commands/interruption.h"
#include "error.h"
#include "mesh_io/output_folder.h"

namespace lastroom {
namespace {

namespace fs = std::filesystem;

std::optional<fs::path> on_path(const char* program) {
  const char* variable = std::getenv("PATH");
  std::string folders = variable ? variable : "";
  for (std::size_t start = 0; start <= folders.size();) {
    const std::size_t end = std::min(folders.find(':', start), folders.size());
    const fs::path candidate = fs::path(folders.substr(start, end - start)) / program;
    if (access(candidate.c_str(), X_OK) == 0) return candidate;
    start = end + 1;
  }
  return std::nullopt;
}

std::optional<fs::path> browser() {
  for (const char* name : {"chromium", "chromium-browser", "google-chrome"})
    if (const auto found = on_path(name)) return found;
  return std::nullopt;
}

/// The browser at work: a folder for its profile and what it prints, and its process. Both end with this, or when we
/// are interrupted: what it prints is about a foot.
class Printer {
 public:
  Printer() {
    std::error_code error;
    std::string pattern = (fs::temp_directory_path(error) / "lastroom_XXXXXX").string();
    const auto held = hold_interruption();
    if (error || !mkdtemp(pattern.data()))
      throw OutputError("The folder for temporary files can't be written; set TMPDIR to one that can");
    folder_ = pattern;
    when_interrupted([this] { clear_away(); });
  }
  ~Printer() {
    const auto held = hold_interruption();
    when_interrupted({});
    clear_away();
  }
  Printer(const Printer&) = delete;
  Printer& operator=(const Printer&) = delete;

  const fs::path& folder() const { return folder_; }

  /// Runs the program silently; true when it ends with status 0.
  bool run(const std::vector<std::string>& words) {
    start(words);
    siginfo_t end;  // it stays a zombie until it is forgotten below: its number can't become another process's
    while (process_ > 0 && waitid(P_PID, static_cast<id_t>(process_), &end, WEXITED | WNOWAIT) != 0 && errno == EINTR) {
    }
    const auto held = hold_interruption();
    if (process_ > 0) ::kill(-process_, SIGKILL);  // what it started and left behind
    int status = 0;
    const bool ended = process_ > 0 && waitpid(process_, &status, 0) == process_;
    process_ = 0;
    return ended && WIFEXITED(status) && WEXITSTATUS(status) == 0;
  }

 private:
  void start(const std::vector<std::string>& words) {
    std::vector<char*> arguments;
    for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
    arguments.push_back(nullptr);
    std::string temporary = "TMPDIR=" + folder_.string();  // it puts sockets there; a long name has no room for them
    std::vector<char*> environment = {temporary.data()};
    for (char** variable = environ; *variable != nullptr; ++variable)
      if (!std::string_view(*variable).starts_with("TMPDIR=")) environment.push_back(*variable);
    environment.push_back(nullptr);
    posix_spawn_file_actions_t quiet;
    posix_spawn_file_actions_init(&quiet);
    for (int stream : {0, 1, 2}) posix_spawn_file_actions_addopen(&quiet, stream, "/dev/null", O_RDWR, 0);
    posix_spawnattr_t attributes;  // our threads hold back Ctrl-C, the browser must not
    posix_spawnattr_init(&attributes);
    sigset_t none;
    sigemptyset(&none);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setpgroup(&attributes, 0);  // its own: it starts more processes, and all must end with it
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETPGROUP);
    const auto held = hold_interruption();
    if (posix_spawn(&process_, arguments[0], &quiet, &attributes, arguments.data(), environment.data()) != 0)
      process_ = 0;
    posix_spawn_file_actions_destroy(&quiet);
    posix_spawnattr_destroy(&attributes);
  }

  void clear_away() noexcept {
    if (process_ > 0) ::kill(-process_, SIGKILL);
    std::error_code failed;
    for (int tries = 0; tries < 50; ++tries) {  // a process that is being killed may still write
      fs::remove_all(folder_, failed);
      if (!failed && !fs::exists(folder_, failed)) return;
      ::usleep(10'000);
    }
  }

  fs::path folder_;
  pid_t process_ = 0;  ///< 0: not running
};

/// The file's address: in one, '#', '?' and '%' in a name would mean something else.
std::string address_of(const fs::path& file) {
  std::string address = "file://";
  for (const char c : fs::absolute(file).string()) {
    const bool plain = std::isalnum(static_cast<unsigned char>(c)) || std::strchr("/-._~", c) != nullptr;
    address += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return address;
}

}  // namespace

void print_pdf(const fs::path& html, const fs::path& pdf, bool overwrite) {
  const std::optional<fs::path> program = browser();
  if (!program)
    throw OutputError(fmt::format(
        "{}: no PDF could be made because Chromium is not installed; install it (apt install chromium) or print "
        "report.html from any browser",
        pdf.filename().string()));
  Printer printer;
  const fs::path printed = printer.folder() / "report.pdf";
  const bool done = printer.run({program->string(), "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
                                 "--disable-background-networking", "--disable-component-update", "--disable-sync",
                                 "--no-pdf-header-footer", "--user-data-dir=" + (printer.folder() / "profile").string(),
                                 "--print-to-pdf=" + printed.string(), address_of(html)});
  std::ifstream in(printed, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(in), {}};
  if (!done || bytes.empty())
    throw OutputError(fmt::format("{}: {} could not print the report; print report.html from a browser instead",
                                  pdf.filename().string(), program->filename().string()));
  write_file(pdf, bytes, overwrite);
}

}  // namespace lastroom
