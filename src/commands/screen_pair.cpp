#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "commands/kept_apart.h"
#include "commands/progress_bar.h"
#include "commands/screening_run.h"
#include "files/output_folder.h"
#include "geometry/parallel.h"
#include "report/shelf.h"

namespace lastroom {
namespace {

namespace fs = std::filesystem;
using Feet = std::array<Screening, 2>;  // left, right

struct Scanned {
  ReadyFoot foot;
  FittingSettings settings;
  std::string sha256;
};

Scanned scanned(const ScreenOptions& options, const fs::path& file, Side side) {
  FittingSettings settings = settings_from(options.common, side);
  settings.day = settings.assessment.advice = false;
  MeshFile scan = read_mesh(file, options.common.limits);
  std::string sha256 = scan.sha256;
  return {ready_foot(std::move(scan), settings), settings, std::move(sha256)};
}

bool is_worse(const ShelfRow& a, const ShelfRow& b) {
  return a.verdict != b.verdict ? a.verdict > b.verdict : a.margin.mm < b.margin.mm;
}

/// The pair's place is that of the foot that is worse off.
void take_worse(ShelfRow& pair) {
  const auto lost = std::ranges::find_if(pair.feet, [](const ShelfRow& row) { return row.fate != Fate::judged; });
  const bool left = is_worse(pair.feet[0], pair.feet[1]);
  const ShelfRow& worse = lost != pair.feet.end() ? *lost : pair.feet[left ? 0 : 1];
  pair.fate = worse.fate;
  pair.problem = worse.problem;
  pair.doubt = worse.doubt;
  pair.verdict = worse.verdict;
  pair.margin = worse.margin;
  pair.finding = worse.finding;
  pair.measured_mm = worse.measured_mm;
  pair.limit_mm = worse.limit_mm;
  pair.wrong = worse.wrong;
  pair.allowance_mm = worse.allowance_mm;
  if (lost == pair.feet.end()) pair.decides = left ? Side::left : Side::right;
}

/// One file, mirrored for one of the feet, or two that are fellows; what is in no pair keeps the right foot's row.
std::vector<ShelfRow> pairs_of(const Feet& feet) {
  std::vector<ShelfRow> pairs;
  std::set<const ShelfRow*> used;
  std::set<std::string> paired;
  for (const ShelfRow& right : feet[1].rows) {
    if (right.fate != Fate::left_out) continue;
    const auto left = std::ranges::find_if(feet[0].rows, [&](const ShelfRow& row) {
      return row.fate == Fate::left_out && !used.contains(&row) &&
             (row.sha256 == right.sha256 || (!row.mirrored && !right.mirrored && fellows(row, right)));
    });
    if (left == feet[0].rows.end()) continue;
    used.insert(&*left);
    ShelfRow pair = right;
    pair.feet = {*left, right};
    pair.mirrored = left->mirrored || right.mirrored;
    if (left->sieve.most_margin_mm < right.sieve.most_margin_mm) pair.sieve = left->sieve;
    paired.insert({left->file, right.file});
    pairs.push_back(std::move(pair));
  }
  for (const ShelfRow& row : feet[1].rows) {
    if (paired.contains(row.file)) continue;
    pairs.push_back(row);
    if (row.fate == Fate::left_out) pairs.back().fate = Fate::other_side;  // its fellow is missing
  }
  return pairs;
}

void write_best(Feet& feet, std::vector<ShelfRow>& pairs, OutputFolder& folder, const ScreenOptions& options) {
  for (std::size_t i = 0; i < std::min(options.best, pairs.size()) && pairs[i].fate == Fate::judged; ++i) {
    pairs[i].report = best_folder(i + 1, pairs[i].file);
    write_pair_result(folder, pairs[i].report + "/", fitting_of(feet[0], pairs[i].feet[0]),
                      fitting_of(feet[1], pairs[i].feet[1]), options.common);
  }
}

ShelfHead head_of_pair(const Feet& feet, const ShelfTable& table) {
  ShelfHead head = head_of(feet[1], table);
  const ShelfHead left = head_of(feet[0], table);
  head.feet = {left, head};
  head.scan_file = left.scan_file + ", " + head.scan_file;
  for (const Message& remark : left.remarks) {
    const auto same = [&](const Message& other) { return english(other) == english(remark); };
    if (std::ranges::none_of(head.remarks, same)) head.remarks.push_back(remark);
  }
  head.wearer = graver(left.wearer, head.wearer);
  if (head.wearer_reason.empty()) head.wearer_reason = left.wearer_reason;
  return head;
}

}  // namespace

ScreenResult screen_pair_and_write(const ScreenOptions& options) {
  const CommonOptions& common = options.common;
  keep_apart(inputs_of(options), {options.output});
  OutputFolder folder(options.output, common.overwrite);
  const Rules rules = common.rules.empty() ? default_rules() : read_rules(common.rules);
  Scanned left = scanned(options, options.left, Side::left), right = scanned(options, options.right, Side::right);
  const std::vector<fs::path> files = files_to_screen(options);
  const ShelfTable table = shelf_table_of(options.shelf);
  std::optional<ShelfFiles> shelf;
  open_shelf(shelf, options, right.settings);
  Journal journal(options.output, run_name(common, left.sha256 + right.sha256, rules) +
                                      (options.mirror ? " pair" : " pair unmirrored"));

  Feet feet = {Screening{options, rules, *shelf, journal, std::move(left.foot), left.settings, "left "},
               Screening{options, rules, *shelf, journal, std::move(right.foot), right.settings, "right "}};
  for (Screening& foot : feet) measure_shelf(foot, files, table);
  std::vector<ShelfRow> pairs = pairs_of(feet);
  {
    ProgressBar bar("checked", common.quiet);
    const CheckRow check = [&](ShelfRow& pair) {
      for (std::size_t i = 0; i < feet.size(); ++i) check_row(feet[i], pair.feet[i]);
      take_worse(pair);
    };
    check_best_first(pairs, options.all ? 0 : options.best, check,
                     [&](std::size_t done, std::size_t still) { bar.show(done, still); });
  }
  rank(pairs);
  for (const std::string& doubt : shelf->doubts()) fmt::print(stderr, "lastroom: {}\n", doubt);
  write_best(feet, pairs, folder, options);
  ShelfHead head = head_of_pair(feet, table);
  folder.write("shelf.csv", shelf_csv(pairs));
  folder.write("shelf.json", shelf_json(pairs, head));
  folder.write("shelf.html", shelf_html(pairs, head, report_settings(common), [&](const ShelfRow& pair) {
                 const std::size_t worse = pair.decides == Side::left ? 0 : 1;
                 return pictures_of(feet[worse], pair.feet[worse]);
               }));
  folder.publish();
  journal.done();
  return {std::move(pairs), std::move(head)};
}

}  // namespace lastroom
