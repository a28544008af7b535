#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>
#include <stdexcept>

#include "demo/make_foot.h"
#include "geometry/iso_surface.h"
#include "geometry/parallel.h"
#include "geometry/section.h"
#include "near.h"

using namespace lastroom;
using lastroom::test::WithinMm;

namespace {

using Edge = std::pair<std::uint32_t, std::uint32_t>;

/// What a mesh's connections say, counted from its triangles only.
struct Topology {
  bool oriented_manifold = true;  ///< every edge has one triangle, or two that run through it opposite ways
  std::set<std::uint32_t> rim;
  long euler = 0;  ///< vertices - edges + triangles
  std::size_t pieces = 0;
};

Topology topology_of(const Mesh& mesh) {
  Topology topology;
  std::map<Edge, int> uses;
  std::vector<std::uint32_t> root(mesh.vertices.size());
  for (std::uint32_t v = 0; v < root.size(); ++v) root[v] = v;
  const auto find = [&](std::uint32_t v) {
    while (root[v] != v) v = root[v] = root[root[v]];
    return v;
  };
  for (const Triangle& t : mesh.triangles)
    for (std::size_t c = 0; c < 3; ++c) {
      ++uses[{t[c], t[(c + 1) % 3]}];
      root[find(t[c])] = find(t[0]);
    }
  long edges = 0;
  for (const auto& [edge, count] : uses) {
    if (count != 1 || edge.first == edge.second) topology.oriented_manifold = false;
    const bool two_sided = uses.count({edge.second, edge.first}) > 0;
    if (!two_sided) topology.rim.insert({edge.first, edge.second});
    edges += !two_sided || edge.first < edge.second;
  }
  for (std::uint32_t v = 0; v < root.size(); ++v) topology.pieces += find(v) == v;
  topology.euler = static_cast<long>(mesh.vertices.size()) - edges + static_cast<long>(mesh.triangles.size());
  return topology;
}

/// The widest that a skin of triangle edges up to about 1.5 x `edge_mm` strays from a ball of `radius_mm`.
double sag_mm(double edge_mm, double radius_mm) {
  const double half = 0.75 * edge_mm;
  return radius_mm - std::sqrt(radius_mm * radius_mm - half * half);
}

double nearest_vertex_mm(const Mesh& mesh, const Vec3& p) {
  double nearest = 1e9;
  for (const Vec3& v : mesh.vertices) nearest = std::min(nearest, (v - p).norm());
  return nearest;
}

/// Largest of `direction . v` among the vertices that `among` accepts.
template <typename Among>
double utmost(const Mesh& mesh, const Vec3& direction, Among among) {
  double best = -1e9;
  for (const Vec3& v : mesh.vertices)
    if (among(v)) best = std::max(best, direction.dot(v));
  return best;
}

const MadeFoot& default_foot() {
  static const MadeFoot foot = make_foot({});
  return foot;
}

FootShape ordered(double length_mm) {  // a foot of the default's proportions
  FootShape shape;
  const double scale = length_mm / shape.length_mm;
  for (double* part :
       {&shape.length_mm, &shape.joint_width_mm, &shape.joint_girth_mm, &shape.heel_width_mm, &shape.heel_to_joint_mm,
        &shape.big_toe_height_mm, &shape.fifth_toe_height_mm, &shape.arch_height_mm})
    *part *= scale;
  return shape;
}

struct Case {
  const char* name;
  FootShape shape;
  MadeFoot foot;
};

std::vector<Case> ordered_cases() {
  std::vector<Case> list;
  const auto add = [&](const char* name, FootShape shape = {}) -> FootShape& {
    list.push_back({name, shape, {}});
    return list.back().shape;
  };
  add("default");
  add("long second toe").second_toe_longer_mm = 6.0;
  add("bunion").bunion_mm = 10.0;
  add("low arch").arch_height_mm = 3.0;
  add("high arch").arch_height_mm = 28.0;
  FootShape& narrow = add("narrow");
  narrow.joint_width_mm = 92.0;
  narrow.joint_girth_mm = 229.0;
  narrow.heel_width_mm = 60.0;
  FootShape& wide = add("wide");
  wide.joint_width_mm = 109.0;
  wide.joint_girth_mm = 268.0;
  wide.heel_width_mm = 78.0;
  add("leg at 70").leg_height_mm = 70.0;
  add("leg at 250").leg_height_mm = 250.0;
  add("straight").bend_deg = 0.0;
  add("much bent").bend_deg = 16.0;
  add("short", ordered(200.0));
  add("long", ordered(310.0));
  add("coarse").edge_mm = 3.0;
  return list;
}

const std::vector<Case>& cases() {
  static const std::vector<Case> made = [] {
    std::vector<Case> list = ordered_cases();
    for (Case& c : list) c.foot = make_foot(c.shape);
    return list;
  }();
  return made;
}

}  // namespace

TEST_CASE("a ball's iso-surface has the ball's area and volume, and is a closed surface") {
  constexpr double kRadius_mm = 30.0, kEdge_mm = 2.0;
  const Mesh ball = iso_surface([](const Vec3& p) { return p.norm() - kRadius_mm; },
                                {Vec3::Constant(-35.0), Vec3::Constant(35.0)}, kEdge_mm);
  for (const Vec3& v : ball.vertices) CHECK(v.norm() == WithinMm{kRadius_mm, 1e-3});
  const Topology topology = topology_of(ball);
  CHECK(topology.oriented_manifold);
  CHECK(topology.rim.empty());
  CHECK(topology.euler == 2);
  // Chords run inside the ball, by the sag at most: area and volume are those of balls between R - sag and R.
  const double least = kRadius_mm - sag_mm(kEdge_mm, kRadius_mm);
  CHECK(area_mm2(ball) < 4.0 * std::numbers::pi * kRadius_mm * kRadius_mm);
  CHECK(area_mm2(ball) > 4.0 * std::numbers::pi * least * least);
  CHECK(volume_mm3(ball) < 4.0 / 3.0 * std::numbers::pi * std::pow(kRadius_mm, 3));
  CHECK(volume_mm3(ball) > 4.0 / 3.0 * std::numbers::pi * std::pow(least, 3));
}

TEST_CASE("an iso-surface cut by the box's top is open there, in one ring") {
  const Mesh bowl =
      iso_surface([](const Vec3& p) { return p.norm() - 30.0; }, {Vec3::Constant(-35.0), {35.0, 35.0, 4.3}}, 2.0);
  const Topology topology = topology_of(bowl);
  CHECK(topology.oriented_manifold);
  CHECK(topology.euler == 1);  // a disc
  CHECK(topology.rim.size() > 50);
  for (std::uint32_t v : topology.rim) CHECK(bowl.vertices[v].z() == 4.3);
}

TEST_CASE("two balls nearer to each other than the grid's edge still give a manifold") {
  for (double gap_mm : {0.1, 0.7, 1.5, 2.2}) {
    CAPTURE(gap_mm);
    const Vec3 apart = (15.0 + gap_mm / 2.0) * Vec3(1.0, 0.7, 0.4).normalized();
    const Mesh balls =
        iso_surface([&](const Vec3& p) { return std::min((p - apart).norm(), (p + apart).norm()) - 15.0; },
                    {Vec3::Constant(-40.0), Vec3::Constant(40.0)}, 2.0);
    const Topology topology = topology_of(balls);
    CHECK(topology.oriented_manifold);
    CHECK(topology.rim.empty());
  }
}

TEST_CASE("every foot is one disc of skin, open at the leg only, standing on the floor") {
  for (const Case& c : cases()) {
    CAPTURE(c.name);
    const MadeFoot& foot = c.foot;
    const Topology topology = topology_of(foot.mesh);
    CHECK(topology.oriented_manifold);
    CHECK(topology.pieces == 1);
    if (c.shape.edge_mm <= 2.0) CHECK(topology.euler == 1);  // no toe has grown to another: that would make a handle
    for (std::uint32_t v : topology.rim) CHECK(foot.mesh.vertices[v].z() == doctest::Approx(c.shape.leg_height_mm));
    CHECK(volume_mm3(foot.mesh) > 0.0);
    CHECK(bounds(foot.mesh).low.z() == WithinMm{0.0, 0.01});
    CHECK(bounds(foot.mesh).high.z() == WithinMm{c.shape.leg_height_mm, 1e-9});
  }
}

TEST_CASE("every foot has the measures that were ordered") {
  for (const Case& c : cases()) {
    CAPTURE(c.name);
    const MadeFoot& foot = c.foot;
    const Mesh& mesh = foot.mesh;
    const double length = c.shape.length_mm;
    // A vertex beside the true extreme falls short of it by the sag; toes and joints are rounder than 7 mm radius.
    const double sag = sag_mm(c.shape.edge_mm, 7.0);
    const double back = -utmost(mesh, -Vec3::UnitX(), [&](const Vec3& v) { return v.z() < 0.2 * length; });
    CHECK(back == WithinMm{0.0, sag});
    CHECK(utmost(mesh, Vec3::UnitX(), [](const Vec3&) { return true; }) == WithinMm{length, 0.5 + sag});
    const auto near_joint = [&](const Vec3& v) {
      return v.x() > 0.55 * length && v.x() < 0.78 * length && v.z() < 0.2 * length;
    };
    const double inside = utmost(mesh, Vec3::UnitY(), near_joint), outside = utmost(mesh, -Vec3::UnitY(), near_joint);
    CHECK(inside + outside == WithinMm{c.shape.joint_width_mm, 1.0 + sag});
    CHECK(inside == WithinMm{foot.first_joint.y(), sag});
    CHECK(outside == WithinMm{-foot.fifth_joint.y(), sag});
    CHECK(foot.first_joint.x() == WithinMm{c.shape.heel_to_joint_mm, 1.0});
    const auto heel = [&](const Vec3& v) {  // A2: heel breadth at 16 % of the length
      return std::abs(v.x() - 0.16 * length) < c.shape.edge_mm && v.z() < 40.0;
    };
    CHECK(utmost(mesh, Vec3::UnitY(), heel) + utmost(mesh, -Vec3::UnitY(), heel) ==
          WithinMm{c.shape.heel_width_mm, 1.0 + sag});
    Plane tape{foot.first_joint, (foot.first_joint - foot.fifth_joint).cross(Vec3::UnitZ()).normalized()};
    CHECK(girth_mm(section(mesh, tape), tape) == WithinMm{c.shape.joint_girth_mm, 3.0});
  }
}

TEST_CASE("the truth landmarks are skin, and utmost by their definitions") {
  for (const Case& c : cases()) {
    CAPTURE(c.name);
    const MadeFoot& foot = c.foot;
    const double length = c.shape.length_mm;
    CHECK(foot.heel.x() == WithinMm{0.0, 1e-9});
    CHECK(foot.heel.y() == WithinMm{0.0, 1e-9});
    CHECK(std::abs(foot.toe_tips[1].y()) < 0.2);  // the axis: 0.05 degree
    CHECK(foot.toe_tips[1].x() - foot.toe_tips[0].x() == WithinMm{c.shape.second_toe_longer_mm, 1.0});
    // No vertex of even triangles is further than an edge from a point of the skin.
    for (const Vec3& landmark : {foot.heel, foot.first_joint, foot.fifth_joint, foot.toe_tips[0], foot.toe_tips[1],
                                 foot.toe_tips[2], foot.toe_tips[3], foot.toe_tips[4]})
      CHECK(nearest_vertex_mm(foot.mesh, landmark) < c.shape.edge_mm);
    // A8 (from memory): fifth metatarsal head at about 63 to 65 % of the length; its most outside skin a little around.
    CHECK(foot.fifth_joint.x() / length > 0.62);
    CHECK(foot.fifth_joint.x() / length < 0.66);
    for (std::size_t toe = 0; toe + 1 < 5; ++toe) CHECK(foot.toe_tips[toe].y() > foot.toe_tips[toe + 1].y() + 8.0);
  }
}

TEST_CASE("five toes stand apart in a level cut through them") {
  for (const Case& c : cases()) {
    if (c.shape.edge_mm > 2.0) continue;  // the gap is narrower than such a grid can show
    CAPTURE(c.name);
    const MadeFoot& foot = c.foot;
    const double scale = c.shape.length_mm / 262.0;
    const auto outlines = section(foot.mesh, {{0.0, 0.0, 7.0 * scale}, Vec3::UnitZ()});
    for (std::size_t toe = 0; toe + 1 < 5; ++toe) {
      CAPTURE(toe);
      const Vec3 &one = foot.toe_tips[toe], &next = foot.toe_tips[toe + 1];
      // Straight across from toe to toe, a little behind the shorter one's tip: out of one, into the other.
      const double x = std::min(one.x(), next.x()) - 7.0 * scale;
      int crossings = 0;
      for (const SectionCurve& curve : outlines)
        for (std::size_t i = 0; i < curve.points_mm.size(); ++i) {
          const Vec3& a = curve.points_mm[i];
          const Vec3& b = curve.points_mm[(i + 1) % curve.points_mm.size()];
          crossings += (a.x() < x) != (b.x() < x) && a.y() < one.y() && a.y() > next.y();
        }
      CHECK(crossings == 2);
    }
  }
}

TEST_CASE("the default foot's ratios lie inside the 1st to 99th percentile of ANSUR II") {
  // Gordon et al. 2014, 2012 Anthropometric Survey of U.S. Army Personnel, NATICK/TR-15/007, public data, both sexes.
  const MadeFoot& foot = default_foot();
  const double length = bounds(foot.mesh).size().x();
  const double width = foot.first_joint.y() - foot.fifth_joint.y();
  const Plane tape{foot.first_joint, (foot.first_joint - foot.fifth_joint).cross(Vec3::UnitZ()).normalized()};
  const double girth = girth_mm(section(foot.mesh, tape), tape);
  const auto heel = [&](const Vec3& v) { return std::abs(v.x() - 0.16 * length) < 2.0 && v.z() < 40.0; };
  const double heel_width = utmost(foot.mesh, Vec3::UnitY(), heel) + utmost(foot.mesh, -Vec3::UnitY(), heel);
  const auto inside = [](double ratio, double first, double ninety_ninth) {
    return ratio >= first && ratio <= ninety_ninth;
  };
  CHECK(inside(length, 198.0, 323.0));
  CHECK(inside(foot.first_joint.x() / length, 0.704, 0.774));
  CHECK(inside(width / length, 0.336, 0.421));
  CHECK(inside(girth / length, 0.829, 1.033));
  CHECK(inside(girth / width, 2.306, 2.634));
  CHECK(inside(heel_width / width, 0.610, 0.845));
}

TEST_CASE("the arch is hollow on the inside and bears on the outside") {
  for (double arch_mm : {3.0, 16.0, 28.0}) {
    CAPTURE(arch_mm);
    FootShape shape;
    shape.arch_height_mm = arch_mm;
    const MadeFoot foot = make_foot(shape);
    const auto lowest_at = [&](double x, double y) {
      return -utmost(foot.mesh, -Vec3::UnitZ(),
                     [&](const Vec3& v) { return std::abs(v.x() - x) < 3.0 && std::abs(v.y() - y) < 3.0; });
    };
    CHECK(lowest_at(0.43 * 262.0, 24.0) > 0.7 * arch_mm);
    CHECK(lowest_at(0.43 * 262.0, -30.0) < 0.5);
    CHECK(lowest_at(0.12 * 262.0, 0.0) == WithinMm{0.0, 0.01});  // seat
    CHECK(lowest_at(0.72 * 262.0, 15.0) < 0.5);                  // tread
  }
}

TEST_CASE("a bunion stands out and turns the big toe outward") {
  FootShape shape;
  shape.bunion_mm = 10.0;
  const MadeFoot bunion = make_foot(shape);
  const MadeFoot& usual = default_foot();
  CHECK(bunion.first_joint.y() > usual.first_joint.y() + 5.0);
  const auto big_toe_deg = [](const MadeFoot& foot) {
    const Vec3 along = foot.toe_tips[0] - foot.first_joint;
    return std::atan2(along.y(), along.x()) * 180.0 / std::numbers::pi;
  };
  CHECK(big_toe_deg(bunion) < big_toe_deg(usual) - 5.0);
}

TEST_CASE("triangles are even and about as large as ordered") {
  const Mesh& mesh = default_foot().mesh;
  double sum = 0.0, sharpest_deg = 180.0;
  for (const Triangle& t : mesh.triangles)
    for (std::size_t c = 0; c < 3; ++c) {
      const Vec3 to_next = mesh.vertices[t[(c + 1) % 3]] - mesh.vertices[t[c]];
      const Vec3 to_last = mesh.vertices[t[(c + 2) % 3]] - mesh.vertices[t[c]];
      sum += to_next.norm();
      sharpest_deg = std::min(
          sharpest_deg, std::atan2(to_next.cross(to_last).norm(), to_next.dot(to_last)) * 180.0 / std::numbers::pi);
    }
  CHECK(sum / static_cast<double>(3 * mesh.triangles.size()) == WithinMm{2.0, 0.5});
  CHECK(sharpest_deg > 10.0);
}

TEST_CASE("the same foot twice, and with one thread, is the same to the last bit") {
  FootShape shape;
  shape.edge_mm = 3.0;
  const MadeFoot first = make_foot(shape), second = make_foot(shape);
  set_thread_limit(1);
  const MadeFoot alone = make_foot(shape);
  set_thread_limit(0);
  for (const MadeFoot* other : {&second, &alone}) {
    CHECK(other->mesh.vertices == first.mesh.vertices);
    CHECK(other->mesh.triangles == first.mesh.triangles);
    CHECK(other->first_joint == first.first_joint);
  }
}

TEST_CASE("measures that no foot has together are refused") {
  FootShape shape;
  shape.joint_width_mm = 80.0;
  shape.joint_girth_mm = 280.0;
  CHECK_THROWS_AS(make_foot(shape), std::invalid_argument);
}
