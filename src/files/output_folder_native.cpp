#include "files/output_folder.h"

#include <sys/stat.h>

#include <algorithm>
#include <array>
#include <cerrno>

#include "error.h"
#include "files/staging_folder.h"

namespace lastroom {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kRefusalName = "refusal.html";

// What an earlier run may have left and this run may not write again (contract: result.json, report.html,
// clearance.ply; the others are those of screen, compare and batch). They would not belong to the new result, so they
// are not taken over; job.json least of all, which vouches for the result beside it.
constexpr std::array<std::string_view, 16> kOwnFiles{kRefusalName,         "measures.html",
                                                     "job.json",           "result.json",
                                                     "result.left.json",   "result.right.json",
                                                     "report.html",        "clearance.ply",
                                                     "clearance.left.ply", "clearance.right.ply",
                                                     "shelf.json",         "shelf.html",
                                                     "shelf.csv",          "best",
                                                     "compare.json",       "compare.html"};

// Absolute, without "." and "..", without a slash at the end.
fs::path plain(const fs::path& path) {
  if (path.empty()) throw OutputError("The output has no name; give a folder after -o");
  std::error_code error;
  fs::path result = fs::absolute(path, error).lexically_normal();
  if (!result.has_filename()) result = result.parent_path();
  return result;
}

void refuse(const fs::path& target, const std::string& why) { throw OutputError(target.string() + ": " + why); }

// Its own ancestor or itself: replacing the folder that we stand in would pull it away under the user's shell.
bool holds_working_folder(const fs::path& target) {
  std::error_code error;
  const fs::path here = fs::current_path(error).lexically_normal();
  return std::mismatch(target.begin(), target.end(), here.begin(), here.end()).first == target.end();
}

// Everything of the old folder that is not ours goes along: as a second name of the same file where the disk can do
// that, else as a copy. The old folder is not touched.
void take_over(const fs::path& old_folder, const fs::path& staging_folder) {
  for (const fs::directory_entry& entry : fs::directory_iterator(old_folder)) {
    const fs::path name = entry.path().filename();
    if (std::find(kOwnFiles.begin(), kOwnFiles.end(), name.string()) != kOwnFiles.end()) continue;
    if (fs::exists(fs::symlink_status(staging_folder / name))) continue;
    constexpr auto kCopy = fs::copy_options::recursive | fs::copy_options::copy_symlinks;
    std::error_code error;
    fs::copy(entry.path(), staging_folder / name, kCopy | fs::copy_options::create_hard_links, error);
    if (error) {
      fs::remove_all(staging_folder / name);
      fs::copy(entry.path(), staging_folder / name, kCopy);
    }
  }
}

// Not file by file while they are written: the first wait then takes the others along.
void sync_all(const fs::path& fresh, const fs::path& target) {
  std::error_code error;
  for (fs::recursive_directory_iterator entry(fresh, error), end; !error && entry != end; entry.increment(error))
    if (!entry->is_symlink(error) && (entry->is_directory(error) || entry->is_regular_file(error)))
      if (const int failed = synced(entry->path())) cannot_write(target, failed);
  if (error) cannot_write(target, error.value());
  if (const int failed = synced(fresh)) cannot_write(target, failed);
}

// The new result takes the old one's name; the old one is then at the staging folder's name, or moved aside.
void swap_in(const StagingFolder& fresh, const fs::path& target) {
  const fs::path& staging_folder = fresh.folder();
  const int error = renamed(staging_folder, target, Rename::exchange);
  if (error == 0) return;
  if (error != EINVAL && error != ENOSYS && error != ENOTSUP) cannot_write(target, error);
  // This disk can't exchange two folders. If we die between these renames, the next run puts the old one back.
  const fs::path aside = fresh.aside();
  if (const int failed = renamed(target, aside, Rename::plain)) cannot_write(target, failed);
  if (const int failed = renamed(staging_folder, target, Rename::plain)) {
    renamed(aside, target, Rename::plain);
    cannot_write(target, failed);
  }
  std::error_code ignored;
  fs::remove_all(aside, ignored);
}

// Empty, or nothing but what a refusal left: there is no result in it that could be lost.
bool is_vacant(const fs::path& folder, std::error_code& error) {
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error))
    if (entry->path().filename() != kRefusalName) return false;
  return !error;
}

}  // namespace

OutputFolder::OutputFolder(fs::path folder, bool overwrite) : target_(plain(folder)), overwrite_(overwrite) {
  std::error_code error;
  const fs::file_status status = fs::symlink_status(target_, error);
  if (fs::is_symlink(status)) refuse(target_, "is a symbolic link; give the folder itself");
  if (fs::exists(status) && !fs::is_directory(status)) refuse(target_, "is not a folder; choose another name");
  if (!fs::exists(status) && error && error.value() != ENOENT) cannot_write(target_, error.value());
  if (fs::exists(status)) {
    const bool vacant = is_vacant(target_, error);
    if (error) cannot_write(target_, error.value());
    if (!vacant && !overwrite_)
      refuse(target_, "is there already and not empty; choose another folder, or give --overwrite");
    if (target_ == target_.root_path() || holds_working_folder(target_))
      refuse(target_, "is the folder that you work in, or above it; choose a folder inside");
  }
  staging_folder_ = std::make_unique<StagingFolder>(target_);
}

OutputFolder::~OutputFolder() = default;

void OutputFolder::write(std::string_view file_name, std::string_view bytes) {
  const fs::path inside = fs::path(file_name).lexically_normal();
  if (inside.empty() || inside.is_absolute() || *inside.begin() == ".." || !inside.has_filename())
    refuse(target_, "can't hold a file named '" + std::string(file_name) + "'; choose another name");
  const auto held = hold_staging_folders();
  std::error_code error;
  if (inside.has_parent_path()) fs::create_directories((staging_folder_->folder() / inside).parent_path(), error);
  if (error) cannot_write(target_ / inside, error.value());
  write_new_file(staging_folder_->folder() / inside, bytes, target_ / inside);
}

void OutputFolder::publish() {
  std::error_code error;
  const fs::file_status status = fs::symlink_status(target_, error);
  if (fs::exists(status) && !fs::is_directory(status)) refuse(target_, "is not a folder any more; choose another name");
  const bool replaces = fs::is_directory(status) && !fs::is_empty(target_, error);
  if (replaces && !overwrite_ && !is_vacant(target_, error))
    refuse(target_, "is not empty any more; choose another folder, or give --overwrite");
  const fs::path& fresh = staging_folder_->folder();
  try {
    const auto held = hold_staging_folders();
    if (replaces) take_over(target_, fresh);
  } catch (const fs::filesystem_error& failure) {
    cannot_write(target_, failure.code().value());
  }
  sync_all(fresh, target_);
  {
    const auto held = hold_staging_folders();
    if (replaces)
      swap_in(*staging_folder_, target_);
    else if (const int failed = renamed(fresh, target_, Rename::plain))
      cannot_write(target_, failed);
  }
  synced(target_.parent_path());  // if that fails, the result is there all the same
  staging_folder_.reset();        // removes the old result, which now has the staging folder's name
}

void OutputFolder::refuse_with(std::string_view page) {
  std::error_code error;
  if (fs::is_directory(target_, error) && !is_vacant(target_, error)) {
    write_file(target_ / kRefusalName, page, true);
    return;
  }
  write(kRefusalName, page);
  publish();
}

void write_file(const fs::path& file, std::string_view bytes, bool overwrite) {
  const fs::path target = plain(file);
  std::error_code error;
  const fs::file_status status = fs::symlink_status(target, error);
  if (fs::is_symlink(status)) refuse(target, "is a symbolic link; give the file itself");
  if (fs::is_directory(status)) refuse(target, "is a folder; give a file name");
  if (fs::exists(status) && !fs::is_regular_file(status))
    refuse(target, "is not an ordinary file; choose another name");
  if (fs::exists(status) && !overwrite) refuse(target, "is there already; choose another name, or give --overwrite");
  const StagingFolder staging_folder(target);
  const fs::path fresh = staging_folder.folder() / "file";
  write_new_file(fresh, bytes, target);
  int failed = synced(fresh);
  if (failed != 0) cannot_write(target, failed);
  failed = renamed(fresh, target, overwrite ? Rename::plain : Rename::no_replace);
  if (!overwrite && (failed == EINVAL || failed == ENOSYS)) failed = renamed(fresh, target, Rename::plain);
  if (failed != 0) cannot_write(target, failed);
  synced(target.parent_path());
}

}  // namespace lastroom
