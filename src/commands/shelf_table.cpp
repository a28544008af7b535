#include "commands/shelf_table.h"

#include <fmt/format.h>

#include <array>
#include <charconv>

#include "commands/csv_table.h"
#include "error.h"
#include "files/input_file.h"

namespace lastroom {
namespace {

constexpr std::array<std::string_view, 6> kColumns = {"file", "model", "size", "width", "side", "heel"};

std::optional<double> heel_in(const std::string& field) {
  constexpr double kMost_mm = 250.0;  // of anything that is worn
  double mm = 0.0;
  const auto [stopped, error] = std::from_chars(field.data(), field.data() + field.size(), mm);
  const bool whole = error == std::errc() && stopped == field.data() + field.size();
  return whole && mm >= 0.0 && mm <= kMost_mm ? std::optional(mm) : std::nullopt;
}

}  // namespace

ShelfTable parse_shelf_table(std::string_view text, const std::string& name) {
  const CsvTable csv(text, name, kColumns);
  if (!csv.has("file")) csv.fail(1, "the column 'file' is missing; it names the file of each last");
  ShelfTable table;
  for (const CsvTable::Line& line : csv.lines()) {
    const auto field = [&](const char* column) { return csv.field(line, column); };
    const std::string file = field("file"), side = field("side"), heel = field("heel");
    TableEntry entry{{field("model"), field("size"), field("width")}, {}, {}};
    if (file.empty()) csv.fail(line.number, "names no file");
    if (side == "left" || side == "right") entry.side = side == "left" ? Side::left : Side::right;
    if (!entry.side && !side.empty())
      csv.fail(line.number, fmt::format("'{}' is no side; write left or right", CsvTable::shown(side)));
    entry.heel_mm = heel_in(heel);
    if (!entry.heel_mm && !heel.empty())
      csv.fail(line.number,
               fmt::format("'{}' is no heel height in mm; write a number such as 25", CsvTable::shown(heel)));
    if (!table.emplace(file, std::move(entry)).second)
      csv.fail(line.number, fmt::format("'{}' is there twice; leave one line of it", CsvTable::shown(file)));
  }
  return table;
}

ShelfTable shelf_table_of(const std::filesystem::path& shelf) {
  constexpr std::uint64_t kLargest = 10'000'000;
  if (shelf.empty() || !std::filesystem::exists(shelf / kShelfTable)) return {};
  const FileBytes bytes = read_bytes(shelf / kShelfTable, kLargest);
  return parse_shelf_table({bytes.data.get(), bytes.size}, kShelfTable);
}

TableEntry entry_of(const ShelfTable& table, const std::filesystem::path& file) {
  const auto told = table.find(file.filename().string());
  TableEntry entry = told == table.end() ? TableEntry{} : told->second;
  if (entry.name.model.empty() && entry.name.size.empty() && entry.name.width.empty())
    entry.name = name_from_file(file.stem().string());
  return entry;
}

}  // namespace lastroom
