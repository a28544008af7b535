#include "settled_truth.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "zones/toes.h"

namespace lastroom::test {
namespace {

constexpr double kRadPerDeg = std::numbers::pi / 180.0;
// Levers that make a turn comparable to a shift, for the descent alone.
constexpr double kLever_mm = 70.0, kToeLever_mm = 45.0;
constexpr double kCentring = 1.0 / 200.0;  // our choice: a foot stands in the middle, loosely held

using Vec7 = Eigen::Matrix<double, 7, 1>;

double smooth(double t) {
  t = std::clamp(t, 0.0, 1.0);
  return t * t * (3.0 - 2.0 * t);
}

/// The contract's hinge: in plan through both joints, level, at 6 % of the length; the turn blended over 15 mm.
struct JointLine {
  Vec3 middle, axis, forward;
  explicit JointLine(const Foot& foot) {
    const FootLandmarks& marks = foot.landmarks;
    middle = 0.5 * (marks.first_joint + marks.fifth_joint);
    middle.z() = 0.06 * foot_length_mm(marks);
    axis = marks.fifth_joint - marks.first_joint;
    axis.z() = 0.0;
    axis.normalize();
    forward = Vec3(-axis.y(), axis.x(), 0.0);
  }
  double before_mm(const Vec3& p) const { return (p - middle).dot(forward); }
  double share(const Vec3& p) const { return smooth(before_mm(p) / 15.0 + 0.5); }
  Vec3 turned(const Vec3& p, double hinge_deg) const {
    return middle + Eigen::AngleAxisd(share(p) * hinge_deg * kRadPerDeg, axis) * (p - middle);
  }
};

SettledPose stepped(const SettledPose& pose, const Vec3& pivot, const Vec7& step) {
  SettledPose result = pose;
  const Vec3 turn = step.head<3>() / kLever_mm;
  Motion about = Motion::Identity();
  about.translate(pivot + step.segment<3>(3));
  if (turn.norm() > 0.0) about.rotate(Eigen::AngleAxisd(turn.norm(), turn.normalized()));
  about.translate(-pivot);
  result.last_from_foot = about * pose.last_from_foot;
  result.hinge_deg += step[6] / kToeLever_mm / kRadPerDeg;
  return result;
}

struct Force {
  double energy = 0.0, per_mm = 0.0;  ///< of area; force grows with how far the skin stands out
};

/// Presses when out, and with room only if it centres.
Force pressed(double out_mm, double k, bool centres) {
  const double stiffness = out_mm > 0.0 ? k : centres ? kCentring * k : 0.0;
  return {0.5 * stiffness * out_mm * out_mm, stiffness * out_mm};
}

/// Carries p0 where it lies; less with room until it carries nothing; the load p0 draws it on. Less p0 on either side,
/// so that pressing costs what it costs other skin.
Force carried(double out_mm, double k, double p0) {
  const double pressure = std::max(0.0, p0 + k * out_mm);
  return {0.5 * (pressure * pressure - p0 * p0) / k - p0 * out_mm, pressure - p0};
}

/// One foot in one last under one draw of the physics.
class Balance {
 public:
  Balance(const Foot& foot, const std::vector<Contact>& skin, const LastWall& last, const Physics& physics,
          double push_N = 0.0)
      : skin_(skin),
        last_(last),
        physics_(physics),
        push_N_(push_N),
        heel_(foot.landmarks.heel),
        line_(foot),
        held_(skin.size(), 1.0),
        before_(skin.size()) {
    double sole_mm2 = 0.0, pad_moment_mm3 = 0.0;
    for (const Contact& c : skin) {
      if (c.part == Contact::Part::seat || c.part == Contact::Part::tread) sole_mm2 += c.area_mm2;
      if (c.part == Contact::Part::pad) pad_moment_mm3 += c.area_mm2 * line_.before_mm(c.at);
    }
    if (sole_mm2 > 0.0) sole_N_mm2_ = physics.weight_N / sole_mm2;
    if (pad_moment_mm3 > 0.0) pads_N_mm2_ = physics.flexing_Nmm / pad_moment_mm3;
    const double instep_x = foot.landmarks.heel.x() + 0.55 * foot_length_mm(foot.landmarks);
    for (const Contact& c : skin)  // the crest over the instep
      if (std::abs(c.at.x() - instep_x) < 6.0 && c.at.z() > instep_.z()) instep_ = c.at;
  }

  /// Nothing presses above the cut, and the shoe gives towards it: judged where the foot stands, and kept while it
  /// moves, so that forces have an energy.
  void hold_at(const SettledPose& pose) {
    constexpr double kGives_mm = 10.0;
    for (std::size_t i = 0; i < skin_.size(); ++i) {
      const Vec3 at = pose.last_from_foot * line_.turned(skin_[i].at, pose.hinge_deg);
      const LastWall::Nearest wall = last_.at(at);
      const bool off = wall.on_cut || at.z() > last_.top_mm();
      held_[i] = off ? 0.0 : smooth(last_.to_cut_mm(wall.point_mm) / kGives_mm);
    }
  }

  Vec3 pivot(const SettledPose& pose) const { return pose.last_from_foot * line_.middle; }

  double energy(const SettledPose& pose, Vec7* slope) const {
    const Vec3 pivot_mm = pivot(pose), axis = pose.last_from_foot.linear() * line_.axis;
    double sum = 0.0;
    if (slope) slope->setZero();
    const auto add = [&](const Vec3& at, double share, double energy_part, const Vec3& force) {
      sum += energy_part;
      if (!slope) return;
      const Vec3 moment = (at - pivot_mm).cross(force);
      slope->head<3>() += moment / kLever_mm;
      slope->segment<3>(3) += force;
      (*slope)[6] += share * axis.dot(moment) / kToeLever_mm;
    };
    for (std::size_t i = 0; i < skin_.size(); ++i) {
      const Contact& c = skin_[i];
      if (held_[i] == 0.0) continue;
      const Vec3 at = pose.last_from_foot * line_.turned(c.at, pose.hinge_deg);
      Before& before = before_[i];
      // Skin that only presses, and was further inside than it has moved since, is inside still.
      const bool only_presses = c.part > Contact::Part::pad && c.part != Contact::Part::side;
      if (only_presses && before.known && (at - before.at).norm() < -before.wall.outside_mm) continue;
      before.wall = before.known ? last_.at(at, before.wall) : last_.at(at);
      before.at = at;
      before.known = true;
      const LastWall::Nearest& wall = before.wall;
      const Force f = force_on(c, wall);
      const double area_mm2 = held_[i] * c.area_mm2;
      add(at, line_.share(c.at), area_mm2 * f.energy, area_mm2 * f.per_mm * wall.normal);
    }
    const double down = physics_.fastening_down_deg * kRadPerDeg;
    const Vec3 pull = physics_.fastening_N * Vec3(-std::cos(down), 0.0, -std::sin(down));
    const Vec3 instep = pose.last_from_foot * instep_;
    add(instep, 0.0, -pull.dot(instep), -pull);
    const Vec3 push = 0.5 * push_N_ * Vec3::UnitY();
    for (const Vec3& of_rear : {heel_, line_.middle}) {
      const Vec3 at = pose.last_from_foot * of_rear;
      add(at, 0.0, -push.dot(at), -push);
    }
    return sum;
  }

 private:
  Force force_on(const Contact& c, const LastWall::Nearest& wall) const {
    using Part = Contact::Part;
    const bool bears = c.part == Part::seat || c.part == Part::tread || c.part == Part::pad;
    const Force press = pressed(wall.outside_mm, stiffness(c.part), c.part == Part::side);
    if (!bears) return press;
    // Weight bears on the bottom: where the nearest wall is a side, the sole is skin like any other.
    const double share = smooth((-wall.normal.z() - 0.3) / 0.4);
    const double p0 = c.part == Part::pad ? pads_N_mm2_ : sole_N_mm2_;
    const Force carry = carried(wall.outside_mm, stiffness(c.part), p0);
    return {share * carry.energy + (1.0 - share) * press.energy, share * carry.per_mm + (1.0 - share) * press.per_mm};
  }

  double stiffness(Contact::Part part) const {
    using Part = Contact::Part;
    switch (part) {
      case Part::seat:
      case Part::heel_round:
        return physics_.heel_pad_N_mm3;
      case Part::tread:
      case Part::pad:
      case Part::fore_sole:
        return physics_.fore_sole_ratio * physics_.heel_pad_N_mm3;
      case Part::heel_cup:
        return physics_.heel_cup_N_mm3;
      case Part::side:
      case Part::other:
        return physics_.sides_N_mm3;
    }
    return 0.0;
  }

  struct Before {
    bool known = false;
    Vec3 at = Vec3::Zero();
    LastWall::Nearest wall;
  };

  const std::vector<Contact>& skin_;
  const LastWall& last_;
  const Physics& physics_;
  double push_N_;
  Vec3 heel_;
  JointLine line_;
  Vec3 instep_ = Vec3::Zero();
  double sole_N_mm2_ = 0.0, pads_N_mm2_ = 0.0;
  std::vector<double> held_;            ///< share of each contact that the shoe can press
  mutable std::vector<Before> before_;  ///< what was found at the last pose, to find the next faster
};

/// Borders are our choice, in shares of the foot's length.
Contact::Part part_of(const Vec3& p, const Vec3& n, const JointLine& line, double length_mm, double heel_x,
                      double pads_z) {
  using Part = Contact::Part;
  constexpr double kFlat = -0.848;  // within 32 degrees
  const double along = (p.x() - heel_x) / length_mm, before = line.before_mm(p) / length_mm;
  if (before > 0.12) return n.z() < kFlat && p.z() < pads_z + 2.5 ? Part::pad : Part::other;
  const bool heel = along < 0.33;
  if (n.z() < kFlat && p.z() < 3.0 && before < 0.06) return heel ? Part::seat : Part::tread;
  if (n.z() < -0.5) return heel ? Part::heel_round : Part::fore_sole;
  if (before < 0.06 && std::abs(n.y()) > 0.7 && p.z() < 0.2 * length_mm) return heel ? Part::heel_cup : Part::side;
  return along < 0.25 && p.z() < 0.22 * length_mm ? Part::heel_cup : Part::other;
}

double lowest_tenth_of_pads(const Foot& foot, const std::vector<Vec3>& normals, const JointLine& line,
                            double length_mm) {
  std::vector<double> heights;
  for (std::size_t i = 0; i < normals.size(); ++i)
    if (normals[i].z() < -0.55 && line.before_mm(foot.mesh.vertices[i]) > 0.12 * length_mm)
      heights.push_back(foot.mesh.vertices[i].z());
  if (heights.empty()) return 0.0;
  std::sort(heights.begin(), heights.end());
  return heights[heights.size() / 10];
}

Registration as_registration(const Foot& foot, const SettledPose& pose) {
  const JointLine line(foot);
  Registration result;
  result.converged = true;
  result.last_from_foot = pose.last_from_foot;
  result.hinge.point_mm = pose.last_from_foot * line.middle;
  result.hinge.axis = pose.last_from_foot.linear() * line.axis;
  result.hinge.angle_deg = pose.hinge_deg;
  return result;
}

/// `share` of the way from one pose to a near one: the joints' middle goes straight, the rest turns.
SettledPose between(const Foot& foot, const SettledPose& from, const SettledPose& to, double share) {
  const Vec3 joints = JointLine(foot).middle;
  SettledPose pose;
  const Vec3 at = (1.0 - share) * (from.last_from_foot * joints) + share * (to.last_from_foot * joints);
  const Eigen::Quaterniond turn =
      Eigen::Quaterniond(from.last_from_foot.linear()).slerp(share, Eigen::Quaterniond(to.last_from_foot.linear()));
  pose.last_from_foot.linear() = turn.toRotationMatrix();
  pose.last_from_foot.translation() = at - pose.last_from_foot.linear() * joints;
  pose.hinge_deg = (1.0 - share) * from.hinge_deg + share * to.hinge_deg;
  return pose;
}

SettledPose shifted(SettledPose pose, double forward_mm, double toes_deg) {
  pose.last_from_foot.pretranslate(Vec3(forward_mm, 0.0, 0.0));
  pose.hinge_deg += toes_deg;
  return pose;
}

}  // namespace

Physics drawn_physics(Dice& dice) {
  Physics p;
  p.heel_pad_N_mm3 = dice.uniform(0.012, 0.035);
  p.sides_N_mm3 = dice.uniform(0.009, 0.024);
  p.heel_cup_N_mm3 = dice.uniform(0.015, 0.03);
  p.weight_N = dice.uniform(300.0, 400.0);
  p.fastening_N = dice.uniform(20.0, 60.0);
  p.fastening_down_deg = dice.uniform(30.0, 60.0);
  p.flexing_Nmm = dice.uniform(500.0, 2000.0);
  p.aside = dice.uniform(-1.0, 1.0);
  return p;
}

std::vector<Contact> contacts(const Foot& foot, double cell_mm) {
  const JointLine line(foot);
  const double length_mm = foot_length_mm(foot.landmarks), heel_x = foot.landmarks.heel.x();
  const std::vector<Vec3> normals = vertex_normals(foot.mesh);
  const std::vector<double> areas = vertex_areas_mm2(foot.mesh);
  const double pads_z = lowest_tenth_of_pads(foot, normals, line, length_mm);
  struct Cell {
    Vec3 moment = Vec3::Zero();
    double area = 0.0;
    std::vector<std::uint32_t> members;
  };
  std::map<std::array<int, 4>, Cell> cells;
  const auto step = [&](double mm) { return static_cast<int>(std::floor(mm / cell_mm)); };
  for (std::uint32_t i = 0; i < normals.size(); ++i) {
    const Vec3& p = foot.mesh.vertices[i];
    const double along = (p.x() - heel_x) / length_mm;
    // Higher up a shoe does not follow the foot.
    if (areas[i] <= 0.0 || p.z() > (0.2 + 0.8 * std::max(0.0, along - 0.35)) * length_mm) continue;
    const auto part = static_cast<int>(part_of(p, normals[i], line, length_mm, heel_x, pads_z));
    Cell& cell = cells[{part, step(p.x()), step(p.y()), step(p.z())}];
    cell.moment += areas[i] * p;
    cell.area += areas[i];
    cell.members.push_back(i);
  }
  std::vector<Contact> result;
  for (const auto& [key, cell] : cells) {
    const Vec3 middle = cell.moment / cell.area;
    // A vertex stands for its cell: the mean of curved skin would lie beneath it.
    const std::uint32_t nearest = *std::min_element(cell.members.begin(), cell.members.end(), [&](auto a, auto b) {
      return (foot.mesh.vertices[a] - middle).squaredNorm() < (foot.mesh.vertices[b] - middle).squaredNorm();
    });
    result.push_back({foot.mesh.vertices[nearest], cell.area, static_cast<Contact::Part>(key[0])});
  }
  return result;
}

double energy_Nmm(const Foot& foot, const std::vector<Contact>& skin, const LastWall& last, const Physics& physics,
                  const SettledPose& pose, const SettledPose& held_at) {
  Balance balance(foot, skin, last, physics);
  balance.hold_at(held_at);
  return balance.energy(pose, nullptr);
}

namespace {

SettledPose descended(const Balance& balance, const SettledPose& start) {
  constexpr int kMost = 120;
  constexpr double kStill_mm = 0.002, kLongest_mm = 4.0, kSoft_mm_per_N = 0.005;
  using Mat7 = Eigen::Matrix<double, 7, 7>;
  Mat7 inverse = kSoft_mm_per_N * Mat7::Identity();
  SettledPose pose = start;
  Vec7 slope;
  pose.energy_Nmm = balance.energy(pose, &slope);
  int still = 0;
  for (int i = 0; i < kMost && still < 3; ++i) {
    Vec7 step = -inverse * slope;
    if (step.dot(slope) >= 0.0) {
      inverse = kSoft_mm_per_N * Mat7::Identity();
      step = -inverse * slope;
    }
    if (step.norm() > kLongest_mm) step *= kLongest_mm / step.norm();
    const Vec3 pivot = balance.pivot(pose);
    SettledPose next;
    Vec7 next_slope;
    bool down = false;
    for (int halving = 0; halving < 12 && !down; ++halving, step *= down ? 1.0 : 0.4) {
      next = stepped(pose, pivot, step);
      next.energy_Nmm = balance.energy(next, &next_slope);
      down = next.energy_Nmm <= pose.energy_Nmm + 1e-4 * step.dot(slope);
    }
    if (!down) {
      if (still++ > 0) break;
      inverse = kSoft_mm_per_N * Mat7::Identity();
      continue;
    }
    const Vec7 change = next_slope - slope;
    const double curvature = step.dot(change);
    if (curvature > 1e-9) {
      const double rho = 1.0 / curvature;
      const Mat7 left = Mat7::Identity() - rho * step * change.transpose();
      inverse = left * inverse * left.transpose() + rho * step * step.transpose();
    }
    still = step.norm() < kStill_mm ? still + 1 : 0;
    pose = next;
    slope = next_slope;
  }
  return pose;
}

}  // namespace

SettledPose settled(const Foot& foot, const std::vector<Contact>& skin, const LastWall& last, const Physics& physics,
                    const SettledPose& start, double push_N) {
  Balance balance(foot, skin, last, physics, push_N);
  SettledPose pose = start;
  for (int round = 0; round < 2; ++round) {
    balance.hold_at(pose);
    pose = descended(balance, pose);
  }
  return pose;
}

SettledPose settled_aside(const Foot& foot, const std::vector<Contact>& skin, const LastWall& last,
                          const Physics& physics, const SettledPose& start) {
  constexpr double kLightPush_N = 10.0;
  const SettledPose middle = settled(foot, skin, last, physics, start);
  if (physics.aside == 0.0) return middle;
  const SettledPose pushed = settled(foot, skin, last, physics, middle, std::copysign(kLightPush_N, physics.aside));
  return between(foot, middle, pushed, std::abs(physics.aside));
}

SettledPose start_in(const Foot& foot, const MadeLast& last) {
  const FootLandmarks& marks = foot.landmarks;
  const JointLine line(foot);
  const Vec3 heel(marks.heel.x(), marks.heel.y(), 0.0);
  Vec3 joint = line.middle;
  joint.z() = 0.0;
  const Vec3 last_joint(0.5 * (last.first_joint.x() + last.fifth_joint.x()),
                        0.5 * (last.first_joint.y() + last.fifth_joint.y()), last.tread.z());
  const Vec3 last_heel(last.heel_back.x(), last.heel_back.y(), 0.0);
  const auto heading = [](const Vec3& from, const Vec3& to) {
    return std::atan2(to.y() - from.y(), to.x() - from.x());
  };
  const double yaw = heading(last_heel, last_joint) - heading(heel, joint);
  const double pitch = std::asin(std::clamp(-last_joint.z() / (joint - heel).norm(), -0.9, 0.9));
  SettledPose pose;
  pose.last_from_foot.translate(Vec3(last_heel.x() + 3.0, last_heel.y(), 2.0));
  pose.last_from_foot.rotate(Eigen::AngleAxisd(yaw, Vec3::UnitZ()));
  pose.last_from_foot.rotate(Eigen::AngleAxisd(pitch, Vec3::UnitY()));
  pose.last_from_foot.translate(-heel);
  const double rise = last.centre_line.back().z() - last.tread.z(), run = last.centre_line.back().x() - last.tread.x();
  pose.hinge_deg = (pitch + 0.7 * std::atan2(rise, run)) / kRadPerDeg;
  return pose;
}

SettledTruth settled_truth(const Foot& foot, const MadeLast& last, const LastWall& wall, unsigned seed, int others) {
  const std::vector<Contact> skin = contacts(foot);
  const SettledPose start = start_in(foot, last);
  SettledPose middle;
  middle.energy_Nmm = 1e18;
  for (const auto& [forward_mm, toes_deg] : {std::pair{0.0, 0.0}, {8.0, 5.0}, {-4.0, -5.0}}) {
    const SettledPose found = settled(foot, skin, wall, {}, shifted(start, forward_mm, toes_deg));
    if (found.energy_Nmm < middle.energy_Nmm) middle = found;
  }
  Dice dice(seed + 900000u);
  SettledTruth truth;
  truth.middle = as_registration(foot, middle);
  truth.pose = as_registration(foot, settled_aside(foot, skin, wall, drawn_physics(dice), middle));
  for (int i = 0; i < others; ++i)
    truth.others.push_back(as_registration(foot, settled_aside(foot, skin, wall, drawn_physics(dice), middle)));
  return truth;
}

SettledTruth settled_from(const Foot& foot, const LastWall& wall, const Physics& physics, const Registration& before) {
  const SettledPose start{before.last_from_foot, before.hinge.angle_deg, 0.0};
  SettledTruth truth;
  truth.pose = as_registration(foot, settled_aside(foot, contacts(foot), wall, physics, start));
  truth.middle = truth.pose;
  return truth;
}

std::vector<Vec3> posed_skin(const Foot& foot, const Registration& pose) {
  const JointLine line(foot);
  std::vector<Vec3> skin(foot.mesh.vertices.size());
  for (std::size_t i = 0; i < skin.size(); ++i)
    skin[i] = pose.last_from_foot * line.turned(foot.mesh.vertices[i], pose.hinge.angle_deg);
  return skin;
}

}  // namespace lastroom::test
