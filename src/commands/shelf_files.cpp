#include "commands/shelf_files.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>

#include "build_name.h"
#include "commands/shelf_table.h"
#include "digest/digest.h"
#include "error.h"
#include "files/input_file.h"

namespace lastroom {

namespace fs = std::filesystem;

namespace {

void hold(const fs::path& file, const std::string& now, const std::string& sha256) {
  if (now != sha256) throw InputError(about_file("file.changed", shown_name(file)));
}

}  // namespace

bool is_of_index(const fs::path& file, const fs::path& index) {
  std::error_code absent;
  if (fs::equivalent(file, index, absent)) return true;
  const fs::path index_itself = fs::weakly_canonical(index, absent);  // SQLite's journal lies beside that, not a link
  return fs::weakly_canonical(file, absent) == fs::path(index_itself.string() + "-journal");
}

std::vector<fs::path> files_of_shelf(const fs::path& folder, const fs::path& given_index) {
  std::error_code problem, no_folder;
  std::vector<fs::path> files;
  for (fs::directory_iterator entry(folder, problem), end; !problem && entry != end; entry.increment(problem)) {
    const std::string name = entry->path().filename().string();
    if (name.front() == '.' || name == kShelfTable || name.starts_with(kIndexName) || entry->is_directory(no_folder))
      continue;
    if (is_of_index(entry->path(), given_index)) continue;
    files.push_back(entry->path());
  }
  if (problem)
    throw InputError(fmt::format("{}: this shelf can't be opened; give a folder of lasts", shown_name(folder)));
  if (files.empty())
    throw InputError(
        fmt::format("{}: no file lies on this shelf; put the meshes of lasts into it", shown_name(folder)));
  std::ranges::sort(files);
  return files;
}

fs::path index_file(const fs::path& given, const fs::path& shelf) {
  if (!given.empty() || shelf.empty()) return given;
  return ::access(shelf.c_str(), W_OK) == 0 ? shelf / kIndexName : fs::path();
}

ShelfFiles::ShelfFiles(const fs::path& index, const FittingSettings& settings, const ReadLimits& limits)
    : settings_(settings), limits_(limits) {
  if (index.empty()) return;
  index_.emplace(index, std::string(build_name()));
  index_name_ = shown_name(index);
}

LastKey ShelfFiles::key_of(const std::string& sha256) const {
  return {sha256, settings_.last.units ? std::string(unit_name(*settings_.last.units)) : ""};
}

ReadyLast ShelfFiles::prepared(const fs::path& file, std::string& sha256) {
  MeshFile mesh = read_mesh(file, limits_);
  sha256 = mesh.sha256;
  return ready_last(std::move(mesh), settings_);
}

std::vector<std::string> ShelfFiles::doubts() const {
  std::vector<std::string> sentences;
  if (doubtful_ > 0)
    sentences.push_back(
        fmt::format("{}: {} of its entries were not as they had been written; those lasts were prepared "
                    "again from their files",
                    index_name_, doubtful_.load()));
  if (not_kept_ > 0)
    sentences.push_back(fmt::format("{}: {} lasts could not be kept in it; make room, or remove it if this goes on",
                                    index_name_, not_kept_.load()));
  return sentences;
}

ShelfFiles::Known ShelfFiles::know(const fs::path& file) {
  Known known;
  if (index_) {
    known.sha256 = sha256_of(read_bytes(file, limits_.largest_file_bytes).bytes());
    if (const std::optional<KeptLast> kept = index_->find(key_of(known.sha256))) {
      known.last = *kept;
      return known;
    }
  }
  const bool was_doubtful = index_ && index_->state(key_of(known.sha256)) == IndexState::doubtful;
  const ReadyLast ready = prepared(file, known.sha256);
  doubtful_ += was_doubtful;
  if (index_) not_kept_ += !index_->keep(key_of(known.sha256), ready);
  known.last = {ready.last.side, ready.last.facts.units, ready.last.chance_of_wrong_side, ready.measures};
  return known;
}

ReadyLast ShelfFiles::ready(const fs::path& file, const std::string& sha256) {
  ReadyLast ready;
  if (!index_ || !index_->load(key_of(sha256), ready)) return ready_afresh(file, sha256);
  ready.last.facts.file = shown_name(file);  // kept by content: it may have had another name then
  hold(file, sha256_of(read_bytes(file, limits_.largest_file_bytes).bytes()), sha256);
  return ready;
}

ReadyLast ShelfFiles::ready_afresh(const fs::path& file, const std::string& sha256) {
  std::string now;
  ReadyLast ready = prepared(file, now);
  hold(file, now, sha256);
  if (index_) {  // `know` left it there: it is not what was kept
    ++doubtful_;
    not_kept_ += !index_->keep(key_of(sha256), ready);
  }
  return ready;
}

}  // namespace lastroom
