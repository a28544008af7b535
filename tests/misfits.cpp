// Prints the last table of reports/accuracy.md: where feet end up that don't suit their last, and what is said of it.
//   misfits [SEEDS]
// A last is lofted around a foot; then the foot is made wider, longer or larger about its heel. It has no place of its
// own in that last any more: what counts is that none is told to fit. Exit status 1 when one is, or where a figure of
// the table got worse.
#define DOCTEST_CONFIG_IMPLEMENT  // makehuman_feet.cpp tells of missing data through doctest
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>

#include "held.h"
#include "planted.h"
#include "truth_cases.h"
#include "wearers.h"

namespace lastroom::test {
namespace {

struct Misfit {
  const char* name;
  Vec3 stretch = Vec3::Ones();  ///< along, across and up
  double longer_mm = 0.0;       ///< besides
};

// One English size is 25.4 / 3 mm; three Paris points are 20 mm, about 7 % (Rossi 2000, sizes and widths).
const std::array<Misfit, 6> kMisfits = {{{"as lofted"},
                                         {"one English size longer", Vec3::Ones(), 25.4 / 3.0},
                                         {"8 % wider", Vec3(1.0, 1.08, 1.0)},
                                         {"12 % wider", Vec3(1.0, 1.12, 1.0)},
                                         {"8 % larger", Vec3(1.08, 1.08, 1.08)},
                                         {"8 % smaller", Vec3(0.92, 0.92, 0.92)}}};

MadeFoot stretched(MadeFoot foot, const Misfit& misfit) {
  const double tip_x = foot.toe_tips[0].x();
  const double along = misfit.stretch.x() * (tip_x + misfit.longer_mm) / tip_x;
  const auto stretch = [&](Vec3& p) {
    p = Vec3(along * p.x(), misfit.stretch.y() * p.y(), misfit.stretch.z() * p.z());
  };
  for (Vec3& v : foot.mesh.vertices) stretch(v);
  for (Vec3* mark : {&foot.heel, &foot.first_joint, &foot.fifth_joint}) stretch(*mark);
  for (Vec3& tip : foot.toe_tips) stretch(tip);
  return foot;
}

struct Count {
  std::vector<double> forward_mm, told_mm;
  int no_verdict = 0, clear = 0;
};

void count_one(const TruthCase& pair, const Misfit& misfit, Count& count) {
  Foot foot = prepared(stretched(pair.foot, misfit));
  Last last = prepared_last(pair);
  const FootMeasures foot_measures = measure_foot(foot);
  const LastMeasures last_measures = measure_last(last);
  const SkinMap skin = map_skin(foot);
  const SignedDistance surface(last.mesh);
  const Registration pose = register_foot_in_last(foot, skin, last, surface, {});
  const ClearanceField field = clearance_between(foot, pose, surface, {}, last.top);
  const ToeRoom toes = toe_room(foot, skin, field, last);
  const Assessment found = assess({foot, last, foot_measures, last_measures, skin, pose, field, toes, surface},
                                  default_rules(), test::told(Wearer::standard));

  const Vec3& heel = foot.landmarks.heel;
  count.forward_mm.push_back((pose.last_from_foot * heel - pair.truth.last_from_foot * heel).x());
  count.told_mm.push_back(1.96 * pose.position_sigma_mm);
  count.no_verdict += found.verdict == Verdict::none;
  count.clear += found.verdict == Verdict::clear;
}

double middle_of(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

int run(unsigned seeds) {
  const bool makehuman = std::getenv("LASTROOM_MAKEHUMAN") != nullptr;
  std::array<Count, kMisfits.size()> counts;
  for (unsigned seed = 1; seed <= seeds; ++seed) {
    const TruthCase pair = truth_case(seed, makehuman && seed % 2 == 0 ? FootSource::makehuman : FootSource::made);
    for (std::size_t k = 0; k < kMisfits.size(); ++k) count_one(pair, kMisfits[k], counts[k]);
  }
  fmt::print(
      "| the foot is | pairs | no verdict | clear | heel further forward, median mm | "
      "place known to, median mm |\n| --- | ---: | ---: | ---: | ---: | ---: |\n");
  for (std::size_t k = 0; k < kMisfits.size(); ++k) {
    const Count& c = counts[k];
    fmt::print("| {} | {} | {} | {} | {:.1f} | {:.1f} |\n", kMisfits[k].name, seeds, c.no_verdict, c.clear,
               middle_of(c.forward_mm), middle_of(c.told_mm));
  }
  Held held;
  for (std::size_t k = 0; k < kMisfits.size(); ++k) {
    const std::string name = kMisfits[k].name;
    if (k > 0) held.most("told to fit: " + name, counts[k].clear, 0, "reports/accuracy.md");
    // "0" of each, but of the much smaller; README: a foot of another size than its last gets a verdict.
    if (kMisfits[k].stretch.x() >= 1.0)
      held.most("no verdict: " + name, counts[k].no_verdict, 0, "reports/accuracy.md");
  }
  return held.status();
}

}  // namespace
}  // namespace lastroom::test

int main(int count, char** words) {
  return lastroom::test::run(count > 1 ? static_cast<unsigned>(std::stoul(words[1])) : 20);
}
