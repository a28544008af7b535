#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "error.h"
#include "measurement/ready_last.h"

namespace lastroom {

/// What a prepared last is kept under: the file's content and the unit it was read in (empty: guessed).
struct LastKey {
  std::string sha256;
  std::string units;
};

/// What is known of a last without looking at its surface.
struct KeptLast {
  Side side = Side::right;
  LengthUnit units = LengthUnit::millimetre;
  double chance_of_wrong_side = 0.0;
  LastMeasures measures;  ///< numbers only
};

enum class IndexState { absent, stale, doubtful, ready };

/// The file is no index, or so damaged that it can't be opened.
struct DamagedIndex : InputError {
  using InputError::InputError;
};

/// Prepared lasts in one SQLite file. It is never believed over the last's own file: each row carries a hash of all
/// that is in it, and one that does not agree with it, with itself or with SQLite is doubtful and counts as absent.
/// Kept by content, so a renamed file is found again and a changed one is not; what another build of the program
/// prepared is stale and counts as absent. Several threads and processes may use one file at once.
class ShelfIndex {
 public:
  /// Opens or makes it. `tool` names the build that prepares. Throws InputError (newer format, another program's),
  /// DamagedIndex and OutputError (can't be opened or written).
  ShelfIndex(const std::filesystem::path& file, std::string tool);
  ~ShelfIndex();
  ShelfIndex(const ShelfIndex&) = delete;
  ShelfIndex& operator=(const ShelfIndex&) = delete;

  IndexState state(const LastKey& key) const;
  std::optional<KeptLast> find(const LastKey& key) const;
  /// The whole prepared last; false when it isn't there, is stale or doubtful.
  bool load(const LastKey& key, ReadyLast& ready) const;

  /// False when the file can't take it; the last is then prepared again the next time.
  bool keep(const LastKey& key, const ReadyLast& ready);

  /// SQLite's own check of the whole file.
  bool is_sound() const;

 private:
  struct Store;
  std::unique_ptr<Store> store_;
};

/// Its name in a shelf's folder.
constexpr const char* kIndexName = "lastroom-index.sqlite";

}  // namespace lastroom
