#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "preparation/side.h"
#include "screening/last_name.h"

namespace lastroom {

/// The table's name in a shelf's folder.
constexpr const char* kShelfTable = "shelf.csv";

/// What the table says of one last.
struct TableEntry {
  LastName name;
  std::optional<Side> side;
  std::optional<double> heel_mm;
};
using ShelfTable = std::map<std::string, TableEntry>;  ///< by the file's name

/// A CSV whose first line names the columns, in any order: file, model, size, width, side, heel; all but `file` may be
/// left out, and every field but that may be empty. Throws InputError that names file and line.
ShelfTable parse_shelf_table(std::string_view text, const std::string& name);
/// The one in the shelf's folder; empty where there is none.
ShelfTable shelf_table_of(const std::filesystem::path& shelf);

/// As the table calls it; where it calls it nothing, as its file's name does.
TableEntry entry_of(const ShelfTable& table, const std::filesystem::path& file);

}  // namespace lastroom
