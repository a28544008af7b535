#include "standing_cases.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <numbers>

#include "kinds_of_feet.h"
#include "made.h"
#include "zones/toes.h"

namespace lastroom::test {
namespace {

struct PairToStand {
  TruthCase pair;
  std::string kind_of_foot, kind_of_last;
  std::vector<std::uint8_t> cut;
};

/// A demo last's flat top looks straight up, higher than any ridge over the toes.
std::vector<std::uint8_t> flat_top(const Mesh& last, double above_mm) {
  std::vector<std::uint8_t> cut(last.triangles.size(), 0);
  for (std::size_t i = 0; i < cut.size(); ++i) {
    const Triangle& t = last.triangles[i];
    const Vec3 &a = last.vertices[t[0]], &b = last.vertices[t[1]], &c = last.vertices[t[2]];
    cut[i] = (a + b + c).z() / 3.0 > above_mm && (b - a).cross(c - a).normalized().z() > 0.99;
  }
  return cut;
}

/// Where the greatest value of a concave function lies.
template <typename Function>
double highest_at(const Function& of, double from, double to) {
  while (to - from > 1e-5) {
    const double left = from + (to - from) / 3.0, right = to - (to - from) / 3.0;
    (of(left) < of(right) ? from : to) = of(left) < of(right) ? left : right;
  }
  return 0.5 * (from + to);
}

/// As it stands on a floor: on the facet of its convex hull under the line of weight, that is the plane beneath all of
/// its skin which is highest there. A body model stands on its toes by a degree or two, and a bunion was pulled out
/// without its sole. The line of weight: 40 % of the length from the heel (our choice).
MadeFoot on_the_floor(MadeFoot foot) {
  constexpr double kWeightAt = 0.4, kSoleBelow_mm = 40.0, kSteepest = 0.15;
  const Vec3 weight = foot.heel + kWeightAt * (foot.toe_tips[1] - foot.heel);
  std::vector<Vec3> low;
  for (const Vec3& v : foot.mesh.vertices)
    if (v.z() < kSoleBelow_mm) low.push_back(v - weight);
  const auto height = [&](double along, double across) {
    double least = 1e9;
    for (const Vec3& v : low) least = std::min(least, v.z() - along * v.x() - across * v.y());
    return least;
  };
  const auto best_across = [&](double along) {
    return highest_at([&](double across) { return height(along, across); }, -kSteepest, kSteepest);
  };
  const double along =
      highest_at([&](double slope) { return height(slope, best_across(slope)); }, -kSteepest, kSteepest);
  Motion level = Motion::Identity();
  const Vec3 up = Vec3(-along, -best_across(along), 1.0).normalized();
  level.linear() = Eigen::Quaterniond::FromTwoVectors(up, Vec3::UnitZ()).toRotationMatrix();
  level.translation() = weight - level.linear() * weight;
  level.pretranslate(Vec3(0.0, 0.0, -bounds(moved(foot.mesh, level)).low.z()));
  foot.mesh = moved(std::move(foot.mesh), level);
  for (Vec3* p : {&foot.heel, &foot.first_joint, &foot.fifth_joint}) *p = level * *p;
  for (Vec3& tip : foot.toe_tips) tip = level * tip;
  return foot;
}

struct FootToStand {
  MadeFoot foot;
  std::string kind;
};

MadeFoot as_made(KnownFoot known) {
  double floor_mm = 0.0;
  for (const Vec3& v : known.skin.vertices) floor_mm = std::min(floor_mm, v.z());
  const Vec3 up(0.0, 0.0, -floor_mm);
  MadeFoot foot;
  for (Vec3& v : known.skin.vertices) v += up;
  foot.mesh = std::move(known.skin);
  foot.heel = known.heel + up;
  foot.first_joint = known.first_joint + up;
  foot.fifth_joint = known.fifth_joint + up;
  for (std::size_t toe = 0; toe < 5; ++toe) foot.toe_tips[toe] = known.toe_tips[toe] + up;
  return foot;
}

std::string name_of(FootSource source) { return source == FootSource::made ? "made, " : "makehuman, "; }

/// Of seeds two are of plain feet, then two of a kind, one of each source.
bool is_of_a_kind(unsigned seed) { return seed / 2 % 2 == 1; }

FootToStand foot_of_a_kind(unsigned seed, FootSource source, Dice& dice) {
  const FootKind& kind = foot_kinds()[seed / 4 % foot_kinds().size()];
  KnownFoot known = random_foot(source, kind.age, dice);
  kind.make(known, dice);
  return {on_the_floor(as_made(std::move(known))), name_of(source) + std::string(kind.name)};
}

FootToStand foot_to_stand(unsigned seed, FootSource source, Dice& dice) {
  if (is_of_a_kind(seed)) return foot_of_a_kind(seed, source, dice);
  return {on_the_floor(random_foot(dice, source)), name_of(source) + "plain"};
}

/// Roomier all round by what so much more girth is, and at the toes as one takes it who wants room.
LastShape roomier(LastShape shape, double more_girth_mm) {
  const double more_mm = more_girth_mm / (2.0 * std::numbers::pi);
  LastRoom& room = shape.room;
  for (double* mm : {&room.waist, &room.instep, &room.inside_joint, &room.outside_joint, &room.joint_top, &room.arch})
    *mm += more_mm;
  for (double* mm : {&room.toe_top, &room.fifth_toe_top}) *mm = std::max(*mm, 5.0) + more_mm;
  for (double* mm : {&room.big_toe_side, &room.fifth_toe_side}) *mm = std::max(*mm, 3.0) + more_mm;
  shape.allowance_mm = std::max(shape.allowance_mm, 18.0) + more_mm;
  return shape;
}

/// Shorter wearers are children, whose lasts are no lower by a grown wearer's heel and cone (the bounds are our own).
constexpr double kChildrenBelow_mm = 210.0, kGrown_mm = 260.0;

PairToStand around_the_foot(unsigned seed, FootSource source, double more_girth_mm) {
  PairToStand result;
  result.pair = truth_case(seed, source);
  result.kind_of_foot = name_of(source) + "plain";
  MadeFoot& foot = result.pair.foot;
  LastShape& shape = result.pair.last_shape;
  if (is_of_a_kind(seed)) {
    Dice dice(seed + 2000000u);
    FootToStand stands = foot_of_a_kind(seed, source, dice);
    foot = std::move(stands.foot);
    result.kind_of_foot = std::move(stands.kind);
  }
  if (const double length_mm = (foot.toe_tips[1] - foot.heel).head<2>().norm(); length_mm < kChildrenBelow_mm)
    for (double* mm : {&shape.heel_height_mm, &shape.toe_spring_mm, &shape.cone_height_mm})
      *mm *= length_mm / kGrown_mm;
  if (more_girth_mm > 0.0) shape = roomier(shape, more_girth_mm);
  if (is_of_a_kind(seed) || more_girth_mm > 0.0) result.pair.last = make_last(foot, shape);
  foot = on_the_floor(std::move(foot));
  result.kind_of_last = "around the foot";
  if (!shape.open_at_top) result.cut = flat_top(result.pair.last.mesh, 0.8 * shape.cone_height_mm);
  return result;
}

void take(PairToStand& result, TradeLast last) {
  result.pair.last = std::move(last.made);
  result.cut = std::move(last.cut);
}

/// By so much more in every girth, the same in length.
TradeNumbers roomier(TradeNumbers numbers, double more_girth_mm) {
  Grading grading;
  grading.fitting_mm = more_girth_mm;
  return graded(numbers, grading, 0, 1);
}

PairToStand from_numbers(unsigned seed, FootSource source, double more_girth_mm) {
  Dice dice(seed + 3000000u);
  PairToStand result;
  FootToStand stands = foot_to_stand(seed, source, dice);
  result.pair.foot = std::move(stands.foot);
  result.kind_of_foot = std::move(stands.kind);
  result.kind_of_last = "from numbers";
  const TradeNumbers numbers = made_to_measure(measure_foot(prepared(result.pair.foot)), dice);
  take(result, trade_last(roomier(numbers, more_girth_mm)));
  return result;
}

/// A foot of ANSUR II's mean proportions (A1), for which the base last is made. A model is graded for grown wearers or
/// for children, not from one to the other (common practice, no source; the bounds are our own).
FootMeasures sample_foot(double wearers_length_mm, Dice& dice) {
  constexpr double kChild_ratio = 0.67;
  FootMeasures m;
  m.length_mm = (wearers_length_mm < kChildrenBelow_mm ? kChild_ratio : 1.0) * dice.uniform(245.0, 265.0);
  m.joint_girth.mm = 0.93 * m.length_mm;
  m.waist_girth.mm = 0.92 * m.length_mm;
  m.instep_girth.mm = 0.97 * m.length_mm;
  m.joint_width_mm = m.joint_girth.mm / 2.48;
  m.heel_width_mm = 0.70 * m.joint_width_mm;
  m.heel_to_joint_mm = 0.74 * m.length_mm;
  m.heel_to_fifth_joint_mm = 0.635 * m.length_mm;
  m.big_toe_height_mm = 0.084 * m.length_mm;
  return m;
}

/// The size nearest to the foot's length and the fitting nearest to its joint girth; or one off, on purpose.
PairToStand from_stock(unsigned seed, FootSource source, double more_girth_mm) {
  Dice model(seed / 8 + 5000000u), dice(seed + 6000000u);
  PairToStand result;
  FootToStand stands = foot_to_stand(seed, source, dice);
  result.pair.foot = std::move(stands.foot);
  result.kind_of_foot = std::move(stands.kind);
  const FootMeasures foot = measure_foot(prepared(result.pair.foot));
  const FootMeasures sample = sample_foot(foot.length_mm, model);
  const TradeNumbers base = made_to_measure(sample, model);
  Grading grading;
  grading.fitting_mm = model.uniform(4.0, 7.0);
  // What the base last adds to its own foot it shall add to this one.
  int sizes = static_cast<int>(std::lround((foot.length_mm - sample.length_mm) / grading.size_mm));
  const double short_of_mm = foot.joint_girth.mm - sample.joint_girth.mm - sizes * grading.girth_per_size_mm;
  int fittings = static_cast<int>(std::lround(short_of_mm / grading.fitting_mm));
  result.kind_of_last = "nearest size";
  if (dice.chance(0.5)) {
    constexpr std::array<const char*, 4> kOff = {"one size longer", "one size shorter", "one fitting wider",
                                                 "one fitting narrower"};
    const int off = dice.among(4);
    result.kind_of_last = kOff[static_cast<std::size_t>(off)];
    (off < 2 ? sizes : fittings) += off % 2 == 0 ? 1 : -1;
  }
  take(result, trade_last(roomier(graded(base, grading, sizes, fittings), more_girth_mm)));
  return result;
}

PairToStand drawn(LastFamily family, unsigned seed, FootSource source, double more_girth_mm) {
  switch (family) {
    case LastFamily::around_the_foot:
      return around_the_foot(seed, source, more_girth_mm);
    case LastFamily::from_numbers:
      return from_numbers(seed, source, more_girth_mm);
    case LastFamily::graded:
      return from_stock(seed, source, more_girth_mm);
  }
  return {};
}

}  // namespace

StandingCase standing_case(LastFamily family, unsigned seed, double more_girth_mm, int others) {
  static const bool makehuman = std::getenv("LASTROOM_MAKEHUMAN") != nullptr;
  const FootSource source = makehuman && seed % 2 == 0 ? FootSource::makehuman : FootSource::made;
  PairToStand drawn_pair = drawn(family, seed, source, more_girth_mm);
  TruthCase& pair = drawn_pair.pair;
  pair.seed = seed;
  pair.source = source;
  Foot foot = prepared(pair.foot);
  LastWall wall(pair.last.mesh, std::move(drawn_pair.cut));
  SettledTruth settled = settled_truth(foot, pair.last, wall, seed, others);
  pair.truth = settled.pose;
  return {std::move(pair),
          std::move(drawn_pair.kind_of_foot),
          std::move(drawn_pair.kind_of_last),
          std::move(foot),
          std::move(wall),
          std::move(settled)};
}

Walls walls_around(const LastWall& wall, const SkinMap& skin, const std::vector<Vec3>& at_mm) {
  Walls walls(at_mm.size());
  std::optional<LastWall::Nearest> before;  // a neighbour's more often than not
  for (std::size_t i = 0; i < at_mm.size(); ++i) {
    if (skin.zone[i] == Zone::none || at_mm[i].z() > wall.top_mm()) continue;
    before = before ? wall.at(at_mm[i], *before) : wall.at(at_mm[i]);
    if (!before->on_cut) walls[i] = before;
  }
  return walls;
}

std::map<Zone, TrueRoom> true_rooms(const Mesh& foot, const SkinMap& skin, const Walls& walls) {
  const std::vector<double> areas = vertex_areas_mm2(foot);
  std::map<Zone, std::vector<std::pair<double, double>>> by_zone;
  for (std::size_t i = 0; i < walls.size(); ++i)
    if (walls[i] && areas[i] > 0.0) by_zone[skin.zone[i]].push_back({-walls[i]->outside_mm, areas[i]});
  std::map<Zone, TrueRoom> rooms;
  for (auto& [zone, room] : by_zone) {
    std::sort(room.begin(), room.end());
    double whole = 0.0;
    for (const auto& [mm, area] : room) whole += area;
    const auto quantile_mm = [&room = room, whole](double share) {
      double covered = 0.0;
      for (const auto& [mm, area] : room)
        if ((covered += area) >= share * whole) return mm;
      return room.back().first;
    };
    rooms[zone] = {quantile_mm(0.05), quantile_mm(0.5)};
  }
  return rooms;
}

Displacement displacement(const Foot& foot, const SkinMap& skin, const std::vector<Vec3>& truth_mm,
                          const std::vector<Vec3>& found_mm) {
  const Hinge hinge = hinge_in_foot(foot.landmarks);
  const Vec3 forward = Vec3::UnitZ().cross(hinge.axis);
  const std::vector<double> areas = vertex_areas_mm2(foot.mesh);
  Displacement result;
  double rear_mm2 = 0.0, fore_mm2 = 0.0;
  for (std::size_t i = 0; i < areas.size(); ++i) {
    if (skin.zone[i] == Zone::none) continue;
    const Vec3 off = found_mm[i] - truth_mm[i];
    const bool fore = (foot.mesh.vertices[i] - hinge.point_mm).dot(forward) > 0.0;
    (fore ? result.fore_rms_mm : result.rear_rms_mm) += areas[i] * off.squaredNorm();
    (fore ? fore_mm2 : rear_mm2) += areas[i];
    if (!fore) result.rear_mean_mm += areas[i] * off;
  }
  result.rear_rms_mm = std::sqrt(result.rear_rms_mm / rear_mm2);
  result.fore_rms_mm = std::sqrt(result.fore_rms_mm / fore_mm2);
  result.rear_mean_mm /= rear_mm2;
  return result;
}

}  // namespace lastroom::test
