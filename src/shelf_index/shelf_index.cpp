#include "shelf_index/shelf_index.h"

#include <fmt/format.h>
#include <sqlite3.h>

#include <cstring>
#include <mutex>

#include "digest/digest.h"
#include "error.h"
#include "files/input_file.h"
#include "shelf_index/packed_last.h"

namespace lastroom {
namespace {

constexpr int kFormat = 2;                // of the tables below; a higher one in a file is from a newer program
constexpr int kApplication = 0x4c415354;  // "LAST", so that `file` and we know whose file it is
constexpr int kPatience_ms = 60'000;      // how long another process may hold the file: it writes for milliseconds

constexpr const char* kMakeTables =
    "CREATE TABLE IF NOT EXISTS last("
    "  sha256 TEXT NOT NULL, units TEXT NOT NULL,"  // the key: content, and the unit it was read in
    "  tool TEXT NOT NULL,"                         // the build that prepared it
    "  side INTEGER, file_units INTEGER, chance_of_wrong_side REAL, numbers BLOB,"
    "  row_sha256 TEXT, body_sha256 TEXT, body BLOB,"  // body last: SQLite reads the columns before it without its
                                                       // pages
    "  PRIMARY KEY(sha256, units))";
constexpr const char* kHead =
    "SELECT tool, side, file_units, chance_of_wrong_side, numbers, body_sha256, row_sha256 FROM last"
    " WHERE sha256=?1 AND units=?2";
constexpr const char* kBody = "SELECT body FROM last WHERE sha256=?1 AND units=?2";
constexpr const char* kKeep =
    "INSERT OR REPLACE INTO last(sha256, units, tool, side, file_units, chance_of_wrong_side, numbers,"
    " body_sha256, row_sha256, body) VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)";
constexpr const char* kCheck = "PRAGMA quick_check(1)";

/// One statement, with its values bound in order.
class Statement {
 public:
  Statement(sqlite3* db, const char* sql) { sqlite3_prepare_v2(db, sql, -1, &statement_, nullptr); }
  ~Statement() { sqlite3_finalize(statement_); }
  Statement(const Statement&) = delete;
  Statement& operator=(const Statement&) = delete;

  Statement& text(const std::string& value) {
    sqlite3_bind_text(statement_, ++bound_, value.data(), static_cast<int>(value.size()), SQLITE_STATIC);
    return *this;
  }
  Statement& number(double value) {
    sqlite3_bind_double(statement_, ++bound_, value);
    return *this;
  }
  Statement& integer(int value) {
    sqlite3_bind_int(statement_, ++bound_, value);
    return *this;
  }
  Statement& blob(const std::string& bytes) {
    sqlite3_bind_blob64(statement_, ++bound_, bytes.data(), bytes.size(), SQLITE_STATIC);
    return *this;
  }
  int step() { return statement_ ? sqlite3_step(statement_) : SQLITE_ERROR; }
  std::string bytes_at(int column) const {
    const void* data = sqlite3_column_blob(statement_, column);
    return data ? std::string(static_cast<const char*>(data),
                              static_cast<std::size_t>(sqlite3_column_bytes(statement_, column)))
                : std::string();
  }
  int integer_at(int column) const { return sqlite3_column_int(statement_, column); }
  double number_at(int column) const { return sqlite3_column_double(statement_, column); }

 private:
  sqlite3_stmt* statement_ = nullptr;
  int bound_ = 0;
};

/// A row without its key and its body.
struct Head {
  std::string tool;
  int side = 0, units = 0;
  double chance_of_wrong_side = 0.0;
  std::string numbers, body_sha256;
};

/// Of all that is in a row: of the body by its own hash, so that the body need not be read to trust the rest.
std::string row_sha256(const LastKey& key, const Head& head) {
  std::string all;
  for (const std::string& part : {key.sha256, key.units, head.tool, fmt::format("{} {}", head.side, head.units),
                                  fmt::format("{}", head.chance_of_wrong_side), head.numbers, head.body_sha256})
    all += fmt::format("{} ", part.size()) + part;
  return sha256_of(all);
}

/// What a head says of its last; nothing when it can't be so.
std::optional<KeptLast> kept_last(const Head& head) {
  KeptLast kept;
  kept.side = head.side == 0 ? Side::left : Side::right;
  kept.units = static_cast<LengthUnit>(head.units);
  kept.chance_of_wrong_side = head.chance_of_wrong_side;
  const bool good = (head.side == 0 || head.side == 1) && kept.units >= LengthUnit::millimetre &&
                    kept.units <= LengthUnit::inch && head.chance_of_wrong_side >= 0.0 &&
                    head.chance_of_wrong_side <= 0.5 && unpack_numbers(head.numbers, kept.measures);
  return good ? std::optional(kept) : std::nullopt;
}

Head head_of(const ReadyLast& ready, const std::string& tool, const std::string& body) {
  return {tool,
          ready.last.side == Side::left ? 0 : 1,
          static_cast<int>(ready.last.facts.units),
          ready.last.chance_of_wrong_side,
          packed_numbers(ready.measures),
          sha256_of(body)};
}

}  // namespace

struct ShelfIndex::Store {
  std::filesystem::path file;
  std::string tool;
  sqlite3* db = nullptr;
  std::mutex mutex;  // one connection: a statement and its error belong together

  ~Store() { sqlite3_close(db); }

  [[noreturn]] void fail() const {
    const int code = sqlite3_extended_errcode(db) & 0xff;
    const std::string name = file.filename().string(), why = sqlite3_errmsg(db);
    if (code == SQLITE_NOTADB || code == SQLITE_CORRUPT)
      throw DamagedIndex(name + ": is no index of lasts, or is damaged; remove it, and it is built again");
    if (code == SQLITE_BUSY)
      throw OutputError(name + ": another program has held it for a minute; end that one or give another --index");
    throw OutputError(fmt::format("{}: can't be used ({}); make room, or give another file as --index", name, why));
  }
  void run(const char* sql) const {
    if (sqlite3_exec(db, sql, nullptr, nullptr, nullptr) != SQLITE_OK) fail();
  }
  int setting(const char* sql) const {
    Statement statement(db, sql);
    if (statement.step() != SQLITE_ROW) fail();
    return statement.integer_at(0);
  }
  /// The head of a row, or what is wrong with it.
  IndexState head(const LastKey& key, Head& head) const {
    Statement statement(db, kHead);
    const int result = statement.text(key.sha256).text(key.units).step();
    if (result == SQLITE_BUSY) fail();
    if (result == SQLITE_DONE) return IndexState::absent;
    if (result != SQLITE_ROW) return IndexState::doubtful;
    head = {statement.bytes_at(0),  statement.integer_at(1), statement.integer_at(2),
            statement.number_at(3), statement.bytes_at(4),   statement.bytes_at(5)};
    if (row_sha256(key, head) != statement.bytes_at(6)) return IndexState::doubtful;
    return head.tool == tool ? IndexState::ready : IndexState::stale;
  }
  void make_tables() const {
    run("BEGIN IMMEDIATE");
    run("DROP TABLE IF EXISTS last");  // of an older format: all of it can be prepared again
    run(kMakeTables);
    run(fmt::format("PRAGMA application_id={}", kApplication).c_str());
    run(fmt::format("PRAGMA user_version={}", kFormat).c_str());
    run("COMMIT");
  }
};

ShelfIndex::ShelfIndex(const std::filesystem::path& file, std::string tool) : store_(std::make_unique<Store>()) {
  store_->file = file;
  store_->tool = std::move(tool);
  if (sqlite3_open_v2(file.c_str(), &store_->db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, nullptr) != SQLITE_OK)
    store_->fail();
  sqlite3_extended_result_codes(store_->db, 1);
  sqlite3_busy_timeout(store_->db, kPatience_ms);
  // Not the write-ahead log: it needs memory that all processes share, and so fails on a cluster's network disk
  // (sqlite.org/wal.html). With the rollback journal the file is whole after a kill too, and all may read at once.
  store_->run("PRAGMA trusted_schema=OFF");  // a stranger's file
  store_->run("PRAGMA cell_size_check=ON");
  store_->run("PRAGMA journal_mode=DELETE");
  store_->run("PRAGMA synchronous=NORMAL");
  const std::string name = file.filename().string();
  const int format = store_->setting("PRAGMA user_version");
  if (format > kFormat)
    throw InputError(fmt::format(
        "{}: was written by a newer lastroom (format {}, this one reads up to {}); use that one, or give another file "
        "as --index",
        name, format, kFormat));
  if (format == kFormat && store_->setting("PRAGMA application_id") == kApplication) return;
  if (store_->setting("SELECT count(*) FROM sqlite_master") > 0 &&
      store_->setting("PRAGMA application_id") != kApplication)
    throw InputError(name + ": is another program's database; give another file as --index");
  store_->make_tables();
}

ShelfIndex::~ShelfIndex() = default;

IndexState ShelfIndex::state(const LastKey& key) const {
  const std::scoped_lock lock(store_->mutex);
  Head head;
  const IndexState state = store_->head(key, head);
  return state == IndexState::ready && !kept_last(head) ? IndexState::doubtful : state;
}

std::optional<KeptLast> ShelfIndex::find(const LastKey& key) const {
  const std::scoped_lock lock(store_->mutex);
  Head head;
  return store_->head(key, head) == IndexState::ready ? kept_last(head) : std::nullopt;
}

bool ShelfIndex::load(const LastKey& key, ReadyLast& ready) const {
  const std::scoped_lock lock(store_->mutex);
  Head head;
  if (store_->head(key, head) != IndexState::ready) return false;
  Statement statement(store_->db, kBody);
  if (statement.text(key.sha256).text(key.units).step() != SQLITE_ROW) return false;
  const std::string body = statement.bytes_at(0);
  if (!unpack(body, ready) || ready.last.facts.sha256 != key.sha256) return false;
  // By what its numbers were judged must be what its surface says; the body's own hash is among the head's.
  return row_sha256(key, head_of(ready, head.tool, body)) == row_sha256(key, head);
}

bool ShelfIndex::keep(const LastKey& key, const ReadyLast& ready) {
  const std::string body = packed(ready);
  const Head head = head_of(ready, store_->tool, body);
  const std::string hash = row_sha256(key, head);
  const std::scoped_lock lock(store_->mutex);
  Statement statement(store_->db, kKeep);
  statement.text(key.sha256).text(key.units).text(head.tool).integer(head.side).integer(head.units);
  statement.number(head.chance_of_wrong_side).blob(head.numbers).text(head.body_sha256).text(hash).blob(body);
  return statement.step() == SQLITE_DONE;
}

bool ShelfIndex::is_sound() const {
  const std::scoped_lock lock(store_->mutex);
  Statement statement(store_->db, kCheck);
  return statement.step() == SQLITE_ROW && statement.bytes_at(0) == "ok";
}

}  // namespace lastroom
