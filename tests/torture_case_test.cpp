#include "torture_case.h"

#include <ctime>
#include <map>

namespace lastroom::test {
namespace {

/// E2 (ISO 20685-1, from memory): 2 mm is the largest mean error allowed of a dimension taken from a scan.
constexpr double kDimension_mm = 2.0;

/// A clean pair takes a second of all processors together; a hundred times that is what we call a hang, and ten times
/// that again where every step is watched (tests/sanitize.sh). Our choice.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr double kHang_s = 1000.0;
#else
constexpr double kHang_s = 100.0;
#endif

/// A damaged scan may move a zone's room by what the fitting itself says it does not know: two standard deviations of
/// either, which are independent of each other.
double tolerance_mm(const ZoneVerdict& clean, const ZoneVerdict& damaged) {
  return 2.0 * std::hypot(clean.clearance.sigma_mm, damaged.clearance.sigma_mm);
}

void check_like_clean(const Fitting& damaged, double noise_mm) {
  const Fitting& clean = base().fitting;
  check_finite(damaged);
  CHECK(damaged.assessment.verdict == Verdict::pinch);
  CHECK(damaged.foot.side == clean.foot.side);
  // Both ends of a length are extremes, and the dice stop at three spreads of the noise.
  CHECK(std::abs(damaged.foot_measures.length_mm - clean.foot_measures.length_mm) <= kDimension_mm + 6.0 * noise_mm);
  CHECK(std::abs(damaged.last_measures.length_mm - clean.last_measures.length_mm) <= kDimension_mm + 6.0 * noise_mm);
  for (const ZoneVerdict& zone : clean.assessment.zones) {
    const ZoneVerdict* other = zone_of(damaged, zone.clearance.zone);
    if (other == nullptr) continue;  // not scanned; the verdict above says what that may not hide
    CAPTURE(zone_name(zone.clearance.zone));
    CAPTURE(other->clearance.sigma_mm);
    CHECK(other->clearance.sigma_mm < 5.0);  // else the tolerance below would allow anything
    // The middle of a patch as small as a toe's end moves with its border: there what is judged, the tight side.
    const auto room_mm = [](const ZoneClearance& c) { return is_toe_end(c.zone) ? c.p05_mm : c.median_mm; };
    CHECK(std::abs(room_mm(other->clearance) - room_mm(zone.clearance)) <= tolerance_mm(zone, *other));
  }
}

}  // namespace

const Base& base() {
  static const Base value = [] {
    Base b;
    FootShape foot;
    foot.edge_mm = 2.2;
    b.foot = make_foot(foot);
    LastShape last;
    last.allowance_mm = 26.0;
    last.toe = ToeStyle::high_and_bulky;
    last.room.toe_top = last.room.fifth_toe_top = 7.0;
    last.room.fifth_toe_side = -5.0;
    b.last = make_last(b.foot, last);
    Job job;
    job.scan = b.foot.mesh;
    job.last = b.last.mesh;
    Outcome outcome = outcome_of(job);
    b.fitting = std::move(outcome.fitting).value();
    return b;
  }();
  return value;
}

Mesh coarse_foot() {
  static const Mesh mesh = [] {
    FootShape shape;
    shape.edge_mm = 6.0;
    return make_foot(shape).mesh;
  }();
  return mesh;
}

Mesh split_in_four(const Mesh& mesh) {
  Mesh fine{mesh.vertices, {}};
  std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> middles;
  const auto middle = [&](std::uint32_t a, std::uint32_t b) {
    const auto [at, is_new] = middles.try_emplace(std::minmax(a, b), index_of(fine.vertices.size()));
    if (is_new) fine.vertices.push_back(0.5 * (mesh.vertices[a] + mesh.vertices[b]));
    return at->second;
  };
  for (const auto& [a, b, c] : mesh.triangles) {
    const std::uint32_t ab = middle(a, b), bc = middle(b, c), ca = middle(c, a);
    for (const Triangle& t : {Triangle{a, ab, ca}, Triangle{ab, b, bc}, Triangle{ca, bc, c}, Triangle{ab, bc, ca}})
      fine.triangles.push_back(t);
  }
  return fine;
}

void run_cases(const char* table, const std::vector<TortureCase>& cases) {
  REQUIRE(base().fitting.assessment.verdict == Verdict::pinch);
  for (const TortureCase& c : cases) {
    const std::string name = c.name;
    CAPTURE(name);
    Job job;
    job.scan = base().foot.mesh;
    job.last = base().last.mesh;
    c.damage(job);
    const std::clock_t start = std::clock();
    const Outcome outcome = outcome_of(job);
    const double cpu_seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
    CAPTURE(outcome.refusal);
    CHECK(cpu_seconds < kHang_s);
    note_row(table, c.name, outcome);
    CHECK(outcome.fitting.has_value() == (c.refusal == kWorks));
    if (outcome.fitting) {
      CAPTURE(english(outcome.fitting->registration.doubt_reason));
      check_like_clean(*outcome.fitting, c.noise_mm);
    } else {
      CHECK(is_sentence(outcome.refusal));
      if (c.refusal != kWorks) CHECK(outcome.refusal.find(c.refusal) != std::string::npos);
    }
  }
}

}  // namespace lastroom::test
