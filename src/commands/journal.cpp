#include "commands/journal.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <cstring>
#include <fstream>

#include "digest/digest.h"
#include "error.h"
#include "files/input_file.h"

namespace lastroom {
namespace {

[[noreturn]] void cannot_keep(const std::filesystem::path& file) {
  throw OutputError(fmt::format("{}: can't be written ({}); make room, or choose another folder", file.string(),
                                std::strerror(errno)));
}

std::filesystem::path beside(const std::filesystem::path& output) {
  const std::filesystem::path plain = std::filesystem::absolute(output).lexically_normal();
  return (plain.has_filename() ? plain : plain.parent_path()).string() + ".unfinished";
}

std::string hash_of(const std::string& key, const nlohmann::json& entry) { return sha256_of(key + " " + entry.dump()); }

/// Whether a line is as it was written.
bool is_whole(const nlohmann::json& line) {
  return line.is_object() && line.contains("key") && line["key"].is_string() && line.contains("entry") &&
         line.contains("sha256") && line["sha256"] == hash_of(line["key"], line["entry"]);
}

}  // namespace

Journal::Journal(const std::filesystem::path& output, const std::string& run) : file_(beside(output)) {
  descriptor_ = ::open(file_.c_str(), O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC | O_NOFOLLOW, 0600);
  if (descriptor_ < 0) cannot_keep(file_);
  if (::flock(descriptor_, LOCK_EX | LOCK_NB) != 0) {
    ::close(descriptor_);
    throw OutputError(fmt::format(
        "{}: another lastroom is at work on this output; wait for it, or choose another folder", file_.string()));
  }
  take_in(run);
}

Journal::~Journal() { ::close(descriptor_); }

void Journal::take_in(const std::string& run) {
  std::ifstream in(file_, std::ios::binary);
  std::string line;
  std::uint64_t offset = 0;
  bool same_run = false;
  while (std::getline(in, line) && !in.eof()) {  // at the end of the file: no line break, so it is torn
    const nlohmann::json entry = nlohmann::json::parse(line, nullptr, false);
    if (offset == 0) same_run = entry == nlohmann::json{{"run", run}};
    if (!same_run || (offset > 0 && !is_whole(entry))) break;  // what follows a damaged line is done again, too
    if (offset > 0) places_[entry.at("key")] = {offset, line.size()};
    offset += line.size() + 1;
  }
  if (::ftruncate(descriptor_, static_cast<off_t>(same_run ? offset : 0)) != 0) cannot_keep(file_);
  if (!same_run) append(nlohmann::json{{"run", run}}.dump());
}

void Journal::append(const std::string& line) {
  const std::string whole = line + "\n";
  std::size_t written = 0;
  while (written < whole.size()) {
    const ssize_t n = ::write(descriptor_, whole.data() + written, whole.size() - written);
    if (n < 0 && errno != EINTR) cannot_keep(file_);
    if (n > 0) written += static_cast<std::size_t>(n);
  }
}

bool Journal::has(const std::string& key) const {
  const std::scoped_lock lock(mutex_);
  return places_.contains(key);
}

nlohmann::json Journal::at(const std::string& key) const {
  const std::scoped_lock lock(mutex_);
  const Place place = places_.at(key);
  std::string line(place.length, ' ');
  if (::pread(descriptor_, line.data(), line.size(), static_cast<off_t>(place.offset)) !=
      static_cast<ssize_t>(line.size()))
    cannot_keep(file_);
  const nlohmann::json whole = nlohmann::json::parse(line, nullptr, false);
  if (!is_whole(whole)) cannot_keep(file_);  // damaged while we were at work
  return whole.at("entry");
}

void Journal::add(const std::string& key, const nlohmann::json& entry) {
  const std::string line = nlohmann::json{{"key", key}, {"entry", entry}, {"sha256", hash_of(key, entry)}}.dump();
  const std::scoped_lock lock(mutex_);
  const off_t offset = ::lseek(descriptor_, 0, SEEK_END);
  append(line);
  places_[key] = {static_cast<std::uint64_t>(offset), line.size()};
}

void Journal::done() { ::unlink(file_.c_str()); }

}  // namespace lastroom
