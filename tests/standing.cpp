// Prints how near lastroom comes to where feet settle by the solver of the tests (settled_truth.h):
//   standing --family a|b|c --cases N --seed S [--perfect] [--each] [--picture FILE.svg] [--most-rear MM --most-fore
//   MM]
// a: lasts lofted around the very foot; b: lasts from tape numbers alone; c: stock lasts, graded. --perfect hands over
// foot and last as if prepared without error. --picture draws the first case. With the last two the
// exit status is 1 when a pair is not taken or a median displacement is larger.
#define DOCTEST_CONFIG_IMPLEMENT  // makehuman_feet.cpp tells of missing data through doctest
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <fstream>
#include <map>
#include <numbers>
#include <numeric>
#include <optional>

#include "asked.h"
#include "clearance/clearance.h"
#include "error.h"
#include "standing_picture.h"
#include "taken_pair.h"

namespace lastroom::test {
namespace {

struct Settings {
  LastFamily family = LastFamily::from_numbers;
  unsigned cases = 20, seed = 1;
  bool perfect = false, each = false;
  double most_rear_mm = 1e9, most_fore_mm = 1e9;
  std::string picture;
};

struct ZoneError {
  Zone zone;
  double truth_mm, error_mm, sigma_mm;
  bool inside() const { return std::abs(error_mm) <= 1.96 * sigma_mm; }
};

struct Result {
  std::string kind_of_foot, kind_of_last, kind_of_scan = "perfect", no_verdict;
  Displacement off, limit;                       ///< limit: of the middle of all ranges
  std::vector<double> rear_spread, fore_spread;  ///< of further draws
  double behind_heel_mm = 0.0, true_behind_heel_mm = 0.0;
  double position_sigma_mm = 0.0;
  std::vector<ZoneError> zones;
  double settle_s = 0.0, fit_s = 0.0;
};

double seconds_since(std::chrono::steady_clock::time_point start) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

/// Straight back from the heel's rearmost point; negative: pressed.
double behind_heel_mm(const LastWall& wall, const Vec3& heel) {
  const double outside_mm = wall.at(heel).outside_mm;
  if (outside_mm > 0.0) return -outside_mm;
  return wall.reach_mm(heel, -Vec3::UnitX()).value_or(0.0);
}

/// Stands the foot in the last and holds it against the truth; answers where the made foot's skin came to lie.
std::vector<Vec3> stand(const TakenPair& pair, const StandingCase& standing, const SkinMap& true_skin, Result& result) {
  const SkinMap skin = map_skin(pair.foot);
  const SignedDistance surface(pair.last.mesh);
  RegistrationSettings scanner;
  scanner.scan_error_mm = pair.scan_error_mm;
  const Registration pose = register_foot_in_last(pair.foot, skin, pair.last, surface, scanner);
  const ClearanceField field = clearance_between(pair.foot, pose, surface, scanner, pair.last.top);
  result.no_verdict = english(pose.doubt_reason);
  result.position_sigma_mm = pose.position_sigma_mm;

  const PosedFoot posed(pair.foot.landmarks, pose);
  const auto found_of = [&](const Vec3& p) { return pair.made_from_last(posed(pair.foot_from_made(p))); };
  std::vector<Vec3> found;
  for (const Vec3& p : standing.foot.mesh.vertices) found.push_back(found_of(p));
  const std::vector<Vec3> truth = posed_skin(standing.foot, standing.settled.pose);
  result.off = displacement(standing.foot, true_skin, truth, found);
  result.behind_heel_mm = behind_heel_mm(standing.wall, found_of(standing.foot.landmarks.heel));
  const Walls walls = walls_around(standing.wall, true_skin, truth);
  const std::map<Zone, TrueRoom> rooms = true_rooms(standing.foot.mesh, true_skin, walls);
  for (const ZoneClearance& z : by_zone(field, skin))
    if (const auto t = rooms.find(z.zone); t != rooms.end())
      result.zones.push_back({z.zone, t->second.p05_mm, z.p05_mm - t->second.p05_mm, z.sigma_mm});
  return found;
}

void note_limits(const StandingCase& standing, const SkinMap& skin, Result& result) {
  const std::vector<Vec3> middle = posed_skin(standing.foot, standing.settled.middle);
  const auto off_middle = [&](const Registration& pose) {
    return displacement(standing.foot, skin, middle, posed_skin(standing.foot, pose));
  };
  result.limit = off_middle(standing.settled.pose);
  for (const Registration& other : standing.settled.others) {
    const Displacement d = off_middle(other);
    result.rear_spread.push_back(d.rear_rms_mm);
    result.fore_spread.push_back(d.fore_rms_mm);
  }
}

Result run(const Settings& settings, unsigned seed) {
  Result result;
  auto start = std::chrono::steady_clock::now();
  constexpr int kOtherDraws = 4;
  const StandingCase standing = standing_case(settings.family, seed, 0.0, kOtherDraws);
  result.settle_s = seconds_since(start);
  result.kind_of_foot = standing.kind_of_foot;
  result.kind_of_last = standing.kind_of_last;
  const SkinMap skin = map_skin(standing.foot);
  note_limits(standing, skin, result);
  result.true_behind_heel_mm =
      behind_heel_mm(standing.wall, standing.settled.pose.last_from_foot * standing.foot.landmarks.heel);

  start = std::chrono::steady_clock::now();
  std::vector<Vec3> found;
  try {
    const TakenPair pair = settings.perfect ? perfect_pair(standing) : taken_pair(standing, seed);
    result.kind_of_scan = pair.kind_of_scan;
    found = stand(pair, standing, skin, result);
    result.fit_s = seconds_since(start);
  } catch (const InputError& error) {
    result.no_verdict = error.what();
  }
  if (!settings.picture.empty() && seed == settings.seed)
    std::ofstream(settings.picture) << standing_picture(standing, found.empty() ? nullptr : &found);
  return result;
}

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return 0.0;
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(std::lround(share * static_cast<double>(values.size() - 1)))];
}

void print_each(unsigned seed, const Result& r) {
  std::string outside;
  for (const ZoneError& z : r.zones)
    if (!z.inside())
      outside += fmt::format("; {} {:.1f} +- {:.1f} for {:.1f}", zone_name(z.zone), z.truth_mm + z.error_mm,
                             1.96 * z.sigma_mm, z.truth_mm);
  fmt::print(
      stderr,
      "{} {}, {}, {}: rear {:.2f} fore {:.2f} (limit {:.2f} {:.2f}), off {:+.1f} {:+.1f} {:+.1f}, heel air {:.1f} "
      "(true {:.1f}), doubt {:.2f}, {:.1f} + {:.1f} s {}{}\n",
      seed, r.kind_of_foot, r.kind_of_last, r.kind_of_scan, r.off.rear_rms_mm, r.off.fore_rms_mm, r.limit.rear_rms_mm,
      r.limit.fore_rms_mm, r.off.rear_mean_mm.x(), r.off.rear_mean_mm.y(), r.off.rear_mean_mm.z(), r.behind_heel_mm,
      r.true_behind_heel_mm, r.position_sigma_mm, r.settle_s, r.fit_s, r.no_verdict, outside);
}

using Results = std::vector<const Result*>;

template <typename Value>
std::vector<double> gathered(const Results& results, const Value& value) {
  std::vector<double> values;
  for (const Result* r : results)
    if (r->no_verdict.empty()) value(*r, values);
  return values;
}

template <typename Value>
void print_row(const char* name, const Results& results, const Value& value) {
  const std::vector<double> all = gathered(results, value);
  fmt::print("| {} | {:.2f} | {:.2f} | {:.2f} |\n", name, quantile(all, 0.5), quantile(all, 0.9), quantile(all, 1.0));
}

void print_intervals(const Results& results) {
  std::map<Zone, std::pair<int, int>> by_zone;
  int inside = 0, all = 0;
  for (const Result* r : results)
    if (r->no_verdict.empty())
      for (const ZoneError& z : r->zones) {
        by_zone[z.zone].first += z.inside();
        ++by_zone[z.zone].second;
        inside += z.inside();
        ++all;
      }
  const auto share = [](int of, int whole) { return whole > 0 ? 100.0 * of / whole : 0.0; };
  std::string worst;
  double least = 101.0;
  for (const auto& [zone, count] : by_zone)
    if (share(count.first, count.second) < least) least = share(count.first, count.second), worst = zone_name(zone);
  fmt::print("\nZone values inside their 95 % interval: {:.1f} %, least in {}: {:.1f} %.\n", share(inside, all), worst,
             least);
  fmt::print("By zone:");
  for (const auto& [zone, count] : by_zone) fmt::print(" {} {:.0f}", zone_name(zone), share(count.first, count.second));
  fmt::print("\nError by stated doubt, root mean square by zone:");
  for (const auto& [zone, count] : by_zone) {
    double squares = 0.0;
    for (double ratio : gathered(results, [zone = zone](const Result&r, auto&v) {
           for (const ZoneError& z : r.zones)
             if (z.zone == zone) v.push_back(z.error_mm / z.sigma_mm);
         }))
      squares += ratio * ratio;
    fmt::print(" {} {:.1f}", zone_name(zone), std::sqrt(squares / count.second));
  }
  fmt::print("\nTrue room, median by zone:");
  for (const auto& [zone, count] : by_zone) {
    const std::vector<double> rooms = gathered(results, [zone = zone](const Result& r, auto& v) {
      for (const ZoneError& z : r.zones)
        if (z.zone == zone) v.push_back(z.truth_mm);
    });
    fmt::print(" {} {:.1f} ({:.1f} to {:.1f})", zone_name(zone), quantile(rooms, 0.5), quantile(rooms, 0.1),
               quantile(rooms, 0.9));
  }
  fmt::print("\n");
}

void print_table(const std::string& title, const Results& results) {
  std::map<std::string, int> reasons;
  for (const Result* r : results)
    if (!r->no_verdict.empty()) ++reasons[r->no_verdict];
  int without = 0;
  for (const auto& [reason, count] : reasons) without += count;
  fmt::print("\n### {}\n\n{} pairs, {} without a verdict\n", title, results.size(), without);
  for (const auto& [reason, count] : reasons) fmt::print("- {}: {}\n", count, reason);
  fmt::print("\n| mm | median | 90 % | largest |\n| --- | ---: | ---: | ---: |\n");
  print_row("rear part, rms displacement", results, [](const Result& r, auto& v) { v.push_back(r.off.rear_rms_mm); });
  print_row("fore part, rms displacement", results, [](const Result& r, auto& v) { v.push_back(r.off.fore_rms_mm); });
  print_row("what nobody can know: rear", results, [](const Result& r, auto& v) { v.push_back(r.limit.rear_rms_mm); });
  print_row("what nobody can know: fore", results, [](const Result& r, auto& v) { v.push_back(r.limit.fore_rms_mm); });
  print_row("the same by more draws: rear", results,
            [](const Result& r, auto& v) { v.insert(v.end(), r.rear_spread.begin(), r.rear_spread.end()); });
  print_row("the same by more draws: fore", results,
            [](const Result& r, auto& v) { v.insert(v.end(), r.fore_spread.begin(), r.fore_spread.end()); });
  print_row("air behind the heel", results, [](const Result& r, auto& v) { v.push_back(r.behind_heel_mm); });
  print_row("air behind the heel, truth", results,
            [](const Result& r, auto& v) { v.push_back(r.true_behind_heel_mm); });
  print_row("stated doubt of the place", results, [](const Result& r, auto& v) { v.push_back(r.position_sigma_mm); });
  const auto mean = [&](int axis) {
    const std::vector<double> v =
        gathered(results, [&](const Result& r, auto& to) { to.push_back(r.off.rear_mean_mm[axis]); });
    return v.empty() ? 0.0 : std::accumulate(v.begin(), v.end(), 0.0) / static_cast<double>(v.size());
  };
  fmt::print("\nMean displacement of the rear part: along {:+.2f}, across {:+.2f}, up {:+.2f} mm.\n", mean(0), mean(1),
             mean(2));
  print_intervals(results);
}

/// Kinds of foot and of last, medians and 90 % in mm.
void print_groups(const std::map<std::string, Results>& groups) {
  fmt::print("\n| kind | pairs | without a verdict | rear | fore | nobody can know: rear | fore |\n");
  fmt::print("| --- | ---: | ---: | ---: | ---: | ---: | ---: |\n");
  for (const auto& [name, group] : groups) {
    const auto pair = [&group = group](const auto& value) {
      const std::vector<double> v = gathered(group, [&](const Result& r, auto& to) { to.push_back(value(r)); });
      return fmt::format("{:.2f} / {:.2f}", quantile(v, 0.5), quantile(v, 0.9));
    };
    fmt::print("| {} | {} | {} | {} | {} | {} | {} |\n", name, group.size(),
               std::count_if(group.begin(), group.end(), [](const Result* r) { return !r->no_verdict.empty(); }),
               pair([](const Result& r) { return r.off.rear_rms_mm; }),
               pair([](const Result& r) { return r.off.fore_rms_mm; }),
               pair([](const Result& r) { return r.limit.rear_rms_mm; }),
               pair([](const Result& r) { return r.limit.fore_rms_mm; }));
  }
}

int run_all(const Settings& settings) {
  std::vector<Result> results;
  for (unsigned seed = settings.seed; seed < settings.seed + settings.cases; ++seed) {
    results.push_back(run(settings, seed));
    if (settings.each) print_each(seed, results.back());
  }
  std::map<std::string, Results> groups;
  Results all;
  for (const Result& r : results) {
    all.push_back(&r);
    groups["foot: " + r.kind_of_foot].push_back(&r);
    groups["last: " + r.kind_of_last].push_back(&r);
    groups["scan: " + r.kind_of_scan].push_back(&r);
  }
  print_table(fmt::format("family {}, seeds {} to {}", static_cast<char>('a' + static_cast<int>(settings.family)),
                          settings.seed, settings.seed + settings.cases - 1),
              all);
  print_groups(groups);
  double settle_s = 0.0, fit_s = 0.0;
  for (const Result& r : results) settle_s += r.settle_s, fit_s += r.fit_s;
  const auto n = static_cast<double>(results.size());
  fmt::print("\nTime a pair: {:.2f} s to make and settle, {:.2f} s to prepare and stand.\n", settle_s / n, fit_s / n);
  std::vector<double> rear, fore;  // of all that were stood, so that no verdict hides nothing
  for (const Result& r : results)
    if (r.fit_s > 0.0) rear.push_back(r.off.rear_rms_mm), fore.push_back(r.off.fore_rms_mm);
  const bool holds = rear.size() == results.size() && quantile(rear, 0.5) <= settings.most_rear_mm &&
                     quantile(fore, 0.5) <= settings.most_fore_mm;
  return holds || settings.most_rear_mm > 1e8 ? 0 : 1;
}

}  // namespace
}  // namespace lastroom::test

int main(int count, char** words) {
  lastroom::test::Settings settings;
  CLI::App app;
  lastroom::test::add_cases(app, settings.cases, settings.seed);
  lastroom::test::add_family(app, settings.family);
  app.add_flag("--perfect", settings.perfect);
  app.add_flag("--each", settings.each);
  app.add_option("--most-rear", settings.most_rear_mm);
  app.add_option("--most-fore", settings.most_fore_mm);
  app.add_option("--picture", settings.picture);
  CLI11_PARSE(app, count, words);
  return lastroom::test::run_all(settings);
}
