// Prints whether verdicts tell lasts apart: what is said of pairs that are harmless, of pairs that are bad, and which
// rule says it.
//   verdicts --family a|b|c --cases N --seed S [--each]
// The truth is where the foot settles by the tests' own solver, and the rooms there by the tests' own distance. Every
// fourth last is as the family makes it, the others are roomier by 6, 12 and 18 mm in every girth.
#define DOCTEST_CONFIG_IMPLEMENT  // makehuman_feet.cpp tells of missing data through doctest
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "asked.h"
#include "error.h"
#include "planted_faults.h"

namespace lastroom::test {
namespace {

struct Settings {
  LastFamily family = LastFamily::from_numbers;
  unsigned cases = 20, seed = 1;
  bool each = false;
};

struct Judgement {  // of one pair
  Truth truth = Truth::between;
  std::vector<Zone> bad_zones;   ///< pressed by kSure_mm beyond their limit
  std::vector<std::string> why;  ///< not harmless
  Verdict verdict = Verdict::none;
  std::vector<std::string> said;  ///< rules that said watch or worse, with what they said
  bool named = false;             ///< a zone among the bad ones was watched or worse
  struct Zone05 {
    double truth_mm, found_mm, sigma_mm, limit_mm, chance;
  };
  std::vector<Zone05> zones;
  struct Measure {
    double truth_mm, found_mm, sigma_mm;
  };
  std::vector<Measure> toe_room, headroom;
  std::string refused;
};

void note_truth(const TrueState& truth, Judgement& result) {
  const std::vector<Margin> all = margins(truth);
  result.truth = truth_of(all);
  for (const Margin& m : all) {
    if (zone_of(m.rule) && m.pressed_mm > kSure_mm) result.bad_zones.push_back(*m.zone);
    if (m.inside_mm < kSure_mm) result.why.push_back(fmt::format("{} {:.1f}", rule_name(m.rule), m.mm));
  }
}

void note_said(const TrueState& truth, const Said& said, Judgement& result) {
  result.verdict = said.verdict;
  for (const Finding& finding : said.findings)
    result.said.push_back(std::string(rule_name(finding.rule)) + " " + std::string(verdict_name(finding.verdict)));
  for (const ZoneVerdict& z : said.zones) {
    const Zone zone = z.clearance.zone;
    if (z.verdict >= Verdict::watch && std::ranges::count(result.bad_zones, zone) > 0) result.named = true;
    if (const auto t = truth.zones.find(zone); t != truth.zones.end())
      result.zones.push_back(
          {t->second.p05_mm, z.clearance.p05_mm, z.clearance.sigma_mm, z.limit_mm, z.chance_of_pinch});
  }
  const ToeRoom& found = said.found.toe_room;
  if (truth.toes.tip_mm && found.tip_mm)
    result.toe_room.push_back({*truth.toes.tip_mm, *found.tip_mm, found.tip_sigma_mm});
  for (const ToeGroup& group : toe_groups(said.found.foot.landmarks)) {
    const std::size_t k = group.first;
    if (group.first == group.last && truth.toes.headroom_mm[k] && found.headroom_mm[k])
      result.headroom.push_back({*truth.toes.headroom_mm[k], *found.headroom_mm[k], found.headroom_sigma_mm[k]});
  }
}

Judgement judgement(const Settings& settings, unsigned seed) {
  const double more_girth_mm = 6.0 * (seed / 2 % 4);
  const StandingCase standing = standing_case(settings.family, seed, more_girth_mm);
  const TrueState truth = true_state(standing, map_skin(standing.foot));
  Judgement result;
  note_truth(truth, result);
  try {
    note_said(truth, said_of(taken_pair(standing, seed)), result);
  } catch (const InputError& error) {
    result.refused = error.what();
  }
  return result;
}

double share(std::size_t of, std::size_t whole) {
  return whole > 0 ? 100.0 * static_cast<double>(of) / static_cast<double>(whole) : 0.0;
}

using Judgements = std::vector<const Judgement*>;

void print_verdicts(const char* name, const Judgements& pairs) {
  std::map<Verdict, std::size_t> by_verdict;
  for (const Judgement* j : pairs) ++by_verdict[j->verdict];
  fmt::print("| {} | {} |", name, pairs.size());
  for (const Verdict v : {Verdict::clear, Verdict::slack, Verdict::watch, Verdict::pinch, Verdict::none})
    fmt::print(" {:.0f} % |", share(by_verdict[v], pairs.size()));
  fmt::print("\n");
}

void print_measure(const char* name, const std::vector<Judgement::Measure>& all) {
  if (all.empty()) return;
  std::vector<double> errors, doubts;
  std::size_t inside = 0;
  for (const Judgement::Measure& m : all) {
    errors.push_back(std::abs(m.found_mm - m.truth_mm));
    doubts.push_back(m.sigma_mm);
    inside += errors.back() <= 1.96 * m.sigma_mm;
  }
  const auto quantile = [](std::vector<double>& v, double q) {
    std::sort(v.begin(), v.end());
    return v[static_cast<std::size_t>(q * static_cast<double>(v.size() - 1) + 0.5)];
  };
  fmt::print("| {} | {} | {:.1f} | {:.1f} | {:.1f} | {:.0f} % |\n", name, all.size(), quantile(errors, 0.5),
             quantile(errors, 0.9), quantile(doubts, 0.5), share(inside, all.size()));
}

void print_rules(const Judgements& harmless, const Judgements& bad) {
  std::map<std::string, std::array<std::size_t, 2>> fired;
  for (std::size_t k = 0; k < 2; ++k)
    for (const Judgement* j : k == 0 ? harmless : bad)
      for (const std::string& said : j->said) ++fired[said][k];
  fmt::print("\n| rule | said of harmless pairs | of bad pairs |\n| --- | ---: | ---: |\n");
  for (const auto& [said, count] : fired)
    fmt::print("| {} | {:.0f} % | {:.0f} % |\n", said, share(count[0], harmless.size()), share(count[1], bad.size()));
}

void print_reliability(const std::vector<Judgement>& all) {
  std::array<std::array<std::size_t, 2>, 5> bins = {};
  for (const Judgement& j : all)
    for (const auto& z : j.zones) {
      auto& bin = bins[std::min<std::size_t>(4, static_cast<std::size_t>(5.0 * z.chance))];
      ++bin[0];
      bin[1] += z.truth_mm < z.limit_mm;
    }
  fmt::print("\n| chance of pinch, as stated | zones | truly beyond the limit |\n| --- | ---: | ---: |\n");
  for (std::size_t k = 0; k < bins.size(); ++k)
    fmt::print("| {} to {} % | {} | {:.0f} % |\n", 20 * k, 20 * (k + 1), bins[k][0], share(bins[k][1], bins[k][0]));
}

int run(const Settings& settings) {
  std::vector<Judgement> all;
  for (unsigned seed = settings.seed; seed < settings.seed + settings.cases; ++seed) {
    all.push_back(judgement(settings, seed));
    const Judgement& j = all.back();
    if (!settings.each) continue;
    constexpr std::array<const char*, 3> kTruth = {"harmless", "between", "bad"};
    fmt::print(stderr, "{} {}: {} {}; not harmless: {}; said: {}\n", seed, kTruth[static_cast<std::size_t>(j.truth)],
               verdict_name(j.verdict), j.refused, fmt::join(j.why, ", "), fmt::join(j.said, ", "));
  }
  Judgements harmless, between, bad;
  std::size_t named = 0;
  std::vector<Judgement::Measure> toe_room, headroom;
  for (const Judgement& j : all) {
    (j.truth == Truth::harmless ? harmless : j.truth == Truth::bad ? bad : between).push_back(&j);
    named += j.named;
    toe_room.insert(toe_room.end(), j.toe_room.begin(), j.toe_room.end());
    headroom.insert(headroom.end(), j.headroom.begin(), j.headroom.end());
  }
  fmt::print("\n### family {}, seeds {} to {}\n\n", static_cast<char>('a' + static_cast<int>(settings.family)),
             settings.seed, settings.seed + settings.cases - 1);
  fmt::print(
      "| truly | pairs | clear | slack | watch | pinch | no verdict |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: "
      "|\n");
  print_verdicts("harmless", harmless);
  print_verdicts("between", between);
  print_verdicts("bad", bad);
  fmt::print("\nOf the bad pairs {:.0f} % are watched or worse at a zone that is truly pressed.\n",
             share(named, bad.size()));
  print_rules(harmless, bad);
  print_reliability(all);
  fmt::print(
      "\n| mm | measured | error, median | 90 % | stated doubt, median | inside 95 % |\n| --- | ---: | ---: | ---: | "
      "---: | ---: |\n");
  print_measure("toe room", toe_room);
  print_measure("headroom", headroom);
  return 0;
}

}  // namespace
}  // namespace lastroom::test

int main(int count, char** words) {
  lastroom::test::Settings settings;
  CLI::App app;
  lastroom::test::add_cases(app, settings.cases, settings.seed);
  lastroom::test::add_family(app, settings.family);
  app.add_flag("--each", settings.each);
  CLI11_PARSE(app, count, words);
  return lastroom::test::run(settings);
}
