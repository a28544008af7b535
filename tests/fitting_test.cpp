// The whole job from file to verdict: on feet from outside the project, in every format and unit, moved and mirrored.
#include "fitting.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <limits>
#include <numbers>

#include "error.h"
#include "makehuman_feet.h"
#include "mesh_io/write_mesh.h"
#include "near.h"
#include "truth_cases.h"
#include "wearers.h"

namespace {

using namespace lastroom;
using namespace lastroom::test;
namespace fs = std::filesystem;

Mesh scaled(Mesh mesh, double factor) {
  for (Vec3& v : mesh.vertices) v *= factor;
  return mesh;
}

MeshFile file_of(const std::string& name, const std::string& bytes) {
  const fs::path path = fs::temp_directory_path() / ("lastroom_fitting_test_" + std::to_string(getpid()) + "_" + name);
  std::ofstream(path, std::ios::binary) << bytes;
  MeshFile file = read_mesh(path);
  fs::remove(path);
  return file;
}

MeshFile stl_file(const Mesh& mesh) { return file_of("last.stl", stl_binary(mesh)); }

const FittingSettings kStandard = {{}, {}, {}, told(Wearer::standard)};

Fitting fit(const MeshFile& scan, const MeshFile& last) {
  return fit_foot_in_last(scan, last, default_rules(), kStandard);
}

/// Joint girth computed plainly: where the mesh's edges cross the upright plane through both joints, and the length of
/// a rubber band around all crossing points by Cauchy's formula (perimeter of a convex body = its width, integrated
/// over half a turn). Nothing of the program's own sections.
double plain_joint_girth_mm(const MadeFoot& foot) {
  Vec3 along = foot.first_joint - foot.fifth_joint;
  along.z() = 0.0;
  along.normalize();
  const Vec3 normal(-along.y(), along.x(), 0.0);
  std::vector<Vec2> points;
  for (const Triangle& t : foot.mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 &a = foot.mesh.vertices[t[k]], &b = foot.mesh.vertices[t[(k + 1) % 3]];
      const double height_a = normal.dot(a - foot.first_joint), height_b = normal.dot(b - foot.first_joint);
      if ((height_a < 0) == (height_b < 0)) continue;
      const Vec3 cross = a + (b - a) * height_a / (height_a - height_b);
      points.push_back({along.dot(cross), cross.z()});
    }
  constexpr int kDirections = 3600;  // of a 250 mm band: an error far below 0.01 mm
  double girth_mm = 0.0;
  for (int i = 0; i < kDirections; ++i) {
    const double angle = std::numbers::pi * i / kDirections;
    const Vec2 direction(std::cos(angle), std::sin(angle));
    double least = 1e9, most = -1e9;
    for (const Vec2& p : points) {
      least = std::min(least, direction.dot(p));
      most = std::max(most, direction.dot(p));
    }
    girth_mm += (most - least) * std::numbers::pi / kDirections;
  }
  return girth_mm;
}

/// Longest toe from the heel along the axis to the second toe (A2), over all vertices.
double plain_length_mm(const MadeFoot& foot) {
  Vec3 axis = foot.toe_tips[1] - foot.heel;
  axis.z() = 0.0;
  axis.normalize();
  double least = 1e9, most = -1e9;
  for (const Vec3& v : foot.mesh.vertices) {
    if (v.z() > 60.0) continue;  // the calf bulges behind the heel
    least = std::min(least, axis.dot(v));
    most = std::max(most, axis.dot(v));
  }
  return most - least;
}

double p05_mm(const Fitting& fitting, Zone zone) {
  for (const ZoneVerdict& verdict : fitting.assessment.zones)
    if (verdict.clearance.zone == zone) return verdict.clearance.p05_mm;
  return std::nan("");
}

}  // namespace

TEST_CASE("MakeHuman's feet in every format, unit and pose, in a last lofted around them") {
  if (!makehuman_is_here()) return;
  struct Way {
    const char* extension;
    std::string (*write)(const Mesh&);
    LengthUnit unit;
  };
  // glTF is in metres by its own definition; `glb` converts.
  const std::vector<Way> ways = {{"stl", stl_binary, LengthUnit::millimetre},
                                 {"stl", stl_ascii, LengthUnit::inch},
                                 {"ply", ply_binary, LengthUnit::metre},
                                 {"ply", ply_ascii, LengthUnit::centimetre},
                                 {"obj", obj_text, LengthUnit::inch},
                                 {"off", off_text, LengthUnit::millimetre},
                                 {"glb", glb, LengthUnit::metre}};
  Dice dice(1);
  std::array<std::optional<Fitting>, 2> first_of_side;
  for (const Side side : {Side::left, Side::right}) {
    const MadeFoot foot = makehuman_foot(side);
    LastShape shape;
    shape.edge_mm = 3.0;
    const MadeLast made_last = make_last(foot, shape);
    const auto worn = [&](const Mesh& mesh) { return side == Side::left ? mirrored_y(mesh) : mesh; };
    const double length_mm = plain_length_mm(foot), girth_mm = plain_joint_girth_mm(foot);
    const MeshFile last = stl_file(moved(worn(made_last.mesh), dice.motion(300.0)));
    for (const Way& way : ways) {
      CAPTURE(way.extension);
      CAPTURE(unit_name(way.unit));
      CAPTURE(side_name(side));
      const bool converts = std::string(way.extension) == "glb";
      const Mesh posed = scaled(moved(worn(foot.mesh), dice.motion(300.0)), converts ? 1.0 : 1.0 / mm_per(way.unit));
      const Fitting fitting = fit(file_of(std::string("foot.") + way.extension, way.write(posed)), last);
      CHECK(fitting.foot.side == side);
      CHECK(fitting.last.side == side);
      CHECK(fitting.foot.facts.units == way.unit);
      // Landmarks are found within about an edge (2 mm) of the truth; a joint found that far off along the foot, where
      // the outline is at its widest and so nearly parallel to the axis, changes length by less and the girth by up to
      // the girth's slope there, about 1 mm per mm.
      CHECK(fitting.foot_measures.length_mm == WithinMm{length_mm, 1.5});
      CHECK(fitting.foot_measures.joint_girth.mm == WithinMm{girth_mm, 3.0});
      CHECK(fitting.registration.doubt_reason.empty());
      CHECK(fitting.assessment.verdict != Verdict::none);
      std::optional<Fitting>& first = first_of_side[side == Side::left ? 0 : 1];
      if (!first) first = fitting;
    }
  }
  // The two feet are one shape, mirrored; what differs is the pose each file was in (so the sampling and rounding).
  for (std::size_t zone = 0; zone < kZoneCount; ++zone) {
    CAPTURE(zone_name(static_cast<Zone>(zone)));
    CHECK(p05_mm(*first_of_side[0], static_cast<Zone>(zone)) ==
          WithinMm{p05_mm(*first_of_side[1], static_cast<Zone>(zone)), 0.3});
  }
}

TEST_CASE("moved and mirrored inputs give moved and mirrored answers") {
  const MadeFoot foot = make_foot({});
  const MadeLast last = make_last(foot, {});
  const Fitting still = fit(file_of("foot.ply", ply_binary(foot.mesh)), stl_file(last.mesh));
  Dice dice(7);
  for (const bool mirror : {false, true}) {
    CAPTURE(mirror);
    const auto worn = [&](const Mesh& mesh) { return mirror ? mirrored_y(mesh) : mesh; };
    const Fitting other = fit(file_of("foot.ply", ply_binary(moved(worn(foot.mesh), dice.motion(500.0)))),
                              stl_file(moved(worn(last.mesh), dice.motion(500.0))));
    CHECK(other.foot.side == (mirror ? Side::left : Side::right));
    CHECK(other.last.side == (mirror ? Side::left : Side::right));
    CHECK(other.foot_measures.length_mm == WithinMm{still.foot_measures.length_mm, 0.5});
    CHECK(other.foot_measures.joint_girth.mm == WithinMm{still.foot_measures.joint_girth.mm, 0.5});
    // float32 files round coordinates of 500 mm to 0.00003 mm; what is left is where extremes are found anew.
    for (std::size_t zone = 0; zone < kZoneCount; ++zone) {
      CAPTURE(zone_name(static_cast<Zone>(zone)));
      CHECK(p05_mm(other, static_cast<Zone>(zone)) == WithinMm{p05_mm(still, static_cast<Zone>(zone)), 0.2});
    }
  }
}

TEST_CASE("a foot and a last of opposite sides get no verdict") {
  const MadeFoot foot = make_foot({});
  const MadeLast last = make_last(foot, {});
  const Fitting fitting = fit(file_of("foot.ply", ply_binary(foot.mesh)), stl_file(mirrored_y(last.mesh)));
  CHECK(fitting.assessment.verdict == Verdict::none);
}

TEST_CASE("a straight last that was taken for the other foot's is turned over with all that is known of it") {
  const MadeFoot made = make_foot({});
  const ReadyFoot foot = ready_foot(file_of("foot.ply", ply_binary(made.mesh)), {});
  ReadyLast right = ready_last(stl_file(make_last(made, {}).mesh), {});
  right.last.chance_of_wrong_side = 0.5;
  REQUIRE(right.last.side == foot.foot.side);
  ReadyLast left;
  left.last = taken_for(Side::left, right.last);
  left.measures = measure_last(left.last);
  left.boxes = distance_boxes(left.last.mesh);
  REQUIRE(left.last.side == Side::left);
  const Fitting one = fit_foot_in_last(foot, right, default_rules(), kStandard);
  const Fitting other = fit_foot_in_last(foot, left, default_rules(), kStandard);
  CHECK(other.last.side == Side::right);
  CHECK(left.last.turned_over);
  CHECK(other.last_measures.joint_girth.mm == one.last_measures.joint_girth.mm);
  CHECK(other.clearance.clearance_mm == one.clearance.clearance_mm);  // mirrored twice: the same bytes
}

TEST_CASE("every search ends, whatever number came past the options") {
  FootShape shape;
  shape.edge_mm = 6.0;
  const MadeFoot made = make_foot(shape);
  LastShape last_shape;
  last_shape.edge_mm = 8.0;
  const MeshFile scan = file_of("foot.ply", ply_binary(made.mesh)), last = stl_file(make_last(made, last_shape).mesh);
  const ReadyFoot foot = ready_foot(scan, {});
  const ReadyLast ready = ready_last(last, {});
  const SignedDistance surface(ready.last.mesh);
  for (const double number :
       {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity(), -1e300, 1e300}) {
    CAPTURE(number);
    FittingSettings sock, error, tape, mark;
    sock.registration.sock_mm = error.registration.scan_error_mm = number;
    tape.assessment.tape_joint_mm = number;
    for (const FittingSettings& wrong : {sock, error, tape})
      CHECK_THROWS_AS(fit_foot_in_last(foot, ready, default_rules(), wrong), std::invalid_argument);
    mark.foot.landmarks.heel = mark.foot.landmarks.first_joint = Vec3(number, 0.0, 0.0);
    CHECK_THROWS_AS(ready_foot(scan, mark), InputError);
    // The search itself, were it begun with one: it ends, and says that it came to nothing.
    const Registration found = register_foot_in_last(foot.foot, foot.skin, ready.last, surface, sock.registration);
    CHECK((!found.converged || !found.doubt_reason.empty()));
  }
}
