#include "commands/pdf.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <optional>
#include <string>
#include <vector>

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

/// Runs a program silently; true when it ends with status 0.
bool run_silently(const std::vector<std::string>& words) {
  std::vector<char*> arguments;
  for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  posix_spawn_file_actions_t quiet;
  posix_spawn_file_actions_init(&quiet);
  for (int stream : {0, 1, 2}) posix_spawn_file_actions_addopen(&quiet, stream, "/dev/null", O_RDWR, 0);
  pid_t child = 0;
  const int problem = posix_spawn(&child, arguments[0], &quiet, nullptr, arguments.data(), environ);
  posix_spawn_file_actions_destroy(&quiet);
  int status = 0;
  return problem == 0 && waitpid(child, &status, 0) == child && WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

/// A folder of its own for the browser's profile and its output; removed at the end.
struct Scratch {
  fs::path folder;
  Scratch() {
    std::string pattern = (fs::temp_directory_path() / "lastroom_pdf_XXXXXX").string();
    if (!mkdtemp(pattern.data())) throw OutputError("the folder for temporary files can't be written; set TMPDIR");
    folder = pattern;
  }
  ~Scratch() {
    std::error_code ignored;
    fs::remove_all(folder, ignored);
  }
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
};

}  // namespace

void print_pdf(const fs::path& html, const fs::path& pdf, bool overwrite) {
  const std::optional<fs::path> program = browser();
  if (!program)
    throw OutputError(fmt::format(
        "{}: no PDF could be made because Chromium is not installed; install it (apt install chromium) or print "
        "report.html from any browser",
        pdf.filename().string()));
  const Scratch scratch;
  const fs::path printed = scratch.folder / "report.pdf";
  const bool done = run_silently({program->string(), "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
                                  "--disable-background-networking", "--disable-component-update", "--disable-sync",
                                  "--no-pdf-header-footer", "--user-data-dir=" + (scratch.folder / "profile").string(),
                                  "--print-to-pdf=" + printed.string(), "file://" + fs::absolute(html).string()});
  std::ifstream in(printed, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(in), {}};
  if (!done || bytes.empty())
    throw OutputError(fmt::format("{}: {} could not print the report; print report.html from a browser instead",
                                  pdf.filename().string(), program->filename().string()));
  write_file(pdf, bytes, overwrite);
}

}  // namespace lastroom
