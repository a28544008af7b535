// Prints the accuracy table of reports/accuracy.md: how near lastroom comes to where a foot settles.
//   accuracy --cases 200 --seed 1 [--perfect] [--each]
// A foot is posed, a last is lofted around it with room drawn per region, then both are spoiled as scanners and users
// spoil them. --perfect skips the spoiling and the preparation, so that registration is judged alone.
#define DOCTEST_CONFIG_IMPLEMENT  // makehuman_feet.cpp tells of missing data through doctest
#include <doctest/doctest.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <open3d/Open3D.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <map>
#include <numbers>
#include <numeric>

#include "clearance/clearance.h"
#include "error.h"
#include "standing_cases.h"
#include "zones/toes.h"

namespace lastroom::test {
namespace {

struct Settings {
  unsigned cases = 200, seed = 1;
  bool perfect = false, each = false;
};

/// One way of standing the foot in the last, held against the truth.
struct Outcome {
  double rear_rms_mm = 0.0, fore_rms_mm = 0.0;
  std::map<Zone, double> p05_error_mm;
  std::map<Zone, bool> inside_interval;
  std::string doubt;
  std::string outside;  ///< in words: zones whose interval misses the truth by much
  double seconds = 0.0;
};

struct CaseResult {
  std::string refused;  ///< why the preparation would not take the pair
  bool foot_side_right = true, last_side_right = true, units_right = true, upright = true;
  double first_joint_error_mm = 0.0, fifth_joint_error_mm = 0.0;
  std::array<double, 5> toe_tip_error_mm = {};
  Outcome lastroom, icp;
};

/// Open3D's point-to-plane ICP (Chen and Medioni 1992) as one would use it by hand: foot and last stood side by side
/// the same way up, heel on heel, then the whole foot onto the whole last; correspondences up to 20 mm.
Motion by_icp(const Foot& foot, const Last& last) {
  const auto cloud = [](const Mesh& mesh) {
    open3d::geometry::PointCloud points(mesh.vertices);
    points.normals_ = vertex_normals(mesh);
    return points;
  };
  const open3d::geometry::PointCloud source = cloud(foot.mesh), target = cloud(last.mesh);
  Eigen::Matrix4d start = Eigen::Matrix4d::Identity();
  start.block<3, 1>(0, 3) = Vec3(last.heel_back.x() - foot.landmarks.heel.x(), 0.0, 0.0);
  open3d::utility::SetVerbosityLevel(open3d::utility::VerbosityLevel::Error);
  const auto result = open3d::pipelines::registration::RegistrationICP(
      source, target, 20.0, start, open3d::pipelines::registration::TransformationEstimationPointToPlane(),
      open3d::pipelines::registration::ICPConvergenceCriteria(1e-7, 1e-7, 200));
  Motion last_from_foot = Motion::Identity();
  last_from_foot.matrix() = result.transformation_;
  return last_from_foot;
}

/// Root mean square displacement by area over the zones, apart for skin behind and before the joint line.
template <typename Found>
void note_displacement(const TruthCase& clean, const SkinMap& skin, const Found& found, Outcome& outcome) {
  const Foot foot = prepared_foot(clean);
  const PosedFoot truth(foot.landmarks, clean.truth);
  const Hinge hinge = hinge_in_foot(foot.landmarks);
  const Vec3 forward = Vec3::UnitZ().cross(hinge.axis);
  const std::vector<double> areas = vertex_areas_mm2(foot.mesh);
  std::array<double, 2> squares = {}, area = {};
  for (std::size_t i = 0; i < areas.size(); ++i) {
    if (skin.zone[i] == Zone::none) continue;
    const Vec3& p = foot.mesh.vertices[i];
    const std::size_t part = (p - hinge.point_mm).dot(forward) > 0.0 ? 1 : 0;
    squares[part] += areas[i] * (found(p) - truth(p)).squaredNorm();
    area[part] += areas[i];
  }
  outcome.rear_rms_mm = std::sqrt(squares[0] / area[0]);
  outcome.fore_rms_mm = std::sqrt(squares[1] / area[1]);
}

void note_clearances(const std::vector<ZoneClearance>& truth, const std::vector<ZoneClearance>& found,
                     Outcome& outcome) {
  for (const ZoneClearance& t : truth)
    for (const ZoneClearance& f : found) {
      if (t.zone != f.zone) continue;
      outcome.p05_error_mm[t.zone] = f.p05_mm - t.p05_mm;
      outcome.inside_interval[t.zone] = std::abs(f.p05_mm - t.p05_mm) <= 1.96 * f.sigma_mm;
      constexpr double kMuch_mm = 1.0;
      if (!outcome.inside_interval[t.zone] && std::abs(f.p05_mm - t.p05_mm) > kMuch_mm)
        outcome.outside +=
            fmt::format("; {} {:.1f} +- {:.1f} for {:.1f}", zone_name(t.zone), f.p05_mm, 1.96 * f.sigma_mm, t.p05_mm);
    }
}

std::vector<ZoneClearance> clearances_of(const Foot& foot, const SkinMap& skin, const Registration& registration,
                                         const Last& last, const SignedDistance& surface,
                                         const RegistrationSettings& scanner) {
  return by_zone(clearance_between(foot, registration, surface, scanner, last.top), skin);
}

std::vector<ZoneClearance> true_clearances(const TruthCase& clean, const SkinMap& skin) {
  const Foot foot = prepared_foot(clean);
  const Last last = prepared_last(clean);
  const SignedDistance surface(last.mesh);
  return clearances_of(foot, skin, clean.truth, last, surface, {});
}

CaseResult run(const TruthCase& clean, const Settings& settings) {
  CaseResult result;
  Foot foot = prepared_foot(clean);
  Last last = prepared_last(clean);
  const SkinMap true_skin = map_skin(foot);
  const std::vector<ZoneClearance> truth = true_clearances(clean, true_skin);
  Dice dice(clean.seed + 500000u);
  const Dirt dirt = random_dirt(dice);
  DirtyPair pair;
  if (!settings.perfect) {
    pair = dirty(clean, dirt, dice);
    try {
      foot = prepare_foot(pair.scan);
      last = prepare_last(pair.last);
    } catch (const InputError& error) {
      result.refused = error.what();
      return result;
    }
    result.foot_side_right = foot.side == dirt.side;
    result.last_side_right = last.side == dirt.side;
    result.units_right = foot.facts.units == dirt.scan_units && last.facts.units == dirt.last_units;
  }
  const auto foot_from_made = [&](const Vec3& p) {
    if (settings.perfect) return p;
    return as_worn(foot.side, foot.foot_from_scan * (pair.scan_from_foot * as_worn(dirt.side, p)));
  };
  const auto made_from_last = [&](const Vec3& p) {
    if (settings.perfect) return p;
    return as_worn(dirt.side, pair.file_from_last.inverse() * (last.last_from_file.inverse() * as_worn(last.side, p)));
  };
  result.first_joint_error_mm = (foot_from_made(clean.foot.first_joint) - foot.landmarks.first_joint).norm();
  result.fifth_joint_error_mm = (foot_from_made(clean.foot.fifth_joint) - foot.landmarks.fifth_joint).norm();
  for (std::size_t toe = 0; toe < 5; ++toe)
    result.toe_tip_error_mm[toe] = (foot_from_made(clean.foot.toe_tips[toe]) - foot.landmarks.toe_tips[toe]).norm();
  const Vec3 up = foot_from_made(Vec3::UnitZ()) - foot_from_made(Vec3::Zero());
  const Vec3 ahead = foot_from_made(Vec3::UnitX()) - foot_from_made(Vec3::Zero());
  result.upright =
      up.z() > 0.96 && ahead.x() > 0.9;  // within 15 and 25 degrees: told from lying and from back to front

  const FootMeasures foot_measures = measure_foot(foot);
  const LastMeasures last_measures = measure_last(last);
  const SignedDistance surface(last.mesh);
  const SkinMap skin = map_skin(foot);
  RegistrationSettings scanner;
  // As if the scanner's data sheet told it: along one axis of three, and, as one vertex's noise is not its neighbour's,
  // over the vertices that clearance is evened over (a Gaussian of root mean square r weighs like 2 pi r^2 of skin).
  const std::vector<double> areas_mm2 = vertex_areas_mm2(foot.mesh);
  const double skin_mm2 = std::accumulate(areas_mm2.begin(), areas_mm2.end(), 0.0);
  const double evened_over = std::max(1.0, 2.0 * std::numbers::pi * kClearanceEvened_mm * kClearanceEvened_mm *
                                               static_cast<double>(areas_mm2.size()) / skin_mm2);
  scanner.scan_error_mm = settings.perfect ? 0.0 : dirt.noise_mm / std::sqrt(3.0 * evened_over);
  const auto judge = [&](const Registration& registration, Outcome& outcome) {
    const PosedFoot posed(foot.landmarks, registration);
    note_displacement(
        clean, true_skin, [&](const Vec3& p) { return made_from_last(posed(foot_from_made(p))); }, outcome);
    const std::vector<ZoneClearance> found = clearances_of(foot, skin, registration, last, surface, scanner);
    note_clearances(truth, found, outcome);
    outcome.doubt = english(registration.doubt_reason);
  };
  const auto start = std::chrono::steady_clock::now();
  const Registration registration = register_foot_in_last(foot, skin, last, surface, scanner);
  result.lastroom.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  judge(registration, result.lastroom);
  Registration icp;
  icp.last_from_foot = by_icp(foot, last);
  judge(icp, result.icp);
  return result;
}

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return 0.0;
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(std::lround(share * static_cast<double>(values.size() - 1)))];
}

/// Of the cases that were given a verdict: those without one are counted, and promise nothing.
bool has_verdict(const CaseResult& r) { return r.refused.empty() && r.lastroom.doubt.empty(); }

template <typename Value>
std::vector<double> gathered(const std::vector<CaseResult>& results, const Value& value) {
  std::vector<double> values;
  for (const CaseResult& r : results)
    if (has_verdict(r)) value(r, values);
  return values;
}

void print_row(const char* name, const std::vector<double>& ours, const std::vector<double>& icp, const char* goal) {
  fmt::print("| {} | {:.2f} | {:.2f} | {:.2f} | {} | {:.2f} | {:.2f} |\n", name, quantile(ours, 0.5),
             quantile(ours, 0.9), quantile(ours, 1.0), goal, quantile(icp, 0.5), quantile(icp, 0.9));
}

std::string goal_of(Zone zone) {
  switch (zone) {
    case Zone::heel_sides:
    case Zone::waist:
    case Zone::instep:
      return "0.4 / 1.5";
    case Zone::inside_joint:
    case Zone::outside_joint:
    case Zone::fifth_toe_side:
      return "0.5 / 1.5";
    case Zone::big_toe_side:
      return "0.8 / 1.5";
    default:
      return "- / 1.5";
  }
}

void print_table(const std::vector<CaseResult>& results, const Settings& settings) {
  const auto count = [&](const auto& holds) {
    return std::count_if(results.begin(), results.end(),
                         [&](const CaseResult& r) { return r.refused.empty() && holds(r); });
  };
  fmt::print("| mm | median | 90 % | largest | to reach (median / 90 % / largest) | ICP median | ICP 90 % |\n");
  fmt::print("|---|---|---|---|---|---|---|\n");
  const auto both = [&](const char* name, const char* goal, const auto& of) {
    print_row(name, gathered(results, [&](const CaseResult& r, auto& v) { v.push_back(of(r.lastroom)); }),
              gathered(results, [&](const CaseResult& r, auto& v) { v.push_back(of(r.icp)); }), goal);
  };
  both("rear part, rms displacement", "0.9 / 1.3 / 2.5", [](const Outcome& o) { return o.rear_rms_mm; });
  both("fore part, rms displacement", "1.3 / 2.3 / -", [](const Outcome& o) { return o.fore_rms_mm; });
  for (std::size_t i = 0; i < kZoneCount; ++i) {
    const auto zone = static_cast<Zone>(i);
    const auto errors = [&](const Outcome& o, std::vector<double>& v) {
      if (const auto found = o.p05_error_mm.find(zone); found != o.p05_error_mm.end())
        v.push_back(std::abs(found->second));
    };
    print_row(std::string(zone_name(zone)).c_str(),
              gathered(results, [&](const CaseResult& r, auto& v) { errors(r.lastroom, v); }),
              gathered(results, [&](const CaseResult& r, auto& v) { errors(r.icp, v); }), goal_of(zone).c_str());
  }
  if (!settings.perfect)
    print_row("joints found on the foot",
              gathered(results,
                       [](const CaseResult& r, auto& v) {
                         v.push_back(r.first_joint_error_mm);
                         v.push_back(r.fifth_joint_error_mm);
                       }),
              {}, "3 / - / -");

  const auto taken = count([](const CaseResult&) { return true; });
  std::size_t inside = 0, values = 0;
  for (const CaseResult& r : results)
    if (has_verdict(r))
      for (const auto& [zone, in] : r.lastroom.inside_interval) ++values, inside += in;
  const auto wrong = [](const CaseResult& r) {
    double worst = r.lastroom.rear_rms_mm;
    for (const auto& [zone, error] : r.lastroom.p05_error_mm)
      if (!r.lastroom.inside_interval.at(zone)) worst = std::max(worst, std::abs(error));
    return worst > 2.5;
  };
  fmt::print("\n| what | of {} cases |\n|---|---|\n", results.size());
  fmt::print("| taken by the preparation | {} |\n", taken);
  fmt::print("| side of the foot right | {} |\n", count([](const CaseResult& r) { return r.foot_side_right; }));
  fmt::print("| side of the last right | {} |\n", count([](const CaseResult& r) { return r.last_side_right; }));
  fmt::print("| unit right | {} |\n", count([](const CaseResult& r) { return r.units_right; }));
  fmt::print("| the right way up and round | {} |\n", count([](const CaseResult& r) { return r.upright; }));
  fmt::print("| no verdict, for doubt | {} |\n", count([](const CaseResult& r) { return !r.lastroom.doubt.empty(); }));
  fmt::print("| error above 2.5 mm and doesn't say so | {} |\n",
             count([&](const CaseResult& r) { return wrong(r) && r.lastroom.doubt.empty(); }));
  fmt::print("| zone values inside the stated 95 % interval | {:.1f} % |\n",
             values > 0 ? 100.0 * static_cast<double>(inside) / static_cast<double>(values) : 0.0);
  fmt::print(
      "| registration, median time | {:.0f} ms |\n",
      1e3 * quantile(gathered(results, [](const CaseResult& r, auto& v) { v.push_back(r.lastroom.seconds); }), 0.5));
}

Settings read_settings(int count, char** words) {
  Settings settings;
  for (int i = 1; i < count; ++i) {
    if (std::strcmp(words[i], "--perfect") == 0) settings.perfect = true;
    if (std::strcmp(words[i], "--each") == 0) settings.each = true;
    if (i + 1 == count) continue;
    if (std::strcmp(words[i], "--cases") == 0) settings.cases = static_cast<unsigned>(std::stoul(words[i + 1]));
    if (std::strcmp(words[i], "--seed") == 0) settings.seed = static_cast<unsigned>(std::stoul(words[i + 1]));
  }
  return settings;
}

int run_all(const Settings& settings) {
  std::vector<CaseResult> results;
  std::size_t warped = 0;
  for (unsigned seed = settings.seed; seed < settings.seed + settings.cases; ++seed) {
    const TruthCase clean =
        standing_case(LastFamily::around_the_foot, seed).pair;  // its truth is where the foot settles
    warped += clean.source == FootSource::makehuman;
    results.push_back(run(clean, settings));
    const CaseResult& r = results.back();
    if (settings.each)
      fmt::print(
          stderr,
          "{}: heel {:.0f}, rear {:.2f}, fore {:.2f}, joints off by {:.1f} {:.1f}, toe tips by {:.1f}, side {}{}, "
          "upright {} {}{}{}\n",
          seed, clean.last_shape.heel_height_mm, r.lastroom.rear_rms_mm, r.lastroom.fore_rms_mm, r.first_joint_error_mm,
          r.fifth_joint_error_mm, fmt::join(r.toe_tip_error_mm, " "), r.foot_side_right, r.last_side_right, r.upright,
          r.refused, r.lastroom.doubt, r.lastroom.outside);
  }
  fmt::print("{} cases from seed {}, {} of them warped MakeHuman feet{}.\n\n", results.size(), settings.seed, warped,
             settings.perfect ? "; foot and last as if prepared without error" : "");
  print_table(results, settings);
  return 0;
}

}  // namespace
}  // namespace lastroom::test

int main(int count, char** words) { return lastroom::test::run_all(lastroom::test::read_settings(count, words)); }
