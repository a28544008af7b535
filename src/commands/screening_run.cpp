#include "commands/screening_run.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "commands/progress_bar.h"
#include "error.h"
#include "files/input_file.h"
#include "geometry/parallel.h"
#include "preparation/other_body.h"
#include "report/message_json.h"
#include "words/words.h"

namespace lastroom {

namespace fs = std::filesystem;
using Json = nlohmann::json;

bool fellows(const ShelfRow& a, const ShelfRow& b) {
  constexpr double kSame_mm = 1.0;  // what two scans of a pair may differ by (our choice)
  return std::abs(a.length_mm - b.length_mm) < kSame_mm && std::abs(a.joint_girth_mm - b.joint_girth_mm) < kSame_mm &&
         std::abs(a.heel_height_mm - b.heel_height_mm) < kSame_mm;
}

namespace {

Json found_in(const ShelfRow& row, const std::string& pictures) {
  const auto number = [](const std::optional<double>& value) { return value ? Json(*value) : Json(); };
  const auto name = [](const std::optional<RuleId>& rule) { return rule ? Json(rule_name(*rule)) : Json(); };
  Json wrong = Json::array();
  for (const RuleId rule : row.wrong) wrong.push_back(rule_name(rule));
  return {{"fate", static_cast<int>(row.fate)},       {"problem", message_json(row.problem)},
          {"verdict", static_cast<int>(row.verdict)}, {"margin_mm", row.margin.mm},
          {"margin_rule", name(row.margin.rule)},     {"finding", name(row.finding)},
          {"measured_mm", number(row.measured_mm)},   {"limit_mm", number(row.limit_mm)},
          {"allowance_mm", row.allowance_mm},         {"pictures", pictures},
          {"doubt", message_json(row.doubt)},         {"wrong", std::move(wrong)}};
}

/// False when the entry does not hold what `found_in` makes; the row is then as it was.
bool take_over(ShelfRow& into, const Json& found) try {
  ShelfRow row = into;
  const auto number = [&](const char* name) {
    return found.at(name).is_null() ? std::optional<double>() : found.at(name).get<double>();
  };
  const auto rule = [&](const char* name) {
    return found.at(name).is_null() ? std::optional<RuleId>() : find_rule(found.at(name).get<std::string>());
  };
  row.fate = static_cast<Fate>(found.at("fate").get<int>());
  row.problem = message_from_json(found.at("problem"));
  row.doubt = message_from_json(found.at("doubt"));
  for (const Message* told : {&row.problem, &row.doubt})
    if (!told->empty() && !can_be_told(*told)) return false;
  row.verdict = static_cast<Verdict>(found.at("verdict").get<int>());
  row.margin = {found.at("margin_mm"), rule("margin_rule")};
  row.finding = rule("finding");
  row.measured_mm = number("measured_mm");
  row.limit_mm = number("limit_mm");
  row.allowance_mm = found.at("allowance_mm");
  row.wrong.clear();
  for (const Json& name : found.at("wrong"))
    if (const auto known = find_rule(name.get<std::string>())) row.wrong.push_back(*known);
  if (!found.at("pictures").is_string() || (row.fate != Fate::judged && row.fate != Fate::unusable) ||
      row.verdict < Verdict::clear || row.verdict > Verdict::none)
    return false;
  into = row;
  return true;
} catch (const Json::exception&) {
  return false;
}

std::string lower(std::string text) {
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
  return text;
}

/// Whether model, size, width and heel of a last are what was asked for. Its heel is the table's, or else its mesh's.
bool is_asked_for(const ShelfRow& row, const ScreenOptions& options) {
  const double heel_mm = row.told_heel_mm.value_or(row.heel_height_mm);
  if (options.heel_mm && (heel_mm < options.heel_mm->first || heel_mm > options.heel_mm->second)) return false;
  return std::ranges::all_of(options.only, [&](const auto& wanted) {
    const std::string& told = wanted.first == "model"  ? row.name.model
                              : wanted.first == "size" ? row.name.size
                                                       : row.name.width;
    return lower(told) == lower(wanted.second);
  });
}

/// What the measures of a last say of it.
void describe(ShelfRow& row, const KeptLast& last, const ReadyFoot& foot, const Rules& rules,
              const FittingSettings& settings) {
  row.units = unit_name(last.units);
  row.length_mm = last.measures.length_mm;
  row.joint_girth_mm = last.measures.joint_girth.mm;
  row.heel_height_mm = last.measures.heel_height_mm;
  const bool other = last.side != foot.foot.side, straight = last.chance_of_wrong_side > kStraightFrom;
  row.straight = straight;
  row.fate = other && !straight ? Fate::other_side : Fate::left_out;
  row.sieve = margin_upper_bound(foot.foot, foot.measures, last.measures, rules, settings.assessment,
                                 settings.registration.sock_mm);
  if (other && straight)
    row.sieve = {std::numeric_limits<double>::infinity(), {}};  // turned over, its joints change places
}

/// Lasts come in pairs: one for the other foot is mirrored, unless its fellow is on the shelf too. A last is fellow to
/// one only.
void mirror_where_alone(std::vector<ShelfRow>& rows) {
  std::set<const ShelfRow*> taken;
  for (ShelfRow& row : rows) {
    if (row.fate != Fate::other_side) continue;
    const auto fellow = std::ranges::find_if(rows, [&](const ShelfRow& other) {
      return other.fate == Fate::left_out && !other.mirrored && !taken.contains(&other) && fellows(row, other);
    });
    row.mirrored = fellow == rows.end();
    if (!row.mirrored) taken.insert(&*fellow);
  }
  for (ShelfRow& row : rows)
    if (row.mirrored) row.fate = Fate::left_out;
}

/// In right form a last is its own mirror image.
ReadyLast as_ranked(const ShelfRow& row, Side side, ReadyLast ready) {
  if (!row.mirrored) return ready;
  ready.last.side = side;
  ready.last.facts.repairs.push_back({"shelf.mirrored"});
  return ready;
}

void mark_same_files(std::vector<ShelfRow>& rows) {
  std::map<std::string, std::string> first;
  for (ShelfRow& row : rows) {
    if (row.sha256.empty()) continue;
    const auto [it, is_first] = first.emplace(row.sha256, row.file);
    if (is_first) continue;
    row.fate = Fate::same_file;
    row.same_as = it->second;
  }
}

/// About the shelf as a whole: mixed units, lasts of another side than the table says, lines of no file.
std::vector<Message> remarks_on(const std::vector<ShelfRow>& rows, Side side, const ShelfTable& table) {
  const Side other = side == Side::left ? Side::right : Side::left;
  std::vector<Message> remarks;
  std::set<std::string> units, files;
  for (const ShelfRow& row : rows) {
    files.insert(row.file);
    if (!row.units.empty()) units.insert(row.units);
    const auto told = table.find(row.file);
    if (told == table.end() || !told->second.side || row.units.empty() || row.straight) continue;
    const Side found = row.mirrored || row.fate == Fate::other_side ? other : side;
    if (found != *told->second.side) remarks.push_back(about_file("shelf.table_side", row.file));
  }
  if (units.size() > 1) remarks.insert(remarks.begin(), {"shelf.units_differ"});
  for (const auto& [file, entry] : table)
    if (!files.contains(file)) remarks.push_back(about_file("shelf.table_absent", file));
  return remarks;
}

}  // namespace

std::vector<fs::path> files_to_screen(const ScreenOptions& options) {
  std::vector<fs::path> files = options.shelf.empty() ? options.lasts : files_of_shelf(options.shelf, options.index);
  std::erase_if(files, [&](const fs::path& file) { return is_of_index(file, options.index); });  // of "lasts/*"
  return files;
}

void open_shelf(std::optional<ShelfFiles>& shelf, const ScreenOptions& options, const FittingSettings& settings) {
  try {
    shelf.emplace(index_file(options.index, options.shelf), settings, options.common.limits);
  } catch (const DamagedIndex& error) {
    fmt::print(stderr, "lastroom: {}. Every last is prepared from its file\n", error.what());
    shelf.emplace(fs::path(), settings, options.common.limits);
  }
  if (!options.shelf.empty() && !shelf->index() && !options.common.quiet)
    fmt::print(stderr, "{}: may not be written, so the prepared lasts are not kept; give a file as --index\n",
               shown_name(options.shelf));
}

void measure_shelf(Screening& run, const std::vector<fs::path>& files, const ShelfTable& table) {
  std::vector<ShelfRow>& rows = run.rows;
  rows.resize(files.size());
  ProgressBar bar("measured", run.options.common.quiet);
  constexpr std::size_t kAtOnce = 16;
  for (std::size_t first = 0; first < files.size(); first += kAtOnce) {
    const std::size_t count = std::min(kAtOnce, files.size() - first);
    for_blocks(count, 1, [&](std::size_t i, std::size_t) {
      ShelfRow& row = rows[first + i];
      row.file = shown_name(files[first + i]);
      const TableEntry entry = entry_of(table, files[first + i]);
      row.name = entry.name;
      row.told_heel_mm = entry.heel_mm;
      try {
        const ShelfFiles::Known known = run.shelf.know(files[first + i]);
        row.sha256 = known.sha256;
        describe(row, known.last, run.foot, run.rules, run.settings);
      } catch (const InputError& error) {
        row.problem = error.message;
      }
    });
    bar.show(first + count, files.size() - first - count);
  }
  if (run.options.mirror) mirror_where_alone(rows);
  mark_same_files(rows);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows[i].fate == Fate::left_out && !is_asked_for(rows[i], run.options)) rows[i].fate = Fate::not_asked;
    if (rows[i].fate == Fate::left_out) run.path_of[rows[i].sha256] = files[i];
  }
}

void check_row(Screening& run, ShelfRow& row) {
  const std::string entry = run.tag + row.sha256;
  if (run.journal.has(entry) && take_over(row, run.journal.at(entry))) return;
  const auto judge = [&](ReadyLast last) {
    const Fitting fitting =
        fit_foot_in_last(run.foot, as_ranked(row, run.foot.foot.side, std::move(last)), run.rules, run.settings);
    fill_in(row, fitting);
    run.journal.add(entry, found_in(row, small_pictures(fitting)));
  };
  const fs::path& file = run.path_of.at(row.sha256);
  try {
    try {
      judge(run.shelf.ready(file, row.sha256));
    } catch (const std::logic_error&) {  // what the index gave can't be worked with
      judge(run.shelf.ready_afresh(file, row.sha256));
    }
  } catch (const InputError& error) {
    row.fate = Fate::unusable;
    row.problem = error.message;
  }
}

Fitting fitting_of(const Screening& run, const ShelfRow& row) {
  FittingSettings settings = run.settings;
  settings.assessment.advice = true;
  settings.day = !run.options.common.no_day;
  ReadyLast last = run.shelf.ready(run.path_of.at(row.sha256), row.sha256);
  return fit_foot_in_last(run.foot, as_ranked(row, run.foot.foot.side, std::move(last)), run.rules, settings);
}

std::string pictures_of(const Screening& run, const ShelfRow& row) {
  const std::string entry = run.tag + row.sha256;
  return run.journal.has(entry) ? run.journal.at(entry).at("pictures") : "";
}

ShelfHead head_of(const Screening& run, const ShelfTable& table) {
  const InputFacts& scan = run.foot.foot.facts;
  ShelfHead head;
  head.scan_file = scan.file;
  head.scan_sha256 = scan.sha256;
  head.rules = run.rules;
  head.side = run.foot.foot.side;
  head.wearer = run.settings.assessment.wearer;
  head.wearer_reason = run.settings.assessment.wearer_reason;
  head.best = run.options.all ? 0 : run.options.best;
  head.length_mm = run.foot.measures.length_mm;
  head.joint_girth_mm = run.foot.measures.joint_girth.mm;
  if (const Message* doubt = first_doubt(scan)) head.remarks.push_back(*doubt);
  for (const Message& remark : remarks_on(run.rows, head.side, table)) head.remarks.push_back(remark);
  return head;
}

std::string best_folder(std::size_t rank, const std::string& file) {
  std::string name;
  for (const char c : fs::path(file).stem().string())
    name += (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ? c : '-';
  return fmt::format("best/{:02}-{}", rank, name.substr(0, 60));
}

}  // namespace lastroom
