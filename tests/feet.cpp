// Prints the table of kinds of feet of reports/accuracy.md: how well the preparation reads feet about which everything
// is known by construction.
//   feet --cases 90 --seed 1 [--kind WORDS] [--only CASE] [--each] [--save FOLDER] [--hold]
//       [--most-joint MM]
// A case is a foot (made by us, or of MakeHuman's body), of one kind of the clinic or one kind of scan or both, in any
// place, unit and side. --kind keeps the kinds whose names hold these words; --only makes a single case. --save writes
// the scans as PLY. --hold fails where figures are worse than kHold says,
// --most-joint where a joint is further off in one of ten.
#define DOCTEST_CONFIG_IMPLEMENT  // makehuman_feet.cpp tells of missing data through doctest
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/convex_hull_2.h>
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <map>

#include "error.h"
#include "kinds_of_feet.h"
#include "measurement/measure.h"
#include "mesh_io/write_mesh.h"
#include "preparation/foot.h"

namespace lastroom::test {
namespace {

struct Settings {
  unsigned cases = 90, seed = 1;
  std::optional<unsigned> only;
  bool each = false, hold = false;
  double most_joint_mm = 1e9;
  std::string kind, save;
};

/// What was read of one foot, held against the truth.
struct Outcome {
  std::string refused;
  bool side_right = true;
  int toes = 0, right = 0, grouped = 0, wrong = 0;  ///< of the toes that are there
  bool missing_told = true, short_told = false;     ///< of a missing toe it is enough that it is called short
  struct Joint {
    double off_mm = 0.0, along_mm = 0.0, sigma_mm = 0.0;
  };
  std::optional<Joint> first, fifth;  ///< against the head's skin that stands out most, where a tape is laid (A2)
  std::optional<Joint> first_head, fifth_head;  ///< against the skin over the head's middle
  /// Against the hull over the true heads' own skin; over the most inside and the most outside skin of these heads, as
  /// a tape is laid (A2); and over the joints found, which leaves what measuring alone adds.
  std::optional<double> girth_mm, girth_tape_mm, girth_there_mm;
  double girth_sigma_mm = 0.0;            ///< told for what the joints' doubt makes of the girth
  double length_mm = 0.0, seconds = 0.0;  ///< lengths and girths: error
};

struct Case {
  std::string kind;
  FootSource source = FootSource::made;
  KnownFoot foot;
  Mesh scan;
};

struct KindOfCase {
  std::string name;
  Use use = Use::kept_apart;
  const FootKind* foot = nullptr;
  const ScanKind* scan = nullptr;  ///< null: drawn
};

/// Every kind of foot as a clean scan, every kind of scan of a plain foot, and both drawn.
std::vector<KindOfCase> kinds_of_cases(const std::string& wanted) {
  std::vector<KindOfCase> kinds;
  for (const FootKind& foot : foot_kinds())
    kinds.push_back({std::string(foot.name), foot.use, &foot, &scan_kinds().front()});
  for (std::size_t i = 1; i < scan_kinds().size(); ++i)
    kinds.push_back({std::string(scan_kinds()[i].name), scan_kinds()[i].use, &foot_kinds().front(), &scan_kinds()[i]});
  kinds.push_back({"any foot by any scanner", Use::kept_apart, nullptr, nullptr});
  std::erase_if(kinds, [&](const KindOfCase& kind) { return kind.name.find(wanted) == std::string::npos; });
  return kinds;
}

template <typename Kind>
const Kind& drawn(const std::vector<Kind>& kinds, Dice& dice) {
  return kinds[static_cast<std::size_t>(dice.among(static_cast<int>(kinds.size())))];
}

Case make_case(const KindOfCase& kind, FootSource source, Dice& dice) {
  const FootKind& foot = kind.foot ? *kind.foot : drawn(foot_kinds(), dice);
  const ScanKind& scan = kind.scan ? *kind.scan : drawn(scan_kinds(), dice);
  Case made{kind.name, source, random_foot(source, foot.age, dice), {}};
  if (!kind.foot) made.kind += fmt::format(" ({}; {})", foot.name, scan.name);
  foot.make(made.foot, dice);
  made.scan = scan.take(made.foot, dice);
  settle_extremes(made.foot);
  return made;
}

/// Girth over both joints, by other code than the program's: the hull (CGAL) of where the plane through them, upright
/// to `up`, cuts the skin's edges.
double hull_girth_mm(const Mesh& skin, const Vec3& first_joint, const Vec3& fifth_joint, const Vec3& up) {
  using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
  const Vec3 between = first_joint - fifth_joint, across = (between - between.dot(up) * up).normalized();
  const Vec3 normal = across.cross(up);
  std::vector<Kernel::Point_2> cut, hull;
  for (const Triangle& t : skin.triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 a = skin.vertices[t[k]] - first_joint, b = skin.vertices[t[(k + 1) % 3]] - first_joint;
      const double ha = a.dot(normal), hb = b.dot(normal);
      if ((ha < 0.0) == (hb < 0.0)) continue;
      const Vec3 p = a + ha / (ha - hb) * (b - a);
      cut.emplace_back(p.dot(across), p.dot(up));
    }
  CGAL::convex_hull_2(cut.begin(), cut.end(), std::back_inserter(hull));
  double girth = 0.0;
  for (std::size_t i = 0; i < hull.size(); ++i)
    girth += std::sqrt(CGAL::to_double(CGAL::squared_distance(hull[i], hull[(i + 1) % hull.size()])));
  return girth;
}

/// The skin that stands out most over a metatarsal's head: up to 3 % of length before and behind (8 mm; how long a head
/// is: common practice, no source).
Vec3 most_outward(const KnownFoot& foot, const Vec3& head, const Vec3& outward, const Vec3& ahead) {
  const double length_mm = known_length_mm(foot);
  Vec3 best = head;
  for (const Vec3& p : foot.skin.vertices)
    if (std::abs((p - head).dot(ahead)) < 0.03 * length_mm && p.z() - foot.heel.z() < 0.2 * length_mm &&
        (p - best).dot(outward) > 0.0)
      best = p;
  return best;
}

/// Distance to the nearest skin of each toe.
std::array<double, 5> to_toes_mm(const KnownFoot& foot, const Vec3& p) {
  std::array<double, 5> nearest;
  nearest.fill(1e9);
  for (std::size_t v = 0; v < foot.toe.size(); ++v)
    if (const std::size_t toe = foot.toe[v]; toe < 5)
      nearest[toe] = std::min(nearest[toe], (foot.skin.vertices[v] - p).norm());
  return nearest;
}

/// A toe is wrong when its tip lies on a toe that the program says is another one: nearer to that one's skin by more
/// than 3 mm (our choice: half of what a ball that bridges a cleft may fill).
void judge_toes(const KnownFoot& truth, const FootLandmarks& found, const std::function<Vec3(const Vec3&)>& to_truth,
                Outcome& outcome) {
  constexpr double kBridge_mm = 3.0;
  outcome.missing_told = true;
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const ToeGroup group = group_of_toe(found, toe);
    const auto off = to_toes_mm(truth, to_truth(found.toe_tips[toe]));
    double own = 1e9, others = 1e9;
    for (std::size_t t = 0; t < 5; ++t) {
      const bool mine = t >= group.first && t <= group.last;
      (mine ? own : others) = std::min(mine ? own : others, off[t]);
    }
    const bool wrong = own > others + kBridge_mm;
    const bool alone = group.first == group.last;
    const bool told = found.toe_there[toe] == truth.toe_there[toe] || (!truth.toe_there[toe] && outcome.short_told);
    if (!told && alone) outcome.missing_told = false;
    if (!found.toe_there[toe] && !truth.toe_there[toe]) continue;
    if (truth.toe_there[toe]) ++outcome.toes;
    if (wrong) ++outcome.wrong;
    if (wrong || !truth.toe_there[toe]) continue;
    (alone ? outcome.right : outcome.grouped) += 1;
  }
}

Outcome read(const Case& made, unsigned seed, Dice& dice) {
  Outcome outcome;
  const Motion scan_from_foot = dice.motion(300.0);
  const Side side = dice.chance(0.5) ? Side::left : Side::right;
  constexpr std::array kUnits = {LengthUnit::millimetre, LengthUnit::centimetre, LengthUnit::metre, LengthUnit::inch};
  const LengthUnit unit = kUnits[static_cast<std::size_t>(dice.among(4))];
  MeshFile file;
  file.name = fmt::format("foot{}.ply", seed);
  file.mesh = made.scan;
  if (side == Side::left) {
    if (file.mesh.triangles.empty())
      for (Vec3& p : file.mesh.vertices) p.y() = -p.y();
    else
      file.mesh = mirrored_y(std::move(file.mesh));
  }
  file.mesh = moved(std::move(file.mesh), scan_from_foot);
  for (Vec3& p : file.mesh.vertices) p /= mm_per(unit);
  file.vertices_in_file = file.mesh.vertices.size();
  file.triangles_in_file = file.mesh.triangles.size();
  FootPreparation given;
  if (known_length_mm(made.foot) < 150.0) given.units = unit;  // a child's foot in inches is a grown-up's in cm

  const auto start = std::chrono::steady_clock::now();
  Foot foot;
  FootMeasures measures;
  try {
    foot = prepare_foot(std::move(file), given);
    outcome.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    measures = measure_foot(foot);
  } catch (const InputError& error) {
    outcome.refused = error.what();
    return outcome;
  }
  const Motion scan_from_read = foot.foot_from_scan.inverse();
  const auto to_truth = [&](const Vec3& p) {
    return as_worn(side, Vec3(scan_from_foot.inverse() * (scan_from_read * as_worn(foot.side, p))));
  };
  outcome.side_right = foot.side == side;
  outcome.short_told = std::any_of(foot.facts.repairs.begin(), foot.facts.repairs.end(),
                                   [](const Message& told) { return told.key == "repair.short_toe"; });
  judge_toes(made.foot, foot.landmarks, to_truth, outcome);
  const Vec3 ahead = (made.foot.toe_tips[1] - made.foot.heel).cwiseProduct(Vec3(1, 1, 0)).normalized();
  const auto joint = [&](const Vec3& found, const Vec3& truth, double sigma_mm) {
    const Vec3 off = to_truth(found) - truth;
    return Outcome::Joint{off.norm(), off.dot(ahead), sigma_mm};
  };
  const FootLandmarks& marks = foot.landmarks;
  const KnownFoot& truth = made.foot;
  const Vec3 inside = Vec3::UnitZ().cross(ahead);
  const Vec3 first_taped = most_outward(truth, truth.first_joint, inside, ahead),
             fifth_taped = most_outward(truth, truth.fifth_joint, -inside, ahead);
  if (truth.first_joint_there) {
    outcome.first = joint(marks.first_joint, first_taped, marks.first_joint_sigma_mm);
    outcome.first_head = joint(marks.first_joint, truth.first_joint, marks.first_joint_sigma_mm);
  }
  if (truth.fifth_joint_there) {
    outcome.fifth = joint(marks.fifth_joint, fifth_taped, marks.fifth_joint_sigma_mm);
    outcome.fifth_head = joint(marks.fifth_joint, truth.fifth_joint, marks.fifth_joint_sigma_mm);
  }
  if (outcome.first && outcome.fifth) {
    outcome.girth_mm =
        measures.joint_girth.mm - hull_girth_mm(truth.skin, truth.first_joint, truth.fifth_joint, Vec3::UnitZ());
    outcome.girth_sigma_mm = measures.joint_girth_sigma_mm;
    outcome.girth_tape_mm =
        measures.joint_girth.mm - hull_girth_mm(truth.skin, first_taped, fifth_taped, Vec3::UnitZ());
    const Vec3 up = to_truth(Vec3::UnitZ()) - to_truth(Vec3::Zero());
    outcome.girth_there_mm = measures.joint_girth.mm -
                             hull_girth_mm(truth.skin, to_truth(marks.first_joint), to_truth(marks.fifth_joint), up);
  }
  outcome.length_mm = measures.length_mm - known_length_mm(made.foot);
  return outcome;
}

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return 0.0;
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(std::lround(share * static_cast<double>(values.size() - 1)))];
}

struct Row {
  std::string name;
  Use use = Use::kept_apart;
  std::vector<Outcome> outcomes = {};
};

/// The outcomes of one row, counted.
struct Sum {
  std::size_t feet = 0, taken = 0, side = 0, missing = 0, shorts = 0, girths_covered = 0;
  std::size_t joints = 0, covered = 0, heads_covered = 0;
  int toes = 0, right = 0, grouped = 0, wrong = 0;
  std::vector<double> first, fifth, first_head, fifth_head, girth, girth_tape, girth_there, length;  // off by, mm
};

Sum summed(const std::vector<Outcome>& outcomes) {
  Sum sum;
  for (const Outcome& o : outcomes) {
    ++sum.feet;
    if (!o.refused.empty()) continue;
    ++sum.taken, sum.side += o.side_right, sum.missing += o.missing_told, sum.shorts += o.short_told;
    sum.toes += o.toes, sum.right += o.right, sum.grouped += o.grouped, sum.wrong += o.wrong;
    const auto add = [](const std::optional<Outcome::Joint>& joint, std::vector<double>& errors, std::size_t& covered) {
      if (!joint) return;
      errors.push_back(joint->off_mm);
      covered += std::abs(joint->along_mm) <= 1.96 * joint->sigma_mm;
    };
    add(o.first, sum.first, sum.covered), add(o.fifth, sum.fifth, sum.covered);
    add(o.first_head, sum.first_head, sum.heads_covered), add(o.fifth_head, sum.fifth_head, sum.heads_covered);
    sum.joints += o.first.has_value() + o.fifth.has_value();
    if (o.girth_mm) {
      sum.girth.push_back(std::abs(*o.girth_mm));
      sum.girths_covered += std::abs(*o.girth_mm) <= 1.96 * o.girth_sigma_mm;
    }
    if (o.girth_tape_mm) sum.girth_tape.push_back(std::abs(*o.girth_tape_mm));
    if (o.girth_there_mm) sum.girth_there.push_back(std::abs(*o.girth_there_mm));
    sum.length.push_back(std::abs(o.length_mm));
  }
  return sum;
}

double share_within(const std::vector<double>& errors, double limit_mm) {
  if (errors.empty()) return 1.0;
  const auto inside = std::count_if(errors.begin(), errors.end(), [&](double e) { return e <= limit_mm; });
  return static_cast<double>(inside) / static_cast<double>(errors.size());
}

constexpr double kGirth_mm = 2.0;  // E2: the largest mean error allowed of a scan's dimensions

void print_row(const Row& row) {
  const Sum sum = summed(row.outcomes);
  const auto two = [](const std::vector<double>& errors) {
    return errors.empty() ? std::string("-")
                          : fmt::format("{:.1f} / {:.1f}", quantile(errors, 0.5), quantile(errors, 0.9));
  };
  const auto within = [](const std::vector<double>& errors) {
    return errors.empty() ? std::string("-") : fmt::format("{:.0f} %", 100.0 * share_within(errors, kGirth_mm));
  };
  const auto share = [](std::size_t covered, std::size_t of) {
    return of == 0 ? std::string("-")
                   : fmt::format("{:.0f} %", 100.0 * static_cast<double>(covered) / static_cast<double>(of));
  };
  fmt::print(
      "| {}{} | {} of {} | {} | {} / {} / **{}** of {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | "
      "{} "
      "|\n",
      row.name, row.use == Use::may_set ? "" : " *", sum.taken, sum.feet, sum.side, sum.right, sum.grouped, sum.wrong,
      sum.toes, sum.missing, sum.shorts, two(sum.first), two(sum.fifth), share(sum.covered, sum.joints),
      two(sum.first_head), two(sum.fifth_head), share(sum.heads_covered, sum.joints), within(sum.girth_there),
      within(sum.girth_tape), within(sum.girth), share(sum.girths_covered, sum.girth.size()), two(sum.length));
}

/// What 62 cases of seed 1 gave when this was last set: ctest fails where a figure is worse.
constexpr struct {
  std::size_t refused_of_62 = 1;
  int wrong = 0;
  double joint_90_mm = 4.0, girth_share = 0.7, length_90_mm = 1.0;
} kHold;

bool holds(const Sum& all) {
  const bool joints = quantile(all.first, 0.9) <= kHold.joint_90_mm && quantile(all.fifth, 0.9) <= kHold.joint_90_mm;
  const std::size_t refused = all.feet - all.taken;
  return 62 * refused <= kHold.refused_of_62 * all.feet && all.side == all.taken && all.wrong <= kHold.wrong &&
         joints && share_within(all.girth, kGirth_mm) >= kHold.girth_share &&
         quantile(all.length, 0.9) <= kHold.length_90_mm;
}

void print_each(unsigned seed, const Case& made, const Outcome& o) {
  const auto joint = [](const std::optional<Outcome::Joint>& j) {
    return j ? fmt::format("{:.1f} ({:+.1f} +- {:.1f})", j->off_mm, j->along_mm, 1.96 * j->sigma_mm) : "-";
  };
  fmt::print(stderr, "{}: {}, {}, {:.0f} mm, {} triangles: ", seed, made.kind,
             made.source == FootSource::made ? "made" : "MakeHuman", known_length_mm(made.foot),
             made.scan.triangles.size());
  if (!o.refused.empty()) return fmt::print(stderr, "REFUSED {}\n", o.refused);
  fmt::print(stderr,
             "{}toes {} right {} grouped {} wrong{}, joints {} and {} (heads {} and {}), girth {} ({} there, {} by "
             "tape), length "
             "{:+.1f}, {:.2f} s\n",
             o.side_right ? "" : "SIDE WRONG, ", o.right, o.grouped, o.wrong,
             fmt::format("{}{}", o.missing_told ? "" : ", missing not told", o.short_told ? ", short told" : ""),
             joint(o.first), joint(o.fifth), joint(o.first_head), joint(o.fifth_head),
             o.girth_mm ? fmt::format("{:+.1f} +- {:.1f}", *o.girth_mm, 1.96 * o.girth_sigma_mm) : "-",
             o.girth_there_mm ? fmt::format("{:+.1f}", *o.girth_there_mm) : "-",
             o.girth_tape_mm ? fmt::format("{:+.1f}", *o.girth_tape_mm) : "-", o.length_mm, o.seconds);
}

Settings read_settings(int count, char** words) {
  Settings settings;
  for (int i = 1; i < count; ++i) {
    const auto is = [&](const char* name) { return std::strcmp(words[i], name) == 0 && i + 1 < count; };
    if (std::strcmp(words[i], "--each") == 0) settings.each = true;
    if (std::strcmp(words[i], "--hold") == 0) settings.hold = true;
    if (is("--cases")) settings.cases = static_cast<unsigned>(std::stoul(words[i + 1]));
    if (is("--seed")) settings.seed = static_cast<unsigned>(std::stoul(words[i + 1]));
    if (is("--only")) settings.only = static_cast<unsigned>(std::stoul(words[i + 1]));
    if (is("--most-joint")) settings.most_joint_mm = std::stod(words[i + 1]);
    if (is("--kind")) settings.kind = words[i + 1];
    if (is("--save")) settings.save = words[i + 1];
  }
  return settings;
}

int run_all(const Settings& settings) {
  const std::vector<KindOfCase> kinds = kinds_of_cases(settings.kind);
  if (kinds.empty()) {
    fmt::print(stderr, "feet: no kind is called \"{}\"\n", settings.kind);
    return 2;
  }
  const bool makehuman = std::getenv("LASTROOM_MAKEHUMAN") != nullptr;  // the folder of makehuman.sh
  const std::size_t sources = makehuman ? 2 : 1;
  std::map<std::pair<std::size_t, std::size_t>, Row> rows;
  for (unsigned i = 0; i < settings.cases; ++i) {
    const std::size_t kind = i % kinds.size(), source = i / kinds.size() % sources;
    const unsigned seed = settings.seed * 100'000u + i;
    if (settings.only && *settings.only != i) continue;
    Dice dice(seed);
    const Case made = make_case(kinds[kind], source == 0 ? FootSource::made : FootSource::makehuman, dice);
    if (!settings.save.empty()) {
      std::ofstream(fmt::format("{}/foot{}.ply", settings.save, seed), std::ios::binary) << ply_binary(made.scan);
    }
    Row& row = rows[{kind, source}];
    row.name = kinds[kind].name + (source == 0 ? ", made" : ", MakeHuman");
    row.use = source == 0 ? kinds[kind].use : Use::kept_apart;
    row.outcomes.push_back(read(made, seed, dice));
    if (settings.each) print_each(seed, made, row.outcomes.back());
  }
  fmt::print(
      "{} feet from seed {}. Errors in mm: median / 90 %.\n\n"
      "| kind, source (* kept apart: no constant is set on it) | taken | side right | toes right / in groups / "
      "**wrong** "
      "| missing toes told or none | a short toe told | first joint | fifth joint | joints inside 1.96 sigma | from "
      "the first head's middle | from the fifth's | these inside 1.96 sigma | joint girth within 2 mm "
      "of the hull at the joints found | over the skin of the heads that stands out most | over the heads' middle | "
      "that inside 1.96 sigma | length |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n",
      settings.cases, settings.seed);
  Row all{"**all**", Use::may_set};
  for (const auto& [key, row] : rows) {
    print_row(row);
    all.outcomes.insert(all.outcomes.end(), row.outcomes.begin(), row.outcomes.end());
  }
  print_row(all);
  const Sum sum = summed(all.outcomes);
  if (std::max(quantile(sum.first, 0.9), quantile(sum.fifth, 0.9)) > settings.most_joint_mm) {
    fmt::print(stderr, "feet: joints are off by more than {} mm\n", settings.most_joint_mm);
    return 1;
  }
  if (!settings.hold || holds(sum)) return 0;
  fmt::print(stderr, "feet: a figure is worse than kHold says\n");
  return 1;
}

}  // namespace
}  // namespace lastroom::test

int main(int count, char** words) { return lastroom::test::run_all(lastroom::test::read_settings(count, words)); }
