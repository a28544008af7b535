// The whole of `lastroom check` from two STL files to a written report, as a user starts it: seconds by the clock, by
// stage, and peak memory, by stage too, at growing sizes and with one thread and all of them. With a second program
// (open3d_files) the same files are read, and the distance alone is taken, by Open3D.
//   build/bench_check build/lastroom - 3 2.0 1.0 0.45     (repetitions, then triangle edges in mm) prints JSON

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "demo/make_last.h"
#include "mesh_io/write_mesh.h"

namespace lastroom::bench {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

struct Run {
  double wall_s, processor_s, peak_MiB;
  std::vector<double> stage_peaks_MiB;  ///< before its first line on stderr, before the second ..., until its end
};

/// The peak since the last call, which begins a new one (proc(5), clear_refs).
double lap_peak_MiB(pid_t process) {
  const std::string folder = fmt::format("/proc/{}/", process);
  std::ifstream status(folder + "status");
  std::string word;
  double kiB = 0.0;
  while (status >> word)
    if (word == "VmHWM:") status >> kiB;
  std::ofstream(folder + "clear_refs") << "5";
  return kiB / 1024.0;
}

/// Starts a program and waits for it; it tells on stderr, a line each, which stage begins. Its own memory is told, not
/// ours: until it is started a child counts its parent's, so this program makes no mesh itself.
Run run(const std::vector<std::string>& command, const fs::path& output) {
  std::vector<char*> arguments;
  for (const std::string& word : command) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  int said[2];
  if (::pipe2(said, O_CLOEXEC) != 0) throw std::runtime_error("can't make a pipe");
  const auto start = std::chrono::steady_clock::now();
  const pid_t child = ::fork();
  if (child == 0) {
    const int file = ::open(output.c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600);
    ::dup2(file, STDOUT_FILENO);
    ::dup2(said[1], STDERR_FILENO);
    ::execv(arguments.front(), arguments.data());
    ::_exit(127);
  }
  ::close(said[1]);
  Run result{};
  for (char byte = 0; ::read(said[0], &byte, 1) == 1;)
    if (byte == '\n') result.stage_peaks_MiB.push_back(lap_peak_MiB(child));
  ::close(said[0]);
  int status = 0;
  rusage usage{};
  if (child < 0 || ::wait4(child, &status, 0, &usage) < 0) throw std::runtime_error("can't start " + command.front());
  result.wall_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  // 4: checked, and no verdict can be given
  if (!WIFEXITED(status) || (WEXITSTATUS(status) != 0 && WEXITSTATUS(status) != 4))
    throw std::runtime_error(command.front() + " failed");
  const auto seconds = [](const timeval& t) { return static_cast<double>(t.tv_sec) + 1e-6 * double(t.tv_usec); };
  result.processor_s = seconds(usage.ru_utime) + seconds(usage.ru_stime);
  result.stage_peaks_MiB.push_back(static_cast<double>(usage.ru_maxrss) / 1024.0);
  result.peak_MiB = *std::max_element(result.stage_peaks_MiB.begin(), result.stage_peaks_MiB.end());
  return result;
}

void write(const fs::path& file, const std::string& bytes) { std::ofstream(file, std::ios::binary) << bytes; }

/// A foot and a last lofted around it. The last's shape comes from a foot with 2 mm edges, whatever the size.
void make_pair(double edge_mm, const fs::path& scan, const fs::path& last) {
  FootShape foot;
  const MadeFoot inside = make_foot(foot);
  foot.edge_mm = edge_mm;
  write(scan, stl_binary(make_foot(foot).mesh));
  LastShape shape;
  shape.edge_mm = edge_mm;
  write(last, stl_binary(make_last(inside, shape).mesh));
}

Json read_json(const fs::path& file) { return Json::parse(std::ifstream(file)); }

void measure(const fs::path& self, const std::string& lastroom, const std::string& open3d_files, int repetitions,
             const std::vector<std::string>& edges_mm) {
  const fs::path folder = fs::temp_directory_path() / fmt::format("lastroom-bench-{}", ::getpid());
  fs::create_directories(folder);
  const std::string scan = folder / "scan.stl", last = folder / "last.stl", out = folder / "out";
  Json runs = Json::array();
  for (const std::string& edge_mm : edges_mm) {
    run({self, "make", edge_mm, scan, last}, folder / "said");
    const auto add = [&](const char* who, int threads, const Run& r, const Json& stages) {
      runs.push_back({{"who", who},
                      {"scan_triangles", (fs::file_size(scan) - 84) / 50},
                      {"last_triangles", (fs::file_size(last) - 84) / 50},
                      {"threads", threads},
                      {"wall_s", r.wall_s},
                      {"processor_s", r.processor_s},
                      {"peak_MiB", r.peak_MiB},
                      {"stage_peaks_MiB", r.stage_peaks_MiB},
                      {"stages_s", stages}});
    };
    for (int i = 0; i < repetitions; ++i) {
      for (const int threads : {1, 0}) {  // 0: all
        std::vector<std::string> command = {lastroom, "check", "--overwrite", scan, last, "-o", out};
        if (threads > 0) command.insert(command.end(), {"--threads", std::to_string(threads)});
        const Run r = run(command, folder / "said");
        add("lastroom check", threads, r, read_json(fs::path(out) / "result.json")["timing_s"]);
      }
      for (const char* job : {"read", "arrays"}) {
        if (open3d_files == "-") break;
        const Run r = run({open3d_files, job, scan, last}, folder / "said");
        add(job == std::string("read") ? "Open3D reads both" : "Open3D distance, meshes given", 0, r,
            read_json(folder / "said"));
      }
    }
  }
  fs::remove_all(folder);
  std::cout << Json{{"check", runs}}.dump(1) << "\n";
}

}  // namespace
}  // namespace lastroom::bench

int main(int count, char** words) {
  const std::vector<std::string> arguments(words + 1, words + count);
  try {
    if (arguments.size() == 4 && arguments[0] == "make")
      lastroom::bench::make_pair(std::stod(arguments[1]), arguments[2], arguments[3]);
    else if (arguments.size() >= 4)
      lastroom::bench::measure(std::filesystem::canonical("/proc/self/exe"), arguments[0], arguments[1],
                               std::stoi(arguments[2]), {arguments.begin() + 3, arguments.end()});
    else
      throw std::runtime_error("bench_check LASTROOM (OPEN3D_FILES | -) REPETITIONS EDGE_MM...");
  } catch (const std::exception& error) {
    std::cerr << "bench_check: " << error.what() << "\n";
    return 1;
  }
}
