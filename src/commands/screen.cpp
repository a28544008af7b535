#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "build_name.h"
#include "commands/commands.h"
#include "commands/journal.h"
#include "commands/kept_apart.h"
#include "commands/letterhead_file.h"
#include "commands/progress_bar.h"
#include "commands/shelf_files.h"
#include "digest/digest.h"
#include "error.h"
#include "geometry/parallel.h"
#include "mesh_io/input_file.h"
#include "mesh_io/output_folder.h"
#include "preparation/other_body.h"
#include "report/message_json.h"
#include "report/shelf.h"
#include "words/words.h"

namespace lastroom {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

Json found_in(const ShelfRow& row, const std::string& pictures) {
  const auto number = [](const std::optional<double>& value) { return value ? Json(*value) : Json(); };
  const auto name = [](const std::optional<RuleId>& rule) { return rule ? Json(rule_name(*rule)) : Json(); };
  return {{"fate", static_cast<int>(row.fate)},       {"problem", message_json(row.problem)},
          {"verdict", static_cast<int>(row.verdict)}, {"margin_mm", row.margin.mm},
          {"margin_rule", name(row.margin.rule)},     {"finding", name(row.finding)},
          {"measured_mm", number(row.measured_mm)},   {"limit_mm", number(row.limit_mm)},
          {"allowance_mm", row.allowance_mm},         {"pictures", pictures},
          {"doubt", message_json(row.doubt)}};
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
  if (!found.at("pictures").is_string() || (row.fate != Fate::judged && row.fate != Fate::unusable) ||
      row.verdict < Verdict::clear || row.verdict > Verdict::none)
    return false;
  into = row;
  return true;
} catch (const Json::exception&) {
  return false;
}

/// What the measures of a last say of it.
void describe(ShelfRow& row, const KeptLast& last, const ReadyFoot& foot, const Rules& rules,
              const FittingSettings& settings) {
  row.units = unit_name(last.units);
  row.length_mm = last.measures.length_mm;
  row.joint_girth_mm = last.measures.joint_girth.mm;
  row.heel_height_mm = last.measures.heel_height_mm;
  const bool other = last.side != foot.foot.side, straight = last.chance_of_wrong_side > kStraightFrom;
  row.fate = other && !straight ? Fate::other_side : Fate::left_out;
  row.sieve =
      foretold(foot.foot, foot.measures, last.measures, rules, settings.assessment, settings.registration.sock_mm);
  if (other && straight)
    row.sieve = {std::numeric_limits<double>::infinity(), {}};  // turned over, its joints change places
}

/// Lasts come in pairs: one for the other foot is mirrored, unless its fellow is on the shelf too.
void mirror_where_alone(std::vector<ShelfRow>& rows) {
  const auto fellows = [](const ShelfRow& a, const ShelfRow& b) {
    constexpr double kSame_mm = 1.0;  // what two scans of a pair may differ by (our choice)
    return std::abs(a.length_mm - b.length_mm) < kSame_mm && std::abs(a.joint_girth_mm - b.joint_girth_mm) < kSame_mm &&
           std::abs(a.heel_height_mm - b.heel_height_mm) < kSame_mm;
  };
  for (ShelfRow& row : rows)
    row.mirrored = row.fate == Fate::other_side && std::ranges::none_of(rows, [&](const ShelfRow& other) {
                     return other.fate == Fate::left_out && fellows(row, other);
                   });
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

std::vector<Message> remarks_on(const std::vector<ShelfRow>& rows) {
  std::set<std::string> units;
  for (const ShelfRow& row : rows)
    if (!row.units.empty()) units.insert(row.units);
  if (units.size() < 2) return {};
  return {{"shelf.units_differ"}};
}

/// "01-derby-42": a rank and what of the file's name can stand in any folder's name and any link.
std::string folder_name(std::size_t rank, const std::string& file) {
  std::string name;
  for (const char c : fs::path(file).stem().string())
    name += (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ? c : '-';
  return fmt::format("best/{:02}-{}", rank, name.substr(0, 60));
}

}  // namespace

std::string run_name(const CommonOptions& options, const std::string& scan_sha256, const Rules& rules) {
  const auto file = [](const fs::path& path) {
    return path.empty() ? std::string() : sha256_of(read_bytes(path, 1'000'000).bytes());
  };
  const Json run = {{"build", build_name()},
                    {"scan", scan_sha256},
                    {"rules", rules.sha256},
                    {"rules_file", rules.file},
                    {"landmarks", file(options.landmarks)},
                    {"letterhead", file(options.letterhead)},
                    {"logo", sha256_of(report_settings(options).letterhead.logo.bytes)},
                    {"side", options.side ? side_name(*options.side) : "auto"},
                    {"scan_units", options.scan_units ? unit_name(*options.scan_units) : "auto"},
                    {"last_units", options.last_units ? unit_name(*options.last_units) : "auto"},
                    {"sock_mm", options.sock_mm},
                    {"wearer", wearer_name(options.wearer)},
                    {"scan_load", static_cast<int>(options.scan_load)},
                    {"scan_error_mm", options.scan_error_mm.value_or(-1.0)},
                    {"tape_joint_mm", options.tape_joint_mm.value_or(-1.0)},
                    {"no_day", options.no_day}};
  return sha256_of(run.dump());
}

ScreenResult screen_and_write(const ScreenOptions& options) {
  const CommonOptions& common = options.common;
  std::vector<fs::path> inputs = {options.scan, options.shelf, options.index, common.rules, common.landmarks};
  for (const fs::path& file : letterhead_files(common.letterhead)) inputs.push_back(file);
  inputs.insert(inputs.end(), options.lasts.begin(), options.lasts.end());
  keep_apart(inputs, {options.output});
  OutputFolder folder(options.output, common.overwrite);
  const FittingSettings of_the_best = settings_from(common);
  FittingSettings settings = of_the_best;
  settings.day = false;  // told of the best alone
  const Rules rules = common.rules.empty() ? default_rules() : read_rules(common.rules);
  MeshFile scan = read_mesh(options.scan, common.limits);
  ShelfHead head;
  head.scan_file = scan.name;
  head.scan_sha256 = scan.sha256;
  const ReadyFoot foot = ready_foot(std::move(scan), settings);  // one that can't be used stops the work here
  std::vector<fs::path> files = options.shelf.empty() ? options.lasts : files_of_shelf(options.shelf, options.index);
  std::erase_if(files, [&](const fs::path& file) { return is_of_index(file, options.index); });  // of "lasts/*"
  std::optional<ShelfFiles> with_index;
  try {
    with_index.emplace(index_file(options.index, options.shelf), settings, common.limits);
  } catch (const DamagedIndex& error) {
    fmt::print(stderr, "lastroom: {}. Every last is prepared from its file\n", error.what());
    with_index.emplace(fs::path(), settings, common.limits);
  }
  ShelfFiles& shelf = *with_index;
  if (!options.shelf.empty() && !shelf.index() && !common.quiet)
    fmt::print(stderr, "{}: may not be written, so the prepared lasts are not kept; give a file as --index\n",
               shown_name(options.shelf));
  Journal journal(options.output, run_name(common, head.scan_sha256, rules) + (options.mirror ? "" : " unmirrored"));
  if (journal.size() > 0 && !common.quiet)
    fmt::print(stderr, "going on: {} lasts were checked before\n", journal.size());

  std::vector<ShelfRow> rows(files.size());
  std::map<std::string, fs::path> path_of;  // by the row's place: names may repeat
  {
    ProgressBar bar("measured", common.quiet);
    constexpr std::size_t kAtOnce = 16;
    for (std::size_t first = 0; first < files.size(); first += kAtOnce) {
      const std::size_t count = std::min(kAtOnce, files.size() - first);
      for_blocks(count, 1, [&](std::size_t i, std::size_t) {
        ShelfRow& row = rows[first + i];
        row.file = shown_name(files[first + i]);
        try {
          const ShelfFiles::Known known = shelf.know(files[first + i]);
          row.sha256 = known.sha256;
          describe(row, known.last, foot, rules, settings);
        } catch (const InputError& error) {
          row.problem = error.message;
        }
      });
      bar.show(first + count, files.size() - first - count);
    }
  }
  if (options.mirror) mirror_where_alone(rows);
  mark_same_files(rows);
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (rows[i].fate == Fate::left_out) path_of[rows[i].sha256] = files[i];
  {
    ProgressBar bar("checked", common.quiet);
    const CheckRow check = [&](ShelfRow& row) {
      if (journal.has(row.sha256) && take_over(row, journal.at(row.sha256))) return;
      const auto judge = [&](ReadyLast last) {
        const Fitting fitting =
            fit_foot_in_last(foot, as_ranked(row, foot.foot.side, std::move(last)), rules, settings);
        fill_in(row, fitting);
        journal.add(row.sha256, found_in(row, small_pictures(fitting)));
      };
      const fs::path& file = path_of.at(row.sha256);
      try {
        try {
          judge(shelf.ready(file, row.sha256));
        } catch (const std::logic_error&) {  // what the index gave can't be worked with
          judge(shelf.ready_afresh(file, row.sha256));
        }
      } catch (const InputError& error) {
        row.fate = Fate::unusable;
        row.problem = error.message;
      }
    };
    check_best_first(rows, options.all ? 0 : options.best, check,
                     [&](std::size_t done, std::size_t left) { bar.show(done, left); });
  }
  rank(rows);
  for (const std::string& doubt : shelf.doubts()) fmt::print(stderr, "lastroom: {}\n", doubt);

  for (std::size_t i = 0; i < std::min(options.best, rows.size()) && rows[i].fate == Fate::judged; ++i) {
    const Fitting fitting = fit_foot_in_last(
        foot, as_ranked(rows[i], foot.foot.side, shelf.ready(path_of.at(rows[i].sha256), rows[i].sha256)), rules,
        of_the_best);
    if (i == 0) head.remarks = doubts_about_foot(fitting.assessment);
    rows[i].report = folder_name(i + 1, rows[i].file);
    write_result(folder, rows[i].report + "/", fitting, common);
  }
  head.rules = rules;
  head.side = foot.foot.side;
  head.wearer = settings.assessment.wearer;
  head.wearer_reason = settings.assessment.wearer_reason;
  head.best = options.all ? 0 : options.best;
  head.length_mm = foot.measures.length_mm;
  head.joint_girth_mm = foot.measures.joint_girth.mm;
  if (const Message* doubt = first_doubt(foot.foot.facts)) head.remarks.insert(head.remarks.begin(), *doubt);
  for (const Message& remark : remarks_on(rows)) head.remarks.push_back(remark);
  folder.write("shelf.csv", shelf_csv(rows));
  folder.write("shelf.json", shelf_json(rows, head));
  folder.write("shelf.html", shelf_html(rows, head, report_settings(common), [&](const ShelfRow& row) -> std::string {
                 return journal.has(row.sha256) ? journal.at(row.sha256).at("pictures") : "";
               }));
  folder.publish();
  journal.done();
  return {std::move(rows), std::move(head)};
}

int run_screen(const ScreenOptions& options) {
  set_thread_limit(options.common.threads);
  const ScreenResult result = screen_and_write(options);
  std::size_t judged = 0;
  for (const ShelfRow& row : result.rows) {
    if (row.fate != Fate::judged) continue;
    if (++judged <= options.best)
      fmt::print("{:>3}  {:<8}{:>7.1f} mm  {}\n", judged, verdict_name(row.verdict), row.margin.mm,
                 row.file + (row.mirrored ? ", mirrored" : "") + (row.doubt.empty() ? "" : ". " + english(row.doubt)));
  }
  for (const Message& remark : result.head.remarks) fmt::print("{}\n", english(remark));
  fmt::print("{} files, {} checked in full. ranking: {}\n", result.rows.size(), judged,
             (options.output / "shelf.html").string());
  if (judged > 0) return 0;
  fmt::print(stderr, "lastroom: none of these lasts could be judged for this foot; {} tells why for each\n",
             (options.output / "shelf.html").string());
  return 4;
}

}  // namespace lastroom
