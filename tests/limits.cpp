// Prints reports/limits.md: for each built-in limit, how often it fires on harmless and on bad pairs of each family.
//   limits --cases N --seed S
// Harmless are drawn pairs whose lasts were reshaped until they are (reshaped_lasts.h). Bad are drawn pairs with a zone
// pressed by 1.2 mm beyond its limit, and harmless pairs into which a fault was pushed, another one each time.
#define DOCTEST_CONFIG_IMPLEMENT  // makehuman_feet.cpp tells of missing data through doctest
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "asked.h"
#include "error.h"
#include "planted_faults.h"

namespace lastroom::test {
namespace {

using Limit = std::pair<RuleId, Verdict>;  ///< a rule's limit by what is said beyond it

struct Pairs {
  std::size_t count = 0;
  std::map<Limit, std::size_t> fired;
  void note(const Said& said) {
    ++count;
    std::set<Limit> once;
    for (const Finding& finding : said.findings) once.insert({finding.rule, finding.verdict});
    for (const Limit& limit : once) ++fired[limit];
  }
};
struct Family {
  Pairs harmless, bad;
};

void note_seed(LastFamily family, unsigned seed, Family& counts) {
  const StandingCase drawn = standing_case(family, seed);
  const SkinMap skin = map_skin(drawn.foot);
  const TakenPair taken = taken_pair(drawn, seed);
  if (truth_of(margins(true_state(drawn, skin))) == Truth::bad) counts.bad.note(said_of(taken));
  const MadeHarmless made = made_harmless(drawn, skin);
  if (!made.pair) return;
  counts.harmless.note(said_of(taken_pair(*made.pair, seed, taken)));
  const std::vector<Fault> all = faults();
  if (const auto bad = planted(made, skin, all[seed % all.size()]))
    counts.bad.note(said_of(taken_pair(bad->pair, seed, taken)));
}

std::string share(const Pairs& pairs, const Limit& limit) {
  const auto fired = pairs.fired.find(limit);
  const double share = pairs.count > 0 && fired != pairs.fired.end()
                           ? 100.0 * static_cast<double>(fired->second) / static_cast<double>(pairs.count)
                           : 0.0;
  return fmt::format("{:.0f} %", share);
}

void print_row(RuleId rule, std::string_view name, std::string_view value, Verdict verdict,
               const std::array<Family, 3>& families) {
  static const Rules rules = default_rules();
  const Rule& by = rule_by(rules, rule);
  fmt::print("| {} | {} {} | {} |", rule_name(rule), name, value,
             provenance_name(name.empty() ? by.provenance : provenance_of(by, by.standard, name)));
  for (const Family& family : families)
    fmt::print(" {} | {} |", share(family.harmless, {rule, verdict}), share(family.bad, {rule, verdict}));
  fmt::print("\n");
}

void print_rule(RuleId rule, const std::array<Family, 3>& families) {
  const Limits& limits = limits_of(rule);
  const auto mm = [](double value) { return fmt::format("{:g}", value); };
  switch (traits_of(rule).kind) {
    case RuleKind::zone:
    case RuleKind::room:
      print_row(rule, "pinch_below", mm(limits.pinch_below_mm), Verdict::pinch, families);
      print_row(rule, "watch_below", mm(limits.watch_below_mm), Verdict::watch, families);
      if (limits.slack_above_mm) print_row(rule, "slack_above", mm(*limits.slack_above_mm), Verdict::slack, families);
      return;
    case RuleKind::difference:
      if (limits.watch_above_mm) print_row(rule, "watch_above", mm(*limits.watch_above_mm), Verdict::watch, families);
      return;
    case RuleKind::fact:
      print_row(rule, "", "a fact",
                rule == RuleId::opposite_sides || rule == RuleId::pose_in_doubt ? Verdict::none : Verdict::watch,
                families);
  }
}

int run(unsigned cases, unsigned first) {
  std::array<Family, 3> families;
  for (std::size_t k = 0; k < families.size(); ++k)
    for (unsigned seed = first; seed < first + cases; ++seed) {
      try {
        note_seed(static_cast<LastFamily>(k), seed, families[k]);
      } catch (const InputError& error) {
        fmt::print(stderr, "family {}, seed {} refused: {}\n", k, seed, error.what());
      }
    }
  fmt::print(
      "# How often each limit fires\n\nPrinted by `limits --cases {} --seed {}`; do not edit.\n\n"
      "The built-in limits for a wearer who feels a pinch (`src/assessment/default_rules.xml`), and of how many "
      "pairs each\nspeaks. Families: a, lasts lofted around the foot; b, from tape numbers alone; c, stock "
      "lasts. Harmless: reshaped\nuntil every zone and measure is 1.2 mm and more inside its limits where the "
      "foot settles by the tests' own solver. Bad: as\ndrawn, with a zone pressed 1.2 mm beyond its limit; and "
      "harmless lasts with one fault pushed in. A bad pair is bad in one\nplace or a few, so a limit that speaks "
      "of few bad pairs is not idle; one that speaks of harmless pairs is too strict.\nA watch also stands for "
      "what the measurement cannot decide. ",
      cases, first);
  fmt::print("Pairs: ");
  for (std::size_t k = 0; k < families.size(); ++k)
    fmt::print("{} {} harmless, {} bad{}", static_cast<char>('a' + static_cast<int>(k)), families[k].harmless.count,
               families[k].bad.count, k < 2 ? "; " : ".\n\n");
  fmt::print(
      "| rule | limit, mm | where from | a, harmless | a, bad | b, harmless | b, bad | c, harmless | c, bad |\n"
      "| --- | --- | --- | ---: | ---: | ---: | ---: | ---: | ---: |\n");
  for (std::size_t rule = 0; rule < kRuleCount; ++rule) print_rule(static_cast<RuleId>(rule), families);
  return 0;
}

}  // namespace
}  // namespace lastroom::test

int main(int count, char** words) {
  unsigned cases = 20, seed = 1;
  CLI::App app;
  lastroom::test::add_cases(app, cases, seed);
  CLI11_PARSE(app, count, words);
  return lastroom::test::run(cases, seed);
}
