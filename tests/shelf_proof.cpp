// Holds the sieve of `screen` against the full check of every last, on made shelves. Prints a table, or with `pairs` a
// line for every last.
//   shelf_proof LASTS SEEDS [pairs]
// Three lasts of each shelf were made for the very client. Exit status 1 when a foretold margin was too small (a last
// could be lost), the best five differ, or no last was clear: then nothing would be known of those.
#include <fmt/format.h>

#include <cstdlib>
#include <map>
#include <string_view>

#include "fitting.h"
#include "made_shelf.h"
#include "screening/ranking.h"

namespace lastroom::test {
namespace {

constexpr std::size_t kBest = 5;
constexpr double kEdge_mm = 5.0;  // coarse: the measures decide here, not the triangles

std::string name_of(const std::optional<RuleId>& rule) { return rule ? std::string(rule_name(*rule)) : ""; }

/// Full check of one last, as screen does it.
void check(ShelfRow& row, const ReadyFoot& foot, const ReadyLast& last, const Rules& rules,
           const FittingSettings& settings) {
  const Fitting fitting = fit_foot_in_last(foot, last, rules, settings);
  row.verdict = fitting.assessment.verdict;
  row.fate = row.verdict == Verdict::none ? Fate::unusable : Fate::judged;
  if (row.fate == Fate::judged) row.margin = margin_of(fitting.assessment, rules, settings.assessment.wearer);
}

std::vector<std::string> best(std::vector<ShelfRow> rows) {
  rank(rows);
  std::vector<std::string> names;
  for (const ShelfRow& row : rows)
    if (row.fate == Fate::judged && names.size() < kBest) names.push_back(row.file);
  return names;
}

struct Used {
  int lasts = 0;
  double least_spare_mm = 1e9;  ///< foretold less found
};

int prove(unsigned count, unsigned seeds, bool print_pairs) {
  const Rules rules = default_rules();
  std::map<std::string, Used> used;
  bool good = true;
  std::size_t all_clear = 0;
  if (!print_pairs)
    fmt::print(
        "| seed | wearer | right lasts | judged | clear | checked in full with the sieve | lost | best five |\n"
        "| --- | --- | --- | --- | --- | --- | --- | --- |\n");
  for (unsigned seed = 1; seed <= seeds; ++seed) {
    FittingSettings settings;
    settings.assessment.wearer = seed % 3 == 0 ? Wearer::at_risk : Wearer::standard;
    settings.registration.sock_mm = seed % 2 == 0 ? 1.0 : 0.0;
    MeshFile scan;
    scan.mesh = made_client(seed, 4.0);
    const ReadyFoot foot = ready_foot(scan, settings);
    std::vector<ShelfItem> items = made_shelf(count, seed, kEdge_mm);
    for (ShelfItem& item : lasts_of_client(seed, kEdge_mm)) items.push_back(std::move(item));
    std::erase_if(items, [](const ShelfItem& item) { return item.left; });
    std::vector<ReadyLast> lasts(items.size());
    std::vector<ShelfRow> rows(items.size());
    for_each_mesh(items, [&](std::size_t i, Mesh mesh) {
      MeshFile file;
      file.mesh = std::move(mesh);
      lasts[i] = ready_last(std::move(file), settings);
      rows[i].file = items[i].name;
      rows[i].fate = lasts[i].last.side == foot.foot.side ? Fate::left_out : Fate::other_side;
      rows[i].sieve = margin_upper_bound(foot.foot, foot.measures, lasts[i].measures, rules, settings.assessment,
                                         settings.registration.sock_mm);
    });
    std::vector<ShelfRow> all = rows, sieved = rows;
    const auto place = [](const ShelfRow& row, const std::vector<ShelfRow>& in) {
      return static_cast<std::size_t>(&row - in.data());
    };
    check_best_first(
        all, 0, [&](ShelfRow& row) { check(row, foot, lasts[place(row, all)], rules, settings); },
        [](std::size_t, std::size_t) {});
    std::size_t checked = 0;
    check_best_first(
        sieved, kBest, [&](ShelfRow& row) { row = all[place(row, sieved)]; },
        [&](std::size_t n, std::size_t) { checked = n; });
    std::size_t judged = 0, clear = 0, lost = 0;
    for (const ShelfRow& row : all) {
      if (row.fate != Fate::judged) continue;
      ++judged;
      clear += row.verdict == Verdict::clear;
      const double spare = row.sieve.most_margin_mm - row.margin.mm;
      lost += spare < 0.0 || (row.verdict == Verdict::clear && !row.sieve.can_be_clear());
      Used& of_rule = used[name_of(row.sieve.rule)];
      ++of_rule.lasts;
      of_rule.least_spare_mm = std::min(of_rule.least_spare_mm, spare);
      if (print_pairs)
        fmt::print("{} {} {} {:.2f} {} foretold {:.2f} {}\n", seed, row.file, verdict_name(row.verdict), row.margin.mm,
                   name_of(row.margin.rule), row.sieve.most_margin_mm, name_of(row.sieve.rule));
    }
    all_clear += clear;
    const bool equal = best(all) == best(sieved);
    good = good && equal && lost == 0;
    if (!print_pairs)
      fmt::print("| {} | {} | {} | {} | {} | {} | {} | {} |\n", seed,
                 settings.assessment.wearer == Wearer::at_risk ? "at risk" : "standard", rows.size(), judged, clear,
                 checked, lost, equal ? "the same" : "DIFFER");
    std::fflush(stdout);
  }
  if (print_pairs) return 0;
  fmt::print(
      "\n| rule that foretold | lasts | least by which the foretold margin was too large, mm |\n| --- | --- | --- |\n");
  for (const auto& [rule, of_rule] : used)
    if (!rule.empty())  // of these lasts nothing was foretold
      fmt::print("| {} | {} | {:.2f} |\n", rule, of_rule.lasts, of_rule.least_spare_mm);
  return good && all_clear > 0 ? 0 : 1;
}

}  // namespace
}  // namespace lastroom::test

int main(int argc, char** argv) {
  if (argc < 3) {
    fmt::print(stderr, "usage: shelf_proof LASTS SEEDS [pairs]\n");
    return 2;
  }
  return lastroom::test::prove(static_cast<unsigned>(std::atoi(argv[1])), static_cast<unsigned>(std::atoi(argv[2])),
                               argc > 3 && std::string_view(argv[3]) == "pairs");
}
