// What is not a foot in its last must never be called clear. The honest pair is, so that the gate is not just shut.
#include <fmt/format.h>

#include "makehuman_feet.h"
#include "torture.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

struct GateCase {
  std::string name;
  std::function<void(Job&)> change;
};

FootShape man() {
  FootShape shape;
  shape.edge_mm = 2.2;
  return shape;
}

/// The same proportions at another length.
MadeFoot foot_of_length(double length_mm) {
  MadeFoot foot = make_foot(man());
  const double factor = length_mm / man().length_mm;
  foot.mesh = scaled(foot.mesh, factor);
  return foot;
}

/// With room everywhere: the best that a maker could wish for.
MadeLast roomy_last(const MadeFoot& foot) {
  LastShape shape;
  shape.allowance_mm = 26.0;
  shape.toe = ToeStyle::high_and_bulky;
  shape.room.toe_top = shape.room.fifth_toe_top = 7.0;
  shape.room.big_toe_side = 4.0;
  shape.room.fifth_toe_side = 5.0;
  shape.room.instep = 0.3;
  return make_last(foot, shape);
}

std::vector<GateCase> gate_cases() {
  const auto scan = [](const std::string& name, const std::function<Mesh()>& make) {
    return GateCase{name, [make](Job& job) { job.scan = make(); }};
  };
  const auto last = [](const std::string& name, const std::function<Mesh()>& make) {
    return GateCase{name, [make](Job& job) { job.last = make(); }};
  };
  const auto part = [](const std::string& name, const std::function<bool(const Vec3&)>& lost) {
    return GateCase{name, [lost](Job& job) { job.scan = without(job.scan, lost); }};
  };
  const auto cylinder = [] {
    return gridded(60, 61, false,
                   [](double u, double v) { return Vec3(42.0 * v, 45.0 * std::cos(u), 45.0 * std::sin(u)); });
  };
  std::vector<GateCase> cases = {
      scan("a cube as scan", [] { return box_of(Vec3::Constant(150.0)); }),
      scan("a brick as scan", [] { return box_of(Vec3(262.0, 100.0, 90.0)); }),
      scan("a ball as scan", [] { return ball_of(Vec3::Constant(130.0)); }),
      scan("an egg of a foot's size as scan", [] { return ball_of(Vec3(131.0, 50.0, 40.0)); }),
      scan("a pipe as scan", cylinder),
      last("a cube as last", [] { return box_of(Vec3::Constant(150.0)); }),
      last("a brick as last", [] { return box_of(Vec3(290.0, 110.0, 100.0)); }),
      last("a ball as last", [] { return ball_of(Vec3::Constant(145.0)); }),
      last("an egg of a last's size as last", [] { return ball_of(Vec3(145.0, 55.0, 50.0)); }),
      last("a pipe as last", cylinder),
      {"last against last", [](Job& job) { job.scan = job.last; }},
      {"foot against foot", [](Job& job) { job.last = job.scan; }},
      {"swapped roles", [](Job& job) { std::swap(job.scan, job.last); }},
      {"a foot as the last, 5 % larger", [](Job& job) { job.last = scaled(job.scan, 1.05); }},
      {"a last of the other side", [](Job& job) { job.last = mirrored_y(job.last); }},
      {"a foot of the other side", [](Job& job) { job.scan = mirrored_y(job.scan); }},
      {"the wrong side forced", [](Job& job) { job.settings.foot.side = Side::left; }},
      {"a child's foot (170 mm) in a man's last", [](Job& job) { job.scan = foot_of_length(170.0).mesh; }},
      {"a man's foot in a child's last",
       [](Job& job) {
         job.last = roomy_last(make_foot(man())).mesh;
         job.last = scaled(job.last, 0.65);
       }},
      // A Paris point is 2/3 cm (ISO/TS 19407:2015).
      {"a foot three sizes too long", [](Job& job) { job.scan = foot_of_length(282.0).mesh; }},
      {"a foot three sizes too short", [](Job& job) { job.scan = foot_of_length(242.0).mesh; }},
      part("the front half of a foot", [](const Vec3& v) { return v.x() < 131.0; }),
      part("the rear half of a foot", [](const Vec3& v) { return v.x() > 131.0; }),
      part("the inside half of a foot", [](const Vec3& v) { return v.y() < 0.0; }),
      part("the outside half of a foot", [](const Vec3& v) { return v.y() > 0.0; }),
      part("a foot without toes", [](const Vec3& v) { return v.x() > 215.0; }),
      part("a sole without an upper", [](const Vec3& v) { return v.z() > 12.0; }),
      {"both feet", [](Job& job) { job.scan = joined(job.scan, shifted(mirrored_y(job.scan), Vec3(0, 150, 0))); }},
      {"a foot bent double",
       [](Job& job) {
         for (Vec3& v : job.scan.vertices)
           if (v.x() > 130.0) v = Vec3(130.0, v.y(), v.z() + v.x() - 130.0);
       }},
      {"a foot pressed flat to a third",
       [](Job& job) {
         for (Vec3& v : job.scan.vertices) v.z() /= 3.0;
       }},
      {"a last at half its width",
       [](Job& job) {
         for (Vec3& v : job.last.vertices) v.y() /= 2.0;
       }},
  };
  for (const LengthUnit unit : {LengthUnit::centimetre, LengthUnit::metre, LengthUnit::inch}) {
    cases.push_back({fmt::format("the scan's unit forced to {}", unit_name(unit)),
                     [unit](Job& job) { job.settings.foot.units = unit; }});
    cases.push_back({fmt::format("the last's unit forced to {}", unit_name(unit)),
                     [unit](Job& job) { job.settings.last.units = unit; }});
  }
  return cases;
}

std::vector<GateCase> makehuman_gate_cases() {
  return {
      {"a hand as scan", [](Job& job) { job.scan = makehuman_part(BodyPart::hand); }},
      {"a head as scan", [](Job& job) { job.scan = makehuman_part(BodyPart::head); }},
      {"both feet of a body as scan", [](Job& job) { job.scan = makehuman_part(BodyPart::both_feet); }},
      {"a shoe as scan", [](Job& job) { job.scan = makehuman_shoe(); }},
      {"a hand as last", [](Job& job) { job.last = makehuman_part(BodyPart::hand); }},
      {"a head as last", [](Job& job) { job.last = makehuman_part(BodyPart::head); }},
      {"a shoe as last", [](Job& job) { job.last = makehuman_shoe(); }},
      {"a hand as scan and as last", [](Job& job) { job.scan = job.last = makehuman_part(BodyPart::hand); }},
      {"a shoe as scan and as last", [](Job& job) { job.scan = job.last = makehuman_shoe(); }},
  };
}

Job honest_job() {
  static const MadeFoot foot = make_foot(man());
  static const MadeLast last = roomy_last(foot);
  Job job;
  job.scan = foot.mesh;
  job.last = last.mesh;
  return job;
}

void none_is_clear(const std::vector<GateCase>& cases) {
  for (const GateCase& c : cases) {
    CAPTURE(c.name);
    Job job = honest_job();
    c.change(job);
    const Outcome outcome = outcome_of(job);
    note_row("gate.txt", c.name, outcome);
    if (outcome.fitting) {
      check_finite(*outcome.fitting);
      CHECK(outcome.fitting->assessment.verdict != Verdict::clear);
    } else {
      CAPTURE(outcome.refusal);
      CHECK(is_sentence(outcome.refusal));
    }
  }
}

}  // namespace

TEST_CASE("the honest pair is clear") {
  const Outcome outcome = outcome_of(honest_job());
  note_row("gate.txt", "the honest pair", outcome);
  REQUIRE(outcome.fitting);
  CHECK(outcome.fitting->assessment.verdict == Verdict::clear);
}

TEST_CASE("what is not a foot in its last is never clear") { none_is_clear(gate_cases()); }

TEST_CASE("hands, heads and shoes are never clear") {
  if (makehuman_is_here()) none_is_clear(makehuman_gate_cases());
}
