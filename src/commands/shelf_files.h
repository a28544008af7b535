#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "fitting.h"
#include "shelf_index/shelf_index.h"

namespace lastroom {

/// The files of a shelf's folder by name, without hidden ones and the index. Throws InputError when there is none.
std::vector<std::filesystem::path> files_of_shelf(const std::filesystem::path& folder);

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

  LastKey key_of(const std::string& sha256) const;
  const ShelfIndex* index() const { return index_ ? &*index_ : nullptr; }

 private:
  ReadyLast prepared(const std::filesystem::path& file, std::string& sha256);

  FittingSettings settings_;
  ReadLimits limits_;
  std::optional<ShelfIndex> index_;
};

/// Where the index of a shelf is: `given` if that is a name; in the shelf's folder if that may be written; else
/// nowhere.
std::filesystem::path index_file(const std::filesystem::path& given, const std::filesystem::path& shelf);

}  // namespace lastroom
