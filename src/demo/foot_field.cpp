#include "demo/foot_field.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

using Bone = FootField::Bone;

// The designed foot, drawn by eye after anatomy: our choice. FootShape's defaults belong to it.
constexpr double kLength_mm = 262.0, kJointWidth_mm = 100.0, kHeelWidth_mm = 69.0, kHeelToJoint_mm = 191.0,
                 kBend_deg = 8.4;

struct Ball {
  double x, y, z, radius;
};

double ramp(double from, double to, double x) {  // 0 .. 1, smooth at both ends
  const double t = std::clamp((x - from) / (to - from), 0.0, 1.0);
  return t * t * (3.0 - 2.0 * t);
}

/// From the designed foot to the one ordered: where a ball of flesh goes.
struct Placing {
  const FootShape& shape;
  const FootKnobs& knobs;
  double scale = shape.length_mm / kLength_mm;

  double x(double designed) const {
    const double joint = shape.heel_to_joint_mm + knobs.heel_to_joint_mm;
    const double length = shape.length_mm + knobs.length_mm;
    return designed < kHeelToJoint_mm
               ? designed * joint / kHeelToJoint_mm
               : joint + (designed - kHeelToJoint_mm) * (length - joint) / (kLength_mm - kHeelToJoint_mm);
  }
  double breadth(double designed_x) const {
    const double heel = (shape.heel_width_mm + knobs.heel_width_mm) / kHeelWidth_mm;
    const double joint = (shape.joint_width_mm + knobs.joint_width_mm) / kJointWidth_mm;
    return heel + (joint - heel) * ramp(50.0, 165.0, designed_x);
  }
  /// `rise`: how much of the joint's extra height this ball takes. Bottoms stay where they are.
  Ball operator()(const Ball& designed, double rise) const {
    const double wider = breadth(designed.x);
    const double bend = (shape.bend_deg - kBend_deg) * std::numbers::pi / 180.0;
    const double bow = bend / 2.0 * designed.x * (1.0 - designed.x / kLength_mm) * scale;
    const double thicker = std::sqrt(wider * scale);
    const double grow = rise * knobs.joint_height_mm / 2.0;
    return {x(designed.x), designed.y * wider - bow, designed.z * thicker + grow, designed.radius * thicker + grow};
  }
};

Bone bone(const Ball& a, const Ball& b, double melt_mm) {
  const Vec3 from(a.x, a.y, a.z), along = Vec3(b.x, b.y, b.z) - from;
  return {from, along, 1.0 / along.squaredNorm(), a.radius, b.radius - a.radius, melt_mm};
}

double distance(const Bone& bone, const Vec3& p) {
  const Vec3 q = p - bone.from;
  const double t = std::clamp(q.dot(bone.along) * bone.inverse_length_squared, 0.0, 1.0);
  return (q - t * bone.along).norm() - (bone.radius + t * bone.radius_growth);
}

/// Polynomial smooth minimum (Quilez): exact where the two differ by more than `melt_mm`.
double melted(double a, double b, double melt_mm) {
  const double h = std::max(melt_mm - std::abs(a - b), 0.0);
  return std::min(a, b) - h * h / (4.0 * melt_mm);
}

/// Depth of the fold around a nail: a ring along a rounded rectangle, seen from above.
double fold_mm(const FootField::Nail& nail, const Vec3& p) {
  const Vec3 q = p - nail.middle;
  const double u = q.dot(nail.along) / nail.half_length, v = q.dot(nail.across) / nail.half_width;
  if (std::abs(u) > 1.4 || std::abs(v) > 1.4 || q.dot(nail.up) < 0.0) return 0.0;
  const double off = (std::sqrt(std::sqrt(u * u * u * u + v * v * v * v)) - 1.0) / 0.3;
  const double ring = std::max(1.0 - off * off, 0.0);
  return 0.06 * nail.half_width * ring * ring;
}

// x, y, z, radius in mm of the designed foot, big toe's ray first.
constexpr std::array<Ball, 5> kBases = {
    {{108, 16, 40, 21}, {112, 7, 48, 22}, {112, -3, 41, 21}, {110, -13, 31, 20}, {108, -27, 15.5, 19}}};
constexpr std::array<Ball, 5> kHeads = {
    {{187, 22, 16, 19}, {194, 4, 16, 16}, {188, -13, 15, 15}, {179, -28, 13, 13.5}, {167, -40.5, 12.5, 14.5}}};
constexpr std::array<Ball, 5> kWebs = {
    {{208, 24, 14, 13.5}, {210, 4, 14, 9.8}, {204, -13.5, 13, 9.4}, {195, -29, 12, 9.0}, {184, -42.5, 11, 9.0}}};
constexpr std::array<Ball, 5> kKnuckles = {
    {{216, 24.5, 14, 12.5}, {227, 2.5, 15, 8.8}, {221, -15.5, 13.5, 8.4}, {211, -31.5, 12, 8}, {198, -45.5, 10, 8}}};
constexpr std::array<Ball, 5> kLastJoints = {
    {{232, 25, 10.8, 11.4}, {241, 0.5, 10, 8}, {233, -17.5, 9.2, 7.7}, {221, -33.5, 8.4, 7.4}, {206, -48, 7.5, 7.4}}};
constexpr std::array<Ball, 5> kPads = {
    {{250, 24, 9.5, 11.8}, {249, 0, 7.4, 8.9}, {239, -18, 7.1, 8.4}, {226, -34, 6.7, 8}, {210, -48.5, 6.6, 8}}};
constexpr double kSecondToeLonger_mm = -4.0;

Vec3 middle(const Ball& ball) { return {ball.x, ball.y, ball.z}; }

/// How far a bunion's big toe, and with it its neighbours, leans outward at its tip.
double lean_mm(const Placing& place) { return -0.9 * place.shape.bunion_mm / place.scale; }

void add_rear_and_leg(FootField& foot, const Placing& place) {
  const auto limb = [&](const Ball& a, const Ball& b, double melt, double rise = 0.0) {
    foot.body.push_back(bone(place(a, 0.0), place(b, rise), melt * place.scale));
  };
  // Heel pad and heel bone, leg (Achilles tendon behind, shin in front, flesh between), ankle bones.
  limb({33, 0, 23, 33}, {58, -3, 24, 32}, 8);
  limb({31, 0, 34, 27}, {43, 0, 80, 18}, 14);
  limb({42, 0, 76, 17.5}, {34, 0, 420, 52}, 16);
  limb({71, 2, 76, 26.5}, {62, 4, 420, 46}, 14);
  limb({55, 1, 100, 24}, {50, 2, 420, 48}, 16);
  limb({63, -23, 68, 9}, {64, -16, 112, 8}, 24);
  limb({75, 24, 80, 9.5}, {72, 17, 112, 8}, 22);
  // Tarsus: top, outside, inside.
  limb({75, 3, 68, 28}, {112, 7, 50, 26}, 14);
  limb({62, -8, 26, 29}, {110, -22, 16.5, 22}, 14);
  limb({70, 12, 45, 24}, {108, 17, 38, 21}, 14, 0.3);
}

/// The five metatarsals down to their heads, and the toe roots as far as the webs.
void add_rays(FootField& foot, const Placing& place) {
  std::array<Ball, 5> heads = kHeads;
  heads[0].y += place.shape.bunion_mm / place.scale;
  for (std::size_t ray = 0; ray < 5; ++ray)
    foot.body.push_back(bone(place(kBases[ray], 0.3), place(heads[ray], 1.0), 10 * place.scale));
  for (std::size_t ray = 0; ray < 5; ++ray) {
    Ball web = kWebs[ray];
    web.y += 0.3 * lean_mm(place);
    foot.body.push_back(bone(place(heads[ray], 1.0), place(web, 0.4), 6 * place.scale));
  }
  foot.first_head = middle(place(heads[0], 1.0));
  foot.fifth_head = middle(place(heads[4], 1.0));
}

void add_toe(FootField& foot, const Placing& place, std::size_t toe) {
  const FootShape& shape = place.shape;
  const FootKnobs& knobs = place.knobs;
  const double outward = static_cast<double>(toe) / 4.0;
  const double higher = (1.0 - outward) * knobs.big_toe_height_mm + outward * knobs.fifth_toe_height_mm;
  const double longer = toe == 1 ? shape.second_toe_longer_mm - kSecondToeLonger_mm + knobs.second_toe_mm : 0.0;
  const double lean = (toe == 0 ? 1.0 : 0.7) * lean_mm(place);
  const auto put = [&](Ball ball, double share_of_lean, double share_of_length) {
    ball.y += share_of_lean * lean;
    const Ball placed = place(ball, 0.0);
    return Ball{placed.x + share_of_length * longer, placed.y, placed.z + higher / 2.0, placed.radius + higher / 2.0};
  };
  const Ball web = put(kWebs[toe], 0.3, 0.0), knuckle = put(kKnuckles[toe], 0.5, 0.3),
             joint = put(kLastJoints[toe], 0.8, 0.7), pad = put(kPads[toe], 1.0, 1.0);
  const double melt = 4 * place.scale;
  foot.toes[toe] = {bone(web, knuckle, melt), bone(knuckle, joint, melt)};
  if (toe == 0) {  // the big toe is broader than high, and rounder on its inside
    const auto beside = [&](const Ball& b, double aside, double back) {
      return Ball{b.x - back * place.scale, b.y + aside * place.scale, b.z, b.radius};
    };
    foot.toes[toe].push_back(bone(beside(joint, -1.5, 0.0), beside(pad, -1.5, 0.0), melt));
    foot.toes[toe].push_back(bone(beside(joint, 1.5, 0.0), beside(pad, 2.5, 3.5), melt));
  } else {
    foot.toes[toe].push_back(bone(joint, pad, melt));
  }
  foot.last_joint[toe] = middle(joint);
  foot.tip[toe] = middle(pad);

  FootField::Nail& nail = foot.nails[toe];
  nail.along = (foot.tip[toe] - foot.last_joint[toe]).normalized();
  nail.across = Vec3::UnitZ().cross(nail.along).normalized();
  nail.up = nail.along.cross(nail.across);
  nail.half_length = 0.62 * pad.radius;
  nail.half_width = (toe == 0 ? 0.72 : 0.6) * pad.radius;
  nail.middle = foot.tip[toe] + 0.12 * pad.radius * nail.along + 0.3 * pad.radius * nail.up;
}

}  // namespace

double FootField::toe_flesh(const Vec3& p) const {
  double nearest = 1e3, second = 1e3;
  for (std::size_t toe = 0; toe < 5; ++toe) {
    double one = 1e3;
    for (const Bone& b : toes[toe]) one = melted(one, distance(b, p), b.melt_mm);
    one += fold_mm(nails[toe], p);
    second = std::min(second, std::max(one, nearest));
    nearest = std::min(nearest, one);
  }
  // Toes lie side by side without growing together: each ends half a gap before the middle to its neighbour.
  constexpr double kToeGap_mm = 3.0;
  return -melted(-nearest, -(kToeGap_mm - (second - nearest)) / 2.0, 1.5);
}

double FootField::operator()(const Vec3& p) const {
  double flesh = 1e3;
  for (const Bone& b : body) flesh = melted(flesh, distance(b, p), b.melt_mm);
  if (toes_begin_mm - p.x() < flesh + 5.0 * melt_scale) flesh = melted(flesh, toe_flesh(p), 5.0 * melt_scale);
  // The floor, raised under the inside arch. Peak at 43 % of the length; the outside edge bears.
  const double t = p.x() / length_mm;
  const double hollow =
      arch_mm * ramp(0.20, 0.43, t) * (1.0 - ramp(0.43, 0.70, t)) * ramp(-24.0, 30.0, p.y() / melt_scale);
  const double above = p.z() - hollow;
  return -melted(-flesh, above, 6.0 * melt_scale);
}

FootField foot_field(const FootShape& shape, const FootKnobs& knobs) {
  const Placing place{shape, knobs};
  FootField foot;
  foot.length_mm = shape.length_mm;
  foot.arch_mm = shape.arch_height_mm;
  foot.melt_scale = place.scale;
  add_rear_and_leg(foot, place);
  add_rays(foot, place);
  for (std::size_t toe = 0; toe < 5; ++toe) add_toe(foot, place, toe);
  foot.toes_begin_mm = 1e3;
  for (const std::vector<Bone>& toe : foot.toes)
    for (const Bone& b : toe) foot.toes_begin_mm = std::min(foot.toes_begin_mm, b.from.x() - b.radius);
  return foot;
}

}  // namespace lastroom
