#include "commands/pdf.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cctype>
#include <cerrno>
#include <chrono>
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
#include "files/output_folder.h"

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

/// A report takes two or three. Our choice, for machines that do much else; LASTROOM_PDF_SECONDS says otherwise.
int most_seconds() {
  constexpr int kSeconds = 120, kMost = 3600;
  const char* const told = std::getenv("LASTROOM_PDF_SECONDS");
  const int seconds = told != nullptr ? std::atoi(told) : kSeconds;
  return seconds >= 1 && seconds <= kMost ? seconds : kSeconds;
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

  enum class End { good, bad, too_late };

  /// Runs the program silently until it ends or the deadline of all runs is over.
  End run(const std::vector<std::string>& words) {
    start(words);
    siginfo_t end{};  // it stays a zombie until it is forgotten below: its number can't become another process's
    const auto at_work = [&] {
      end.si_pid = 0;
      const int failed = waitid(P_PID, static_cast<id_t>(process_), &end, WEXITED | WNOWAIT | WNOHANG);
      return failed != 0 ? errno == EINTR : end.si_pid == 0;
    };
    while (process_ > 0 && at_work() && Clock::now() < deadline_) ::usleep(20'000);
    const bool too_late = Clock::now() >= deadline_;
    const auto held = hold_interruption();
    if (process_ > 0) ::kill(-process_, SIGKILL);  // what it started and left behind
    int status = 0;
    const bool ended = process_ > 0 && waitpid(process_, &status, 0) == process_;
    process_ = 0;
    if (too_late) return End::too_late;
    return ended && WIFEXITED(status) && WEXITSTATUS(status) == 0 ? End::good : End::bad;
  }

 private:
  void start(const std::vector<std::string>& words) {
    std::vector<char*> arguments;
    for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
    arguments.push_back(nullptr);
    std::string temporary = "TMPDIR=" + folder_.string();  // it puts sockets there; a long name has no room for them
    std::string home = "HOME=" + folder_.string();         // no traces in the user's own
    std::vector<char*> environment = {temporary.data(), home.data()};
    for (char** variable = environ; *variable != nullptr; ++variable) {
      const std::string_view setting = *variable;
      if (!setting.starts_with("TMPDIR=") && !setting.starts_with("HOME=") && !setting.starts_with("XDG_"))
        environment.push_back(*variable);
    }
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

  using Clock = std::chrono::steady_clock;
  Clock::time_point deadline_ = Clock::now() + std::chrono::seconds(most_seconds());
  fs::path folder_;
  pid_t process_ = 0;  ///< 0: not running
};

/// Whether main's order to the kernel is in force: then the browser, which inherits it, can't reach anybody.
bool has_no_network() {
  const int socket = ::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  if (socket >= 0) ::close(socket);
  return socket < 0;
}

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
  const std::string name = pdf.filename().string();
  if (!has_no_network())
    throw OutputError(name +
                      ": this system can't keep a browser away from the network, so none is started; print report.html "
                      "from a browser of yours");
  Printer printer;
  const fs::path printed = printer.folder() / "report.pdf";
  std::vector<std::string> words = {program->string(),
                                    "--headless",
                                    "--disable-gpu",
                                    "--no-first-run",
                                    "--disable-background-networking",
                                    "--disable-component-update",
                                    "--disable-sync",
                                    "--host-resolver-rules=MAP * ~NOTFOUND",  // no name is even looked up
                                    "--no-pdf-header-footer",
                                    "--user-data-dir=" + (printer.folder() / "profile").string(),
                                    "--print-to-pdf=" + printed.string()};
  // In its sandbox where the system allows: not as root, nor where users may not make namespaces.
  auto end = Printer::End::bad;
  std::string bytes;
  for (const bool in_sandbox : {true, false}) {
    if (in_sandbox && ::geteuid() == 0) continue;
    if (!in_sandbox) words.push_back("--no-sandbox");
    words.push_back(address_of(html));
    end = printer.run(words);
    words.pop_back();
    std::ifstream in(printed, std::ios::binary);
    bytes.assign(std::istreambuf_iterator<char>(in), {});
    if (end == Printer::End::too_late || (end == Printer::End::good && !bytes.empty())) break;
  }
  if (end == Printer::End::too_late)
    throw OutputError(
        fmt::format("{}: {} did not finish within {} seconds and was ended; print report.html from a browser "
                    "instead",
                    name, program->filename().string(), most_seconds()));
  if (end != Printer::End::good || bytes.empty())
    throw OutputError(fmt::format("{}: {} could not print the report; print report.html from a browser instead", name,
                                  program->filename().string()));
  write_file(pdf, bytes, overwrite);
}

}  // namespace lastroom
