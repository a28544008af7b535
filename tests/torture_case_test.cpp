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

void check_like_clean(const Fitting& damaged, Press press, double end_mm) {
  const Fitting& clean = base().fitting;
  check_finite(damaged);
  // Much is a pinch in any case; of little the doubt decides whether it is one, or watched.
  CHECK(damaged.assessment.verdict >= (press == Press::much ? Verdict::pinch : Verdict::watch));
  CHECK(damaged.assessment.verdict != Verdict::none);
  CHECK(damaged.foot.side == clean.foot.side);
  const auto off_mm = [&](double clean_mm, double damaged_mm) {
    return std::abs(damaged_mm - clean_mm) - 2.0 * end_mm;
  };
  CHECK(off_mm(clean.foot_measures.length_mm, damaged.foot_measures.length_mm) <= kDimension_mm);
  // By the stick, which toe room and allowance follow. The tape along the bottom ends where that turns up, which a
  // rough last with a narrow toe hardly tells: nothing is judged by it.
  CHECK(off_mm(clean.last_measures.stick_length_mm, damaged.last_measures.stick_length_mm) <= kDimension_mm);
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

Base made_base(const std::string& foot_name, FootShape foot, Press press) {
  Base b;
  b.foot_name = foot_name;
  foot.edge_mm = 2.2;
  b.foot_shape = foot;
  b.foot = make_foot(foot);
  b.last_shape.allowance_mm = 26.0;
  b.last_shape.toe = ToeStyle::high_and_bulky;
  b.last_shape.room.toe_top = b.last_shape.room.fifth_toe_top = 7.0;
  b.last_shape.room.fifth_toe_side =
      press == Press::much ? -5.0 : 1.0;  // sections are faired: 0.6 mm of press are left
  b.last = make_last(b.foot, b.last_shape);
  Job job;
  job.scan = b.foot.mesh;
  job.last = b.last.mesh;
  b.fitting = outcome_of(job).fitting.value();
  return b;
}

/// Three feet of about one length, as cases cut and pierce them at fixed places: of usual proportions, flat and full,
/// and with a bunion.
const std::vector<Base>& bases(Press press) {
  const auto made = [](Press p) {
    FootShape usual, flat, bunion;
    flat.length_mm = 256.0;
    flat.arch_height_mm = 5.0;
    flat.joint_width_mm = 104.0;
    flat.joint_girth_mm = 256.0;
    flat.heel_width_mm = 72.0;
    bunion.bunion_mm = 6.0;
    bunion.joint_width_mm = 104.0;
    return std::vector<Base>{made_base("as usual", usual, p), made_base("flat", flat, p),
                             made_base("with a bunion", bunion, p)};
  };
  static const std::vector<Base> much = made(Press::much), little = made(Press::little);
  return press == Press::much ? much : little;
}

const Base* under_way = nullptr;

bool says_any(const std::string& refusal, std::string_view words) {
  for (;;) {
    const std::size_t end = std::min(words.find('|'), words.size());
    if (refusal.find(words.substr(0, end)) != std::string::npos) return true;
    if (end == words.size()) return false;
    words.remove_prefix(end + 1);
  }
}

}  // namespace

const Base& base() { return *under_way; }

Mesh coarse_foot() {
  FootShape shape = base().foot_shape;
  shape.edge_mm = 6.0;
  return make_foot(shape).mesh;
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

void run_cases(const char* table, Press press, const std::vector<TortureCase>& cases) {
  const std::vector<Base>& all = bases(press);
  for (const Base& b : all) {
    const Assessment& clean = b.fitting.assessment;
    CAPTURE(b.foot_name);
    CHECK(clean.verdict == (press == Press::much ? Verdict::pinch : Verdict::watch));
    // Nothing else presses: the verdict is that of the toe.
    for (const ZoneVerdict& zone : clean.zones)
      if (zone.clearance.zone != Zone::fifth_toe_side && zone.clearance.zone != Zone::fifth_toe_tip)
        CHECK(zone.verdict < Verdict::pinch);
  }
  std::size_t turn = press == Press::much ? 0 : 1;  // the same case on another foot
  for (const TortureCase& c : cases) {
    under_way = &all[turn++ % all.size()];
    const std::string name =
        fmt::format("{}; foot {}, pressed by {}", c.name, base().foot_name, press == Press::much ? "much" : "little");
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
    note_row(table, name, outcome);
    if (outcome.fitting) {
      CAPTURE(english(outcome.fitting->registration.doubt_reason));
      CHECK((c.refusal == kWorks || c.otherwise != Otherwise::nothing));
      if (c.otherwise == Otherwise::not_clear)
        CHECK(outcome.fitting->assessment.verdict >= Verdict::watch);
      else
        check_like_clean(*outcome.fitting, press, c.end_mm);
    } else {
      CHECK(is_sentence(outcome.refusal));
      CHECK((c.refusal != kWorks && says_any(outcome.refusal, c.refusal)));
    }
  }
}

}  // namespace lastroom::test
