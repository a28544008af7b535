#include "known_foot.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <queue>
#include <stdexcept>

#include "makehuman_feet.h"

namespace lastroom::test {
namespace {

constexpr double kFar = std::numeric_limits<double>::infinity();

std::vector<std::vector<std::uint32_t>> neighbours_of(const Mesh& mesh) {
  std::vector<std::vector<std::uint32_t>> neighbours(mesh.vertices.size());
  for (const Triangle& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      neighbours[t[k]].push_back(t[(k + 1) % 3]);
      neighbours[t[(k + 1) % 3]].push_back(t[k]);
    }
  return neighbours;
}

/// Every vertex goes to the toe whose tip is the nearest along the skin's edges (Dijkstra 1959, from five starts): the
/// way to a neighbour leads round the web.
struct NearestTip {
  std::vector<std::uint8_t> toe;
  std::vector<double> way_mm;
};

NearestTip nearest_tips(const Mesh& mesh, const std::array<Vec3, 5>& tips) {
  const auto neighbours = neighbours_of(mesh);
  NearestTip found{std::vector<std::uint8_t>(mesh.vertices.size(), kNoToe),
                   std::vector<double>(mesh.vertices.size(), kFar)};
  using Step = std::pair<double, std::uint32_t>;
  std::priority_queue<Step, std::vector<Step>, std::greater<>> open;
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const auto nearer = [&](const Vec3& a, const Vec3& b) {
      return (a - tips[toe]).squaredNorm() < (b - tips[toe]).squaredNorm();
    };
    const auto start = static_cast<std::uint32_t>(std::min_element(mesh.vertices.begin(), mesh.vertices.end(), nearer) -
                                                  mesh.vertices.begin());
    found.toe[start] = static_cast<std::uint8_t>(toe);
    found.way_mm[start] = 0.0;
    open.push({0.0, start});
  }
  while (!open.empty()) {
    const auto [way_mm, v] = open.top();
    open.pop();
    if (way_mm > found.way_mm[v]) continue;
    for (std::uint32_t n : neighbours[v]) {
      const double there_mm = way_mm + (mesh.vertices[n] - mesh.vertices[v]).norm();
      if (there_mm >= found.way_mm[n]) continue;
      found.way_mm[n] = there_mm;
      found.toe[n] = found.toe[v];
      open.push({there_mm, n});
    }
  }
  return found;
}

/// Proportions within the 1st to 99th percentile of ANSUR II (A1), the rest as the trade describes feet.
FootShape random_shape(BodyAge age, Dice& dice) {
  FootShape shape;
  const bool child = age == BodyAge::child;  // broader for its length, with a lower arch (our choice)
  shape.length_mm = child ? 225.0 : dice.uniform(215.0, 305.0);
  shape.joint_width_mm = shape.length_mm * dice.normal(child ? 0.395 : 0.376, 0.013);
  shape.joint_girth_mm = shape.joint_width_mm * dice.normal(2.47, 0.05);
  shape.heel_width_mm = shape.joint_width_mm * dice.normal(0.715, 0.035);
  shape.heel_to_joint_mm = shape.length_mm * dice.normal(0.739, 0.01);
  shape.big_toe_height_mm = dice.uniform(20.0, 24.0) * shape.length_mm / 260.0;
  shape.fifth_toe_height_mm = dice.uniform(14.0, 17.0) * shape.length_mm / 260.0;
  shape.arch_height_mm = child ? dice.uniform(3.0, 9.0) : dice.uniform(4.0, 26.0);
  shape.second_toe_longer_mm = dice.uniform(-9.0, 6.0);
  shape.bend_deg = dice.normal(8.3, 3.0);
  shape.leg_height_mm = dice.uniform(120.0, 150.0);
  shape.edge_mm = 1.6 * shape.length_mm / 260.0;  // half of the gap between two toes
  return shape;
}

MadeFoot random_made(BodyAge age, Dice& dice) {
  for (;;) try {
      return make_foot(random_shape(age, dice));
    } catch (const std::invalid_argument&) {  // no foot has these measures together: draw another
    }
}

/// Three bodies mixed at random, of one sex and age, and up to all of the way from the base to them; weight, muscle and
/// ankles.
std::vector<BodyTarget> random_body(BodyAge age, Dice& dice) {
  constexpr std::array kOrigins = {"african", "asian", "caucasian"};
  constexpr std::array kAmounts = {"min", "average", "max"};
  const std::string sex = dice.chance(0.5) ? "female" : "male";
  const std::string years = age == BodyAge::child ? "child" : dice.chance(0.5) ? "young" : "old";
  std::array<double, 3> weights;
  for (double& w : weights) w = dice.uniform(0.05, 1.0);
  const double whole = dice.uniform(0.3, 1.0) / (weights[0] + weights[1] + weights[2]);
  std::vector<BodyTarget> targets;
  for (std::size_t i = 0; i < 3; ++i)
    targets.push_back({std::string("macrodetails/") + kOrigins[i] + "-" + sex + "-" + years, weights[i] * whole});
  const auto amount = [&] { return std::string(kAmounts[static_cast<std::size_t>(dice.among(3))]); };
  const std::string muscle = amount(), weight = amount();
  targets.push_back({"macrodetails/universal-" + sex + "-" + years + "-" + muscle + "muscle-" + weight + "weight",
                     dice.uniform(0.3, 1.0)});
  targets.push_back({dice.chance(0.5) ? "measure/measure-ankle-increase" : "measure/measure-ankle-decrease",
                     dice.uniform(0.0, 1.0)});
  return targets;
}

/// Some targets slide the skin along the foot, so that what lay over the first head in the base lies before the bulge
/// of the new foot's own head. Where the two differ by more than 2 % of length (our choice: half of what A1's spread of
/// 70 to 77 % leaves) the truth isn't known, and another body is drawn.
MadeFoot random_makehuman(BodyAge age, Dice& dice) {
  for (;;) {
    const MadeFoot foot = makehuman_foot(Side::right, 150.0, random_body(age, dice));
    const double length_mm = foot.toe_tips[0].x();
    Vec3 bulge = foot.heel;
    for (const Vec3& p : foot.mesh.vertices)
      if (p.x() > 0.66 * length_mm && p.x() < 0.80 * length_mm && p.z() < 0.2 * length_mm && p.y() > bulge.y())
        bulge = p;
    if (std::abs(bulge.x() - foot.first_joint.x()) < 0.02 * length_mm) return foot;
  }
}

}  // namespace

double smooth_step(double from, double to, double x) {
  const double t = std::clamp((x - from) / (to - from), 0.0, 1.0);
  return t * t * (3.0 - 2.0 * t);
}

KnownFoot known(const MadeFoot& made) {
  KnownFoot foot;
  foot.skin = made.mesh;
  foot.heel = made.heel;
  foot.first_joint = made.first_joint;
  foot.fifth_joint = made.fifth_joint;
  foot.toe_tips = made.toe_tips;
  const NearestTip nearest = nearest_tips(made.mesh, made.toe_tips);
  foot.toe = nearest.toe;
  // A toe reaches back to where its skin first meets a neighbour's.
  std::array<double, 5> reach_mm;
  reach_mm.fill(kFar);
  std::array<Vec3, 5> web = {};
  for (const Triangle& t : made.mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const std::uint32_t a = t[k], b = t[(k + 1) % 3];
      if (foot.toe[a] == foot.toe[b]) continue;
      for (std::uint32_t v : {a, b})
        if (const std::size_t toe = foot.toe[v]; toe < 5 && nearest.way_mm[v] < reach_mm[toe])
          reach_mm[toe] = nearest.way_mm[v], web[toe] = made.mesh.vertices[v];
    }
  foot.share.resize(foot.toe.size());
  for (std::size_t v = 0; v < foot.toe.size(); ++v) {
    const std::size_t toe = foot.toe[v];
    foot.share[v] = toe < 5 ? 1.0 - nearest.way_mm[v] / reach_mm[toe] : 0.0;
    if (foot.share[v] <= 0.0) foot.share[v] = 0.0, foot.toe[v] = kNoToe;
  }
  // Toes point from where their skin begins to their tips.
  for (std::size_t toe = 0; toe < 5; ++toe) {
    Vec3 sum = Vec3::Zero();
    double count = 0.0;
    for (std::size_t v = 0; v < foot.toe.size(); ++v)
      if (foot.toe[v] == toe && foot.share[v] < 0.3) sum += foot.skin.vertices[v], count += 1.0;
    if (count == 0.0) throw std::runtime_error("a toe of this foot has no skin of its own");
    foot.toe_roots[toe] = sum / count;
    const Vec3 ahead = toe_direction(foot, toe);
    foot.toe_roots[toe] += (web[toe] - foot.toe_roots[toe]).dot(ahead) * ahead;
  }
  return foot;
}

KnownFoot random_foot(FootSource source, BodyAge age, Dice& dice) {
  KnownFoot foot = known(source == FootSource::made ? random_made(age, dice) : random_makehuman(age, dice));
  const double wanted_mm = age == BodyAge::child ? dice.uniform(120.0, 200.0) : dice.uniform(210.0, 305.0);
  if (source == FootSource::made && age == BodyAge::grown_up) return foot;
  const double scale = wanted_mm / known_length_mm(foot), broader = dice.uniform(0.95, 1.06),
               higher = dice.uniform(0.95, 1.06);
  warp(foot, [&](const Vec3& p) { return Vec3(scale * p.cwiseProduct(Vec3(1.0, broader, higher))); });
  return foot;
}

void warp(KnownFoot& foot, const std::function<Vec3(const Vec3&)>& move) {
  for (Vec3& p : foot.skin.vertices) p = move(p);
  for (Vec3* p : {&foot.heel, &foot.first_joint, &foot.fifth_joint}) *p = move(*p);
  for (std::size_t toe = 0; toe < 5; ++toe) {
    foot.toe_tips[toe] = move(foot.toe_tips[toe]);
    foot.toe_roots[toe] = move(foot.toe_roots[toe]);
  }
}

void warp_toe(KnownFoot& foot, std::size_t toe, const std::function<Vec3(const Vec3&, double)>& move) {
  for (std::size_t v = 0; v < foot.toe.size(); ++v)
    if (foot.toe[v] == toe) foot.skin.vertices[v] = move(foot.skin.vertices[v], foot.share[v]);
  foot.toe_tips[toe] = move(foot.toe_tips[toe], 1.0);
}

Vec3 toe_direction(const KnownFoot& foot, std::size_t toe) {
  return (foot.toe_tips[toe] - foot.toe_roots[toe]).cwiseProduct(Vec3(1, 1, 0)).normalized();
}

void settle_extremes(KnownFoot& foot) {
  const double length_mm = (foot.toe_tips[1] - foot.heel).norm();
  for (int turn = 0; turn < 2; ++turn) {
    const Vec3 ahead = (foot.toe_tips[1] - foot.heel).cwiseProduct(Vec3(1, 1, 0)).normalized();
    std::array<double, 5> reached;
    reached.fill(-kFar);
    double rearmost = kFar;
    const Vec3 old_heel = foot.heel;
    for (std::size_t v = 0; v < foot.toe.size(); ++v) {
      const Vec3& p = foot.skin.vertices[v];
      const double along = ahead.dot(p);
      if (const std::size_t toe = foot.toe[v]; toe < 5 && along > reached[toe])
        reached[toe] = along, foot.toe_tips[toe] = p;
      if (along < rearmost && std::abs(p.z() - old_heel.z()) < 0.1 * length_mm) rearmost = along, foot.heel = p;
    }
  }
}

double known_length_mm(const KnownFoot& foot) {
  const Vec3 ahead = (foot.toe_tips[1] - foot.heel).cwiseProduct(Vec3(1, 1, 0)).normalized();
  double longest = 0.0;
  for (const Vec3& tip : foot.toe_tips) longest = std::max(longest, ahead.dot(tip - foot.heel));
  return longest;
}

}  // namespace lastroom::test
