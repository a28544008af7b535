#pragma once

#include <atomic>
#include <filesystem>
#include <optional>
#include <vector>

#include "fitting.h"
#include "shelf_index/shelf_index.h"

namespace lastroom {

/// Whether it is this index or SQLite's journal beside it. They must not be read as lasts: closing them would also drop
/// the locks by which SQLite keeps other processes away.
bool is_of_index(const std::filesystem::path& file, const std::filesystem::path& index);

/// The files of a shelf's folder by name, without hidden ones, its table, its own index and the one that was given (if
/// one was). Throws InputError when there is none.
std::vector<std::filesystem::path> files_of_shelf(const std::filesystem::path& folder,
                                                  const std::filesystem::path& given_index);

/// The lasts of a shelf, prepared or known by their measures; through an index where there is one, so that each is
/// prepared once. Used by many threads.
class ShelfFiles {
 public:
  /// `index`: no file, no index.
  ShelfFiles(const std::filesystem::path& index, const FittingSettings& settings, const ReadLimits& limits);

  struct Known {
    std::string sha256;
    KeptLast last;
  };
  /// Prepares the last if its index does not hold it. Throws InputError when the file is no last.
  Known know(const std::filesystem::path& file);
  /// The whole last. Throws InputError when the file no longer has these bytes.
  ReadyLast ready(const std::filesystem::path& file, const std::string& sha256);
  /// The same without asking the index, whose entry is then another.
  ReadyLast ready_afresh(const std::filesystem::path& file, const std::string& sha256);

  LastKey key_of(const std::string& sha256) const;
  /// What was wrong with the index, in sentences: rows that were doubtful, and prepared again.
  std::vector<std::string> doubts() const;
  const ShelfIndex* index() const { return index_ ? &*index_ : nullptr; }

 private:
  ReadyLast prepared(const std::filesystem::path& file, std::string& sha256);

  FittingSettings settings_;
  ReadLimits limits_;
  std::optional<ShelfIndex> index_;
  std::string index_name_;
  std::atomic<int> doubtful_ = 0, not_kept_ = 0;
};

/// Where the index of a shelf is: `given` if that is a name; in the shelf's folder if that may be written; else
/// nowhere.
std::filesystem::path index_file(const std::filesystem::path& given, const std::filesystem::path& shelf);

}  // namespace lastroom
