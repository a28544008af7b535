// Feet of the clinic, made from an ordinary one. All amounts are our choice unless a source stands beside them; lengths
// belong to a foot of 260 mm and shrink and grow with it.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "kinds_of_feet.h"

namespace lastroom::test {
namespace {

constexpr double kRad = std::numbers::pi / 180.0;

double scale_of(const KnownFoot& foot) { return known_length_mm(foot) / 260.0; }

Vec3 turned(const Vec3& p, const Vec3& pivot, double deg) {
  return pivot + Eigen::AngleAxisd(deg * kRad, Vec3::UnitZ()) * (p - pivot);
}

void plain(KnownFoot&, Dice&) {}

/// Hallux valgus: the first head goes inward with its metatarsal by a third of the angle, the toe drifts outward by the
/// rest; the lesser toes give way, the second goes over the big one.
void bunion(KnownFoot& foot, Dice& dice) {
  const double angle_deg = dice.uniform(15.0, 40.0), s = scale_of(foot), head_mm = 0.22 * angle_deg * s;
  const double over_mm = angle_deg > 28.0 ? dice.uniform(0.0, 7.0) * s : 0.0;
  const Vec3 joint = foot.first_joint;
  warp(foot, [&](const Vec3& p) {
    return Vec3(p + head_mm * std::exp(-(p - joint).squaredNorm() / (2.0 * std::pow(20.0 * s, 2))) * Vec3::UnitY());
  });
  constexpr std::array kShares = {1.0, 0.75, 0.5, 0.3, 0.1};
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const Vec3 pivot = foot.toe_roots[toe];
    warp_toe(foot, toe, [&](const Vec3& p, double share) {
      const double w = smooth_step(0.0, 0.6, share);
      Vec3 q = turned(p, pivot, -0.67 * angle_deg * kShares[toe] * w);
      if (toe == 1) q.z() += over_mm * w;
      return q;
    });
  }
  foot.overlaps = true;
}

/// The middle joint of a toe stands up by 6 to 10 mm, its tip is drawn back.
void claw(KnownFoot& foot, std::size_t toe, double up_mm, double back_mm) {
  const Vec3 ahead = toe_direction(foot, toe);
  warp_toe(foot, toe, [&](const Vec3& p, double share) {
    return Vec3(p + up_mm * std::sin(std::numbers::pi * share) * Vec3::UnitZ() -
                back_mm * smooth_step(0.0, 1.0, share) * ahead);
  });
}

void claw_toes(KnownFoot& foot, Dice& dice) {
  const double s = scale_of(foot);
  for (std::size_t toe = dice.chance(0.4) ? 0 : 1; toe < 5; ++toe)
    claw(foot, toe, dice.uniform(6.0, 10.0) * s, dice.uniform(3.0, 9.0) * s);
}

void hammer_toe(KnownFoot& foot, Dice& dice) {
  const double s = scale_of(foot);
  const auto toe = static_cast<std::size_t>(dice.chance(0.6) ? 1 : 2 + dice.among(3));
  claw(foot, toe, dice.uniform(6.0, 10.0) * s, dice.uniform(3.0, 8.0) * s);
}

/// Draws what lies further along the toe than `keep` of it back to a blunt end.
void shorten(KnownFoot& foot, std::size_t toe, double keep) {
  const Vec3 ahead = toe_direction(foot, toe), root = foot.toe_roots[toe];
  const double end_mm = keep * ahead.dot(foot.toe_tips[toe] - root);
  warp_toe(foot, toe, [&](const Vec3& p, double) {
    const double beyond_mm = ahead.dot(p - root) - end_mm;
    return beyond_mm > 0.0 ? Vec3(p - 0.88 * beyond_mm * ahead) : p;
  });
}

void missing_toe(KnownFoot& foot, Dice& dice) {
  const auto toe = static_cast<std::size_t>(dice.among(5));
  shorten(foot, toe, 0.0);
  foot.toe_there[toe] = false;
}

void missing_toe_end(KnownFoot& foot, Dice& dice) {
  shorten(foot, static_cast<std::size_t>(dice.among(5)), dice.uniform(0.35, 0.6));
}

/// How much a point behind the toes belongs to a ray: lines run from between two toes' roots to the heel.
double ray_weight(const KnownFoot& foot, std::size_t ray, const Vec3& p) {
  const double soft_mm = 5.0 * scale_of(foot);
  double weight = 1.0;
  const auto beside = [&](std::size_t inner, double sign) {
    const Vec3 border = 0.5 * (foot.toe_roots[inner] + foot.toe_roots[inner + 1]);
    const double y = border.y() * (p.x() - foot.heel.x()) / (border.x() - foot.heel.x());
    weight *= smooth_step(-soft_mm, soft_mm, sign * (p.y() - y));
  };
  if (ray > 0) beside(ray - 1, -1.0);
  if (ray < 4) beside(ray, 1.0);
  return weight;
}

/// A ray's toe and the head of its metatarsal are gone, most often the first or the fifth.
void missing_ray(KnownFoot& foot, Dice& dice) {
  const std::size_t ray = dice.chance(0.4) ? 4 : dice.chance(0.6) ? 0 : static_cast<std::size_t>(1 + dice.among(3));
  const double share = static_cast<double>(ray) / 4.0;
  const Vec3 head = (1.0 - share) * foot.first_joint + share * foot.fifth_joint;
  const double end_mm = head.x() - dice.uniform(8.0, 20.0) * scale_of(foot);
  const KnownFoot before = foot;
  const auto drawn_back = [&](const Vec3& p, double weight) {
    return Vec3(p - 0.93 * weight * std::max(0.0, p.x() - end_mm) * Vec3::UnitX());
  };
  for (std::size_t v = 0; v < foot.toe.size(); ++v) {
    Vec3& p = foot.skin.vertices[v];
    p = drawn_back(p, foot.toe[v] == ray ? 1.0 : foot.toe[v] < 5 ? 0.0 : ray_weight(before, ray, p));
  }
  foot.toe_tips[ray] = drawn_back(foot.toe_tips[ray], 1.0);
  foot.toe_there[ray] = false;
  if (ray == 0) foot.first_joint_there = false;
  if (ray == 4) foot.fifth_joint_there = false;
  foot.overlaps = true;
}

/// Where the sole's hollow is: 1 under the middle of the inside arch.
double arch_at(const KnownFoot& foot, const Vec3& p) {
  const double t = (p.x() - foot.heel.x()) / known_length_mm(foot);
  return smooth_step(0.16, 0.42, t) * (1.0 - smooth_step(0.44, 0.70, t));
}

void flat_foot(KnownFoot& foot, Dice& dice) {
  const double lowered = dice.uniform(0.7, 0.97), s = scale_of(foot), inward_mm = dice.uniform(2.0, 6.0) * s;
  const double floor_mm = bounds(foot.skin).low.z();
  const KnownFoot before = foot;
  warp(foot, [&](const Vec3& p) {
    const double at = arch_at(before, p), height_mm = p.z() - floor_mm;
    const double inside = smooth_step(-10.0 * s, 25.0 * s, p.y());
    return Vec3(p - lowered * at * height_mm * std::exp(-height_mm / (22.0 * s)) * Vec3::UnitZ() +
                inward_mm * at * inside * std::exp(-std::pow((height_mm - 25.0 * s) / (20.0 * s), 2)) * Vec3::UnitY());
  });
}

void high_arch(KnownFoot& foot, Dice& dice) {
  const double raised_mm = dice.uniform(6.0, 14.0) * scale_of(foot);
  const double reach_mm = 90.0 * scale_of(foot), floor_mm = bounds(foot.skin).low.z();
  const KnownFoot before = foot;
  warp(foot, [&](const Vec3& p) {
    return Vec3(p + raised_mm * arch_at(before, p) * std::exp(-(p.z() - floor_mm) / reach_mm) * Vec3::UnitZ());
  });
}

/// A broad fore foot whose toes fan out: the little toe is the most outside point.
void splayed(KnownFoot& foot, Dice& dice) {
  const double broader = dice.uniform(0.04, 0.11), length_mm = known_length_mm(foot), heel_x = foot.heel.x();
  warp(foot, [&](const Vec3& p) {
    return Vec3(p.x(), p.y() * (1.0 + broader * smooth_step(0.45, 0.72, (p.x() - heel_x) / length_mm)), p.z());
  });
  const std::array<double, 5> fan_deg = {dice.uniform(0.0, 6.0), dice.uniform(0.0, 3.0), dice.uniform(-4.0, 0.0),
                                         dice.uniform(-10.0, -4.0), dice.uniform(-24.0, -10.0)};
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const Vec3 pivot = foot.toe_roots[toe];
    warp_toe(foot, toe, [&](const Vec3& p, double share) {
      return turned(p, pivot, fan_deg[toe] * smooth_step(0.0, 0.5, share));
    });
  }
}

/// A day adds 1.4 to 5.7 % of volume (A7); the floor stays where it is.
void swollen(KnownFoot& foot, Dice& dice) {
  const double more = dice.uniform(0.014, 0.057);
  const double outward_mm = more * volume_mm3(foot.skin) / area_mm2(foot.skin);
  const double floor_mm = bounds(foot.skin).low.z();
  std::vector<Vec3> normals = vertex_normals(foot.skin);
  const auto outward = [&](const Vec3& p, const Vec3& normal) {
    return Vec3(p + outward_mm * smooth_step(0.0, 8.0, p.z() - floor_mm) * normal);
  };
  const auto at_nearest = [&](const Vec3& mark) {
    std::size_t best = 0;
    for (std::size_t v = 0; v < normals.size(); ++v)
      if ((foot.skin.vertices[v] - mark).squaredNorm() < (foot.skin.vertices[best] - mark).squaredNorm()) best = v;
    return outward(mark, normals[best]);
  };
  for (Vec3* mark : {&foot.heel, &foot.first_joint, &foot.fifth_joint}) *mark = at_nearest(*mark);
  for (Vec3& tip : foot.toe_tips) tip = at_nearest(tip);
  for (std::size_t v = 0; v < normals.size(); ++v) foot.skin.vertices[v] = outward(foot.skin.vertices[v], normals[v]);
}

void long_narrow_heel(KnownFoot& foot, Dice& dice) {
  const double narrower = dice.uniform(0.10, 0.20), longer = dice.uniform(0.06, 0.14);
  const double length_mm = known_length_mm(foot), heel_x = foot.heel.x();
  warp(foot, [&](const Vec3& p) {
    const double t = (p.x() - heel_x) / length_mm, rear = 1.0 - smooth_step(0.15, 0.5, t);
    return Vec3(p.x() - longer * length_mm * 0.5 * (1.0 - smooth_step(0.0, 0.5, t)), p.y() * (1.0 - narrower * rear),
                p.z());
  });
}

/// Stretches each toe so that it ends so far behind the foot's front.
void set_toe_ends(KnownFoot& foot, const std::array<double, 5>& behind_mm) {
  double front_mm = foot.toe_tips[0].x();
  for (std::size_t toe = 0; toe < 5; ++toe) {
    const Vec3 ahead = toe_direction(foot, toe), root = foot.toe_roots[toe];
    const double length_mm = ahead.dot(foot.toe_tips[toe] - root);
    const double change =
        std::clamp((front_mm - behind_mm[toe] - foot.toe_tips[toe].x()) / (length_mm * ahead.x()), -0.4, 0.5);
    warp_toe(foot, toe, [&](const Vec3& p, double) {
      const double along_mm = ahead.dot(p - root);
      return along_mm > 0.0 ? Vec3(p + change * along_mm * ahead) : p;
    });
  }
}

void square_toes(KnownFoot& foot, Dice& dice) {
  const double s = scale_of(foot);
  set_toe_ends(foot, {0.0, dice.uniform(-2.0, 2.0) * s, dice.uniform(0.0, 5.0) * s, dice.uniform(5.0, 11.0) * s,
                      dice.uniform(14.0, 22.0) * s});
}

void greek_toes(KnownFoot& foot, Dice& dice) {
  const double s = scale_of(foot), second = dice.uniform(-12.0, -5.0) * s, third = second + dice.uniform(4.0, 9.0) * s;
  const double fourth = third + dice.uniform(8.0, 13.0) * s;
  set_toe_ends(foot, {0.0, second, third, fourth, fourth + dice.uniform(9.0, 15.0) * s});
}

void egyptian_toes(KnownFoot& foot, Dice& dice) {
  const double s = scale_of(foot), second = dice.uniform(7.0, 13.0) * s, third = second + dice.uniform(6.0, 10.0) * s;
  const double fourth = third + dice.uniform(7.0, 11.0) * s;
  set_toe_ends(foot, {0.0, second, third, fourth, fourth + dice.uniform(9.0, 14.0) * s});
}

/// A general smooth warp of 2 to 5 mm root mean square: waves of all directions, 70 mm and longer.
void warped(KnownFoot& foot, Dice& dice) {
  const double rms_mm = dice.uniform(2.0, 5.0) * scale_of(foot);
  struct Wave {
    Vec3 along, shift;
    double phase;
  };
  std::vector<Wave> waves;
  for (int i = 0; i < 12; ++i) {
    const double length_mm = dice.uniform(70.0, 220.0) * scale_of(foot);
    const Vec3 along = dice.motion(1.0).linear().col(0), shift = dice.motion(1.0).linear().col(0);
    waves.push_back({2.0 * std::numbers::pi / length_mm * along, shift, dice.uniform(0.0, 6.28)});
  }
  const auto shift = [&](const Vec3& p) {
    Vec3 sum = Vec3::Zero();
    for (const Wave& wave : waves) sum += std::sin(wave.along.dot(p) + wave.phase) * wave.shift;
    return sum;
  };
  double squares = 0.0;
  for (const Vec3& p : foot.skin.vertices) squares += shift(p).squaredNorm();
  const double factor = rms_mm / std::sqrt(squares / static_cast<double>(foot.skin.vertices.size()));
  warp(foot, [&](const Vec3& p) { return Vec3(p + factor * shift(p)); });
}

}  // namespace

const std::vector<FootKind>& foot_kinds() {
  static const std::vector<FootKind> kinds = {{"plain", Use::may_set, plain},
                                              {"bunion", Use::may_set, bunion},
                                              {"claw toes", Use::may_set, claw_toes},
                                              {"hammer toe", Use::kept_apart, hammer_toe},
                                              {"missing toe", Use::may_set, missing_toe},
                                              {"missing toe end", Use::kept_apart, missing_toe_end},
                                              {"missing ray", Use::may_set, missing_ray},
                                              {"flat", Use::may_set, flat_foot},
                                              {"high arch", Use::kept_apart, high_arch},
                                              {"splayed", Use::may_set, splayed},
                                              {"swollen", Use::kept_apart, swollen},
                                              {"long narrow heel", Use::kept_apart, long_narrow_heel},
                                              {"square toes", Use::kept_apart, square_toes},
                                              {"Greek toes", Use::kept_apart, greek_toes},
                                              {"Egyptian toes", Use::kept_apart, egyptian_toes},
                                              {"child", Use::kept_apart, plain, BodyAge::child},
                                              {"warped", Use::may_set, warped}};
  return kinds;
}

}  // namespace lastroom::test
