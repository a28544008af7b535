#pragma once

// Private to commands: what the screening of one foot and that of a pair share.

#include <map>

#include "commands/commands.h"
#include "commands/journal.h"
#include "commands/shelf_files.h"
#include "commands/shelf_table.h"

namespace lastroom {

/// One foot and what became of each last of the shelf.
struct Screening {
  const ScreenOptions& options;
  const Rules& rules;
  ShelfFiles& shelf;
  Journal& journal;
  ReadyFoot foot;
  FittingSettings settings;  ///< without day and advice, which are told of the best alone
  std::string tag = {};      ///< before its entries in the journal: "left " of two feet
  std::vector<ShelfRow> rows = {};
  std::map<std::string, std::filesystem::path> path_of = {};  ///< by the row's hash: names may repeat
};

/// The shelf's files, or those that were named.
std::vector<std::filesystem::path> files_to_screen(const ScreenOptions& options);
/// Opens the shelf's index where it may be used, and tells where it may not.
void open_shelf(std::optional<ShelfFiles>& shelf, const ScreenOptions& options, const FittingSettings& settings);

/// Gives every file its row, with what measures and names tell of it: which are left out, and why.
void measure_shelf(Screening& run, const std::vector<std::filesystem::path>& files, const ShelfTable& table);
/// Lasts come in pairs: whether these two may be left and right of one.
bool fellows(const ShelfRow& a, const ShelfRow& b);
/// Checks a row in full, or takes it over from the journal.
void check_row(Screening& run, ShelfRow& row);
/// The whole fitting of a row that was judged, with advice, and the day in the shoe where that was asked for.
Fitting fitting_of(const Screening& run, const ShelfRow& row);
/// The small pictures of a row that was checked; may be empty.
std::string pictures_of(const Screening& run, const ShelfRow& row);

/// What stands over the list, of one foot.
ShelfHead head_of(const Screening& run, const ShelfTable& table);
/// "best/01-derby-42": a rank and what of the file's name can stand in any folder's name and any link.
std::string best_folder(std::size_t rank, const std::string& file);

}  // namespace lastroom
