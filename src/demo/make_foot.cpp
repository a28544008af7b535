#include "demo/make_foot.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "demo/foot_field.h"
#include "geometry/section.h"

namespace lastroom {
namespace {

/// The first skin that a straight line meets. `gap_mm` is 0 where it meets skin, else the nearest that it came to it.
struct Hit {
  Vec3 point;
  double gap_mm;
};

Hit first_skin(const FootField& field, const Vec3& start, const Vec3& inward, double reach_mm) {
  constexpr double kClose_mm = 1e-6;
  double travelled = 0.0, nearest = 1e9;
  constexpr int kSteps = 200;
  for (int step = 0; step < kSteps && travelled < reach_mm; ++step) {
    const Vec3 p = start + travelled * inward;
    const double distance = field(p);
    if (distance < kClose_mm) return {p, 0.0};
    nearest = std::min(nearest, distance);
    travelled += distance / kSteepestField;
  }
  return {start + travelled * inward, nearest};
}

/// Where to look for the skin's utmost point: around `middle`, up to `aside` and `upright` away (both ways).
struct Search {
  Vec3 outward, middle, aside, upright;
};

/// The skin's utmost point in one direction: a lattice of rays that closes in on the best one.
Vec3 utmost_skin(const FootField& field, Search search) {
  constexpr double kFrom_mm = 70.0;  // clear of the flesh in any direction that is asked for
  constexpr int kRounds = 10;        // each halves the lattice: 20 mm -> 0.02 mm
  Vec3 found = search.middle;
  for (int round = 0; round < kRounds; ++round) {
    double best = -1e9;
    Vec3 best_middle = search.middle;
    for (int a = -2; a <= 2; ++a)
      for (int u = -2; u <= 2; ++u) {
        if ((a != 0 && search.aside.isZero()) || (u != 0 && search.upright.isZero())) continue;
        const Vec3 middle = search.middle + a / 2.0 * search.aside + u / 2.0 * search.upright;
        const Hit hit = first_skin(field, middle + kFrom_mm * search.outward, -search.outward, kFrom_mm);
        const double reached = hit.gap_mm > 0.0 ? -1e3 - hit.gap_mm : search.outward.dot(hit.point - search.middle);
        if (reached <= best) continue;
        best = reached;
        best_middle = middle;
        found = hit.point;
      }
    const double centre_shift = search.outward.dot(best_middle - search.middle);
    search.middle = best_middle - centre_shift * search.outward;
    search.aside *= 0.5;
    search.upright *= 0.5;
  }
  return found;
}

/// The skin's landmarks and measures, taken on the field itself, so that no grid's roughness disturbs them.
struct Figures {
  Motion foot_from_field = Motion::Identity();
  Vec3 heel, first_joint, fifth_joint;
  std::array<Vec3, 5> toe_tips;  // all in the foot frame
  double longest_toe_mm, joint_width_mm, joint_girth_mm, heel_width_mm, big_toe_height_mm, fifth_toe_height_mm;
};

/// A tape around both joints, upright plane: the hull of points where rays towards the middle meet the skin.
double girth_mm(const FootField& field, const Vec3& one_side, const Vec3& other_side) {
  const Vec3 across = (one_side - other_side).cwiseProduct(Vec3(1, 1, 0)).normalized();
  Vec3 middle = 0.5 * (one_side + other_side);
  middle.z() = 12.0;  // inside the flesh whatever the foot
  constexpr int kRays = 180;
  constexpr double kFrom_mm = 100.0;
  std::vector<Vec2> ring;
  for (int ray = 0; ray < kRays; ++ray) {
    const double angle = 2.0 * std::numbers::pi * ray / kRays;
    const Vec3 outward = std::cos(angle) * across + std::sin(angle) * Vec3::UnitZ();
    const Vec3 p = first_skin(field, middle + kFrom_mm * outward, -outward, kFrom_mm).point;
    ring.emplace_back(across.dot(p - middle), p.z());
  }
  const std::vector<Vec2> hull = convex_hull(std::move(ring));
  double girth = 0.0;
  for (std::size_t i = 0; i < hull.size(); ++i) girth += (hull[(i + 1) % hull.size()] - hull[i]).norm();
  return girth;
}

/// Foot axis: from the rearmost heel point to the second toe's tip. Both depend on its direction a little, hence the
/// start from an earlier answer.
Figures figures_of(const FootField& field, const Motion& start) {
  const double s = field.melt_scale;
  Figures figures;
  const Vec3 forward = start.linear().transpose() * Vec3::UnitX(), inside = start.linear().transpose() * Vec3::UnitY(),
             up = Vec3::UnitZ();
  const Vec3 heel = utmost_skin(field, {-forward, {30.0 * s, 0.0, 24.0 * s}, 15.0 * s * inside, 20.0 * s * up});
  std::array<Vec3, 5> tips;
  for (std::size_t toe = 0; toe < 5; ++toe) {
    // A search goes twice as far as it starts: it ends short of halfway to the next toe, which may reach further.
    double aside = (toe == 0 ? 9.0 : 5.0) * s;
    for (const std::size_t next : {toe - 1, toe + 1})
      if (next < 5) aside = std::min(aside, 0.15 * std::abs(inside.dot(field.tip[next] - field.tip[toe])));
    tips[toe] = utmost_skin(field, {forward, field.tip[toe], aside * inside, (field.tip[toe].z() - 0.5) * up});
  }
  const auto joint = [&](const Vec3& head, double side) {
    return utmost_skin(field, {side * inside, head, 14.0 * s * forward, (head.z() - 1.0) * up});
  };
  const Vec3 first = joint(field.first_head, 1.0), fifth = joint(field.fifth_head, -1.0);

  const Vec3 axis = (tips[1] - heel).cwiseProduct(Vec3(1, 1, 0)).normalized();
  Motion& frame = figures.foot_from_field;
  frame.linear() << axis.x(), axis.y(), 0, -axis.y(), axis.x(), 0, 0, 0, 1;
  frame.translation() = -(frame.linear() * Vec3(heel.x(), heel.y(), 0.0));
  figures.heel = frame * heel;
  figures.first_joint = frame * first;
  figures.fifth_joint = frame * fifth;
  figures.longest_toe_mm = 0.0;
  for (std::size_t toe = 0; toe < 5; ++toe) {
    figures.toe_tips[toe] = frame * tips[toe];
    figures.longest_toe_mm = std::max(figures.longest_toe_mm, figures.toe_tips[toe].x());
  }
  figures.joint_width_mm = figures.first_joint.y() - figures.fifth_joint.y();
  figures.joint_girth_mm = girth_mm(field, first, fifth);
  const auto heel_side = [&](double side) {  // A2: at 16 % of the length; below 40 mm as a scanner's operator would
    const Vec3 middle = frame.inverse() * Vec3(0.16 * figures.longest_toe_mm, 0.0, 21.0);
    return (frame * utmost_skin(field, {side * inside, middle, Vec3::Zero(), 19.0 * up})).y();
  };
  figures.heel_width_mm = heel_side(1.0) - heel_side(-1.0);
  const auto toe_height = [&](std::size_t toe) {
    return utmost_skin(field, {up, field.last_joint[toe], 5.0 * s * inside, Vec3::Zero()}).z();
  };
  figures.big_toe_height_mm = toe_height(0);
  figures.fifth_toe_height_mm = toe_height(4);
  return figures;
}

/// Throws when the measures ordered do not go together in one foot (a wide joint with a short girth, say).
void check_promises(const FootShape& shape, const Figures& figures) {
  const auto kept = [](double made, double ordered, double within_mm) { return std::abs(made - ordered) <= within_mm; };
  if (!kept(figures.longest_toe_mm, shape.length_mm, 0.4) || !kept(figures.joint_width_mm, shape.joint_width_mm, 0.8) ||
      !kept(figures.heel_width_mm, shape.heel_width_mm, 0.8) ||
      !kept(figures.first_joint.x(), shape.heel_to_joint_mm, 0.8) ||
      !kept(figures.joint_girth_mm, shape.joint_girth_mm, 2.5) ||
      !kept(figures.big_toe_height_mm, shape.big_toe_height_mm, 0.8) ||
      !kept(figures.fifth_toe_height_mm, shape.fifth_toe_height_mm, 0.8) ||
      !kept(figures.toe_tips[1].x() - figures.toe_tips[0].x(), shape.second_toe_longer_mm, 1.0))
    throw std::invalid_argument("make_foot: no foot has these measures together");
}

}  // namespace

MadeFoot make_foot(const FootShape& shape) {
  constexpr double kLowestLeg_mm = 60.0;  // the ankle must be left on
  if (!(shape.edge_mm > 0.0) || !(shape.leg_height_mm >= kLowestLeg_mm))
    throw std::invalid_argument("make_foot: edge_mm must be positive and leg_height_mm at least 60");
  // Fixed point: every knob is turned by what its own measure still lacks. The gains below 1 allow for the knobs'
  // pull on each other (a higher joint is also a wider one).
  FootKnobs knobs;
  Figures figures;
  constexpr int kRounds = 12;
  for (int round = 0; round < kRounds; ++round) {
    figures = figures_of(foot_field(shape, knobs), figures.foot_from_field);
    knobs.length_mm += 0.8 * (shape.length_mm - figures.longest_toe_mm);
    knobs.second_toe_mm += 0.8 * (shape.second_toe_longer_mm - (figures.toe_tips[1].x() - figures.toe_tips[0].x()));
    // A joint wider by 1 is longer in girth by 1.9 at equal height; a joint higher by 1 is wider by 0.9.
    const double width_lacks = shape.joint_width_mm - figures.joint_width_mm;
    const double higher = 0.6 * (shape.joint_girth_mm - figures.joint_girth_mm - 1.9 * width_lacks);
    knobs.joint_height_mm += higher;
    knobs.joint_width_mm += 0.8 * (width_lacks - 0.9 * higher);
    knobs.heel_width_mm += 0.9 * (shape.heel_width_mm - figures.heel_width_mm);
    knobs.heel_to_joint_mm += 0.7 * (shape.heel_to_joint_mm - figures.first_joint.x());
    knobs.big_toe_height_mm += 0.7 * (shape.big_toe_height_mm - figures.big_toe_height_mm);
    knobs.fifth_toe_height_mm += 0.7 * (shape.fifth_toe_height_mm - figures.fifth_toe_height_mm);
  }
  const FootField field = foot_field(shape, knobs);
  figures = figures_of(field, figures.foot_from_field);
  check_promises(shape, figures);

  const double s = field.melt_scale;
  const Box box{{-45.0 * s, -85.0 * s - shape.bunion_mm, -2.0 * shape.edge_mm},
                {shape.length_mm + 25.0, 75.0 * s + shape.bunion_mm, shape.leg_height_mm}};
  return {moved(iso_surface(field, box, shape.edge_mm), figures.foot_from_field), figures.heel, figures.first_joint,
          figures.fifth_joint, figures.toe_tips};
}

}  // namespace lastroom
