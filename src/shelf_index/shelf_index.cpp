#include "shelf_index/shelf_index.h"

#include <fmt/format.h>
#include <sqlite3.h>

#include <cstring>
#include <mutex>

#include "error.h"
#include "mesh_io/input_file.h"
#include "shelf_index/packed_last.h"

namespace lastroom {
namespace {

constexpr int kFormat = 1;                // of the tables below; a higher one in a file is from a newer program
constexpr int kApplication = 0x4c415354;  // "LAST", so that `file` and we know whose file it is
constexpr int kPatience_ms = 60'000;      // how long another process may hold the file: it writes for milliseconds

constexpr const char* kMakeTables =
    "CREATE TABLE IF NOT EXISTS last("
    "  sha256 TEXT NOT NULL, units TEXT NOT NULL,"  // the key: content, and the unit it was read in
    "  tool TEXT NOT NULL,"                         // the build that prepared it
    "  side INTEGER, file_units INTEGER, chance_of_wrong_side REAL, numbers BLOB,"
    "  body_sha256 TEXT, body BLOB,"  // last: SQLite reads the columns before it without its pages
    "  PRIMARY KEY(sha256, units))";
constexpr const char* kState = "SELECT tool FROM last WHERE sha256=?1 AND units=?2";
constexpr const char* kFind =
    "SELECT side, file_units, chance_of_wrong_side, numbers FROM last"
    " WHERE sha256=?1 AND units=?2 AND tool=?3";
constexpr const char* kLoad = "SELECT body_sha256, body FROM last WHERE sha256=?1 AND units=?2 AND tool=?3";
constexpr const char* kKeep =
    "INSERT OR REPLACE INTO last(sha256, units, tool, side, file_units, chance_of_wrong_side, numbers,"
    " body_sha256, body) VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)";
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
  std::string_view view_at(int column) const {
    return {static_cast<const char*>(sqlite3_column_blob(statement_, column)),
            static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))};
  }
  int integer_at(int column) const { return sqlite3_column_int(statement_, column); }
  double number_at(int column) const { return sqlite3_column_double(statement_, column); }

 private:
  sqlite3_stmt* statement_ = nullptr;
  int bound_ = 0;
};

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
      throw InputError(name + ": is no index of lasts, or is damaged; remove it, and it is built again");
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
  bool has_row(Statement& statement) const {
    const int result = statement.step();
    if (result != SQLITE_ROW && result != SQLITE_DONE) fail();
    return result == SQLITE_ROW;
  }
  void make_tables() const {
    run("BEGIN IMMEDIATE");
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
  Statement statement(store_->db, kState);
  if (!store_->has_row(statement.text(key.sha256).text(key.units))) return IndexState::absent;
  return statement.bytes_at(0) == store_->tool ? IndexState::ready : IndexState::stale;
}

std::optional<KeptLast> ShelfIndex::find(const LastKey& key) const {
  const std::scoped_lock lock(store_->mutex);
  Statement statement(store_->db, kFind);
  if (!store_->has_row(statement.text(key.sha256).text(key.units).text(store_->tool))) return std::nullopt;
  KeptLast found;
  found.side = statement.integer_at(0) == 0 ? Side::left : Side::right;
  found.units = static_cast<LengthUnit>(statement.integer_at(1) & 3);
  found.chance_of_wrong_side = statement.number_at(2);
  if (!unpack_numbers(statement.view_at(3), found.measures)) return std::nullopt;
  return found;
}

bool ShelfIndex::load(const LastKey& key, ReadyLast& ready) const {
  const std::scoped_lock lock(store_->mutex);
  Statement statement(store_->db, kLoad);
  if (!store_->has_row(statement.text(key.sha256).text(key.units).text(store_->tool))) return false;
  const std::string_view body = statement.view_at(1);
  return sha256_of(body) == statement.bytes_at(0) && unpack(body, ready);
}

void ShelfIndex::keep(const LastKey& key, const ReadyLast& ready) {
  const Last& last = ready.last;
  const std::string body = packed(ready), numbers = packed_numbers(ready.measures), hash = sha256_of(body);
  const std::scoped_lock lock(store_->mutex);
  Statement statement(store_->db, kKeep);
  statement.text(key.sha256).text(key.units).text(store_->tool).integer(last.side == Side::left ? 0 : 1);
  statement.integer(static_cast<int>(last.facts.units)).number(last.chance_of_wrong_side).blob(numbers).text(hash);
  store_->has_row(statement.blob(body));
}

bool ShelfIndex::is_sound() const {
  const std::scoped_lock lock(store_->mutex);
  Statement statement(store_->db, kCheck);
  return statement.step() == SQLITE_ROW && statement.bytes_at(0) == "ok";
}

}  // namespace lastroom
