// Prints whether verdicts tell lasts apart where lasts are harmless on purpose, and whether faults that are pushed into
// these are found and named.
//   harmless --family a|b|c --cases N --seed S [--faults K] [--each] [--hold]
// A drawn last is reshaped where the foot does not settle harmlessly in it (reshaped_lasts.h); of the faults every pair
// takes K, in turn. With --hold the exit status is 1 when there
// was no harmless pair, one pinched, or a fault was not named.
#define DOCTEST_CONFIG_IMPLEMENT  // makehuman_feet.cpp tells of missing data through doctest
#include <doctest/doctest.h>
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "asked.h"
#include "change_list.h"
#include "error.h"
#include "planted_faults.h"

namespace lastroom::test {
namespace {

struct Settings {
  LastFamily family = LastFamily::from_numbers;
  unsigned cases = 20, seed = 1;
  std::size_t faults = 5;
  bool each = false, hold = false;
};

struct Measured {
  double truth_mm, found_mm, sigma_mm;
  bool inside() const { return std::abs(found_mm - truth_mm) <= 1.96 * sigma_mm; }
};

struct FaultCount {
  std::size_t tried = 0, there = 0, named = 0, unseen = 0, without_verdict = 0;
  double beyond_mm = 0.0;
};

struct Counts {
  std::size_t drawn = 0, harmless = 0, refused = 0;
  std::vector<double> moved_mm;
  std::map<Verdict, std::size_t> verdicts;
  std::size_t clear_of_the_last = 0;  ///< nothing said but of the scan
  std::map<std::string, std::size_t> said;
  std::map<std::string, FaultCount> faults;
  ChangeLists lists;
  std::map<std::string, std::vector<Measured>> measured;  ///< of all pairs, also with faults
  std::array<std::array<std::size_t, 2>, 5> chances = {};
};

std::string words_of(const Finding& finding) {
  const bool zoned = finding.zone && !zone_of(finding.rule);
  return fmt::format("{}{}{} {}", rule_name(finding.rule), zoned ? " " : "", zoned ? zone_name(*finding.zone) : "",
                     verdict_name(finding.verdict));
}

void note_measures(const TrueState& truth, const Said& said, Counts& counts) {
  for (const ZoneVerdict& z : said.zones) {
    const auto t = truth.zones.find(z.clearance.zone);
    if (t == truth.zones.end()) continue;
    counts.measured[std::string(zone_name(t->first))].push_back(
        {t->second.p05_mm, z.clearance.p05_mm, z.clearance.sigma_mm});
    auto& bin = counts.chances[std::min<std::size_t>(4, static_cast<std::size_t>(5.0 * z.chance_of_pinch))];
    ++bin[0];
    bin[1] += t->second.p05_mm < z.limit_mm;
  }
  const ToeRoom& found = said.found.toe_room;
  if (truth.toes.tip_mm && found.tip_mm)
    counts.measured["toe room"].push_back({*truth.toes.tip_mm, *found.tip_mm, found.tip_sigma_mm});
  for (const ToeGroup& group : toe_groups(said.found.foot.landmarks)) {
    const std::size_t k = group.first;
    if (group.first == group.last && truth.toes.headroom_mm[k] && found.headroom_mm[k])
      counts.measured["headroom"].push_back(
          {*truth.toes.headroom_mm[k], *found.headroom_mm[k], found.headroom_sigma_mm[k]});
  }
}

std::string beyond_its_limit(const Planted& planted) {
  std::vector<std::string> words;
  for (const Margin& m : planted.margins)
    if (m.inside_mm < -kSure_mm)
      words.push_back(fmt::format("{} {} {:.1f}", rule_name(m.rule), m.zone ? zone_name(*m.zone) : "", m.mm));
  return fmt::format("{}", fmt::join(words, ", "));
}

void tell(const Settings& settings, unsigned seed, std::string_view what, const Said& said, std::string_view more) {
  if (!settings.each) return;
  std::vector<std::string> words;
  for (const Finding& finding : said.findings)
    words.push_back(fmt::format("{} {:.1f}", words_of(finding), finding.measured_mm.value_or(0.0)));
  fmt::print(stderr, "{} {}: {}; {}; {}\n", seed, what, verdict_name(said.verdict), fmt::join(words, ", "), more);
}

void note_harmless(const Said& said, Counts& counts) {
  ++counts.verdicts[said.verdict];
  counts.clear_of_the_last += std::ranges::none_of(said.findings, against_the_last);
  std::map<std::string, std::size_t> once;
  for (const Finding& finding : said.findings) once[words_of(finding)] = 1;
  for (const auto& [words, one] : once) counts.said[words] += one;
}

void note_list(const Settings& settings, unsigned seed, const Fault& fault, const Said& said, double planted_mm3,
               double scan_error_mm, Counts& counts) {
  if (said.verdict == Verdict::none) return;
  RegistrationSettings scanner;
  scanner.scan_error_mm = scan_error_mm;
  const Assessment found =
      assess(said.found.evidence(), default_rules(), told(Wearer::standard), settling(said.found, scanner));
  ChangeList list = change_list(said.found, found, planted_mm3, true, scanner);
  if (settings.each && !list.cures())
    fmt::print(stderr, "{} {}: {} to {}, {} changes; worse: {}\n", seed, fault.name, verdict_name(list.before),
               verdict_name(list.after), list.operations, fmt::join(list.worse, ", "));
  counts.lists.add(fault.name, std::move(list));
}

void note_faults(const Settings& settings, unsigned seed, const MadeHarmless& harmless, const SkinMap& skin,
                 const TakenPair& taken, Counts& counts) {
  const std::vector<Fault> all = faults();
  for (std::size_t k = 0; k < std::min(settings.faults, all.size()); ++k) {
    const Fault& fault = all[(seed * settings.faults + k) % all.size()];
    FaultCount& count = counts.faults[fault.name];
    ++count.tried;
    const std::optional<Planted> bad = planted(harmless, skin, fault);
    if (!bad) continue;
    const Said said = said_of(taken_pair(bad->pair, seed, taken));
    ++count.there;
    count.beyond_mm += bad->beyond_mm;
    count.without_verdict += said.verdict == Verdict::none;
    const bool named = is_named(fault, *bad, said);
    count.named += named;
    count.unseen += !named && is_unseen(*bad, said);
    note_measures(bad->state, said, counts);
    note_list(settings, seed, fault, said,
              between_mm3(harmless.pair->pair.last.mesh, bad->pair.pair.last.mesh, fault.slack), taken.scan_error_mm,
              counts);
    tell(settings, seed, fault.name, said,
         fmt::format("beyond {:.1f}{}", bad->beyond_mm, named ? "" : ", NOT NAMED: " + beyond_its_limit(*bad)));
  }
}

void note_pair(const Settings& settings, unsigned seed, Counts& counts) {
  const StandingCase drawn = standing_case(settings.family, seed);
  const SkinMap skin = map_skin(drawn.foot);
  const MadeHarmless made = made_harmless(drawn, skin);
  ++counts.drawn;
  if (!made.pair) {
    if (settings.each) fmt::print(stderr, "{} dropped: {}\n", seed, made.dropped);
    return;
  }
  ++counts.harmless;
  counts.moved_mm.push_back(made.moved_mm);
  try {
    const TakenPair taken = taken_pair(*made.pair, seed);
    const Said said = said_of(taken);
    note_harmless(said, counts);
    note_measures(made.state, said, counts);
    tell(settings, seed, "harmless", said,
         fmt::format("{}, {}, moved {:.1f}", drawn.kind_of_foot, taken.kind_of_scan, made.moved_mm));
    note_faults(settings, seed, made, skin, taken, counts);
  } catch (const InputError& error) {
    ++counts.refused;
    fmt::print(stderr, "{} refused: {}\n", seed, error.what());
  }
}

double share(std::size_t of, std::size_t whole) {
  return whole > 0 ? 100.0 * static_cast<double>(of) / static_cast<double>(whole) : 0.0;
}

double quantile(std::vector<double> values, double q) {
  if (values.empty()) return 0.0;
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(q * static_cast<double>(values.size() - 1) + 0.5)];
}

void print_harmless(const Counts& counts) {
  fmt::print(
      "Of {} pairs drawn {} were made harmless, their lasts' surface moved by {:.1f} mm (median; nine of ten "
      "{:.1f}) rms; {} were dropped, {} refused.\n\n",
      counts.drawn, counts.harmless, quantile(counts.moved_mm, 0.5), quantile(counts.moved_mm, 0.9),
      counts.drawn - counts.harmless, counts.refused);
  fmt::print(
      "| harmless pairs | clear | watch | pinch | no verdict | nothing said against the last |\n"
      "| ---: | ---: | ---: | ---: | ---: | ---: |\n| {} |",
      counts.harmless);
  for (const Verdict v : {Verdict::clear, Verdict::watch, Verdict::pinch, Verdict::none})
    fmt::print(" {:.0f} % |", share(counts.verdicts.contains(v) ? counts.verdicts.at(v) : 0, counts.harmless));
  fmt::print(" {:.0f} % |\n\n", share(counts.clear_of_the_last, counts.harmless));
  std::vector<std::string> words;
  for (const auto& [said, number] : counts.said) words.push_back(fmt::format("{}: {}", said, number));
  fmt::print("Said of them: {}.\n", words.empty() ? "nothing" : fmt::format("{}", fmt::join(words, ", ")));
}

FaultCount print_faults(const Counts& counts) {
  fmt::print(
      "\n| fault | tried | there where the foot settles | beyond its limit, mean mm | found and named | missed "
      "under a sole not scanned | no verdict |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: |\n");
  FaultCount all;
  const auto row = [](const std::string& name, const FaultCount& c) {
    fmt::print("| {} | {} | {} | {:.1f} | {} ({:.0f} %) | {} | {} |\n", name, c.tried, c.there,
               c.there > 0 ? c.beyond_mm / static_cast<double>(c.there) : 0.0, c.named, share(c.named, c.there),
               c.unseen, c.without_verdict);
  };
  for (const Fault& fault : faults()) {
    const auto found = counts.faults.find(fault.name);
    if (found == counts.faults.end()) continue;
    const FaultCount& c = found->second;
    row(fault.name, c);
    all.tried += c.tried;
    all.there += c.there;
    all.named += c.named;
    all.unseen += c.unseen;
    all.without_verdict += c.without_verdict;
    all.beyond_mm += c.beyond_mm;
  }
  row("all", all);
  return all;
}

void print_measures(const Counts& counts) {
  fmt::print(
      "\n| of all these pairs, mm | measured | error, median | 90 % | found less truth, median | stated doubt, "
      "median | inside 95 % |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: |\n");
  for (const auto& [name, all] : counts.measured) {
    std::vector<double> errors, shifts, doubts;
    std::size_t inside = 0;
    for (const Measured& m : all) {
      errors.push_back(std::abs(m.found_mm - m.truth_mm));
      shifts.push_back(m.found_mm - m.truth_mm);
      doubts.push_back(m.sigma_mm);
      inside += m.inside();
    }
    fmt::print("| {} | {} | {:.1f} | {:.1f} | {:+.1f} | {:.1f} | {:.0f} % |\n", name, all.size(), quantile(errors, 0.5),
               quantile(errors, 0.9), quantile(shifts, 0.5), quantile(doubts, 0.5), share(inside, all.size()));
  }
  fmt::print("\n| chance of pinch, as stated | zones | truly beyond the limit |\n| --- | ---: | ---: |\n");
  for (std::size_t k = 0; k < counts.chances.size(); ++k)
    fmt::print("| {} to {} % | {} | {:.0f} % |\n", 20 * k, 20 * (k + 1), counts.chances[k][0],
               share(counts.chances[k][1], counts.chances[k][0]));
}

int run(const Settings& settings) {
  Counts counts;
  for (unsigned seed = settings.seed; seed < settings.seed + settings.cases; ++seed) note_pair(settings, seed, counts);
  fmt::print("\n### family {}, made harmless, seeds {} to {}\n\n",
             static_cast<char>('a' + static_cast<int>(settings.family)), settings.seed,
             settings.seed + settings.cases - 1);
  print_harmless(counts);
  const FaultCount faults = print_faults(counts);
  counts.lists.print();
  print_measures(counts);
  const bool kept = counts.harmless > 0 && counts.verdicts[Verdict::pinch] == 0 && faults.named == faults.there;
  return settings.hold && !kept ? 1 : 0;
}

}  // namespace
}  // namespace lastroom::test

int main(int count, char** words) {
  lastroom::test::Settings settings;
  CLI::App app;
  lastroom::test::add_cases(app, settings.cases, settings.seed);
  lastroom::test::add_family(app, settings.family);
  app.add_option("--faults", settings.faults);
  app.add_flag("--each", settings.each);
  app.add_flag("--hold", settings.hold);
  CLI11_PARSE(app, count, words);
  return lastroom::test::run(settings);
}
