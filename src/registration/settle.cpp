#include "registration/settle.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

constexpr double kRadPerDeg = std::numbers::pi / 180.0;
constexpr int kUnknowns = 7;
using Vector = Eigen::Matrix<double, kUnknowns, 1>;
using Matrix = Eigen::Matrix<double, kUnknowns, kUnknowns>;

/// How far a living foot is bent at its joints when it stands: a big toe's joint bends upwards by about 65 degrees and
/// downwards by about 30 (from memory, clinical textbooks); the last few are not stood on (our choice). Beyond, the
/// joint resists as a sprained one would.
constexpr double kLeastHinge_deg = -15.0, kMostHinge_deg = 55.0, kHingeStop_N_mm_per_rad = 2e5;

constexpr int kMostIterations = 60;
constexpr double kSmallGain = 1e-8;  // of the energy: in a flat valley, where nothing heavier than a crumb still pulls
constexpr double kArm_mm = 100.0;    // what a turn moves: a point so far from the joint
constexpr double kLongestStep_mm = 6.0;

double stiffness_N_per_mm3(Tissue tissue, const Physics& physics) {
  switch (tissue) {
    case Tissue::heel_pad:
      return physics.heel_pad_N_per_mm3;
    case Tissue::fore_sole:
      return physics.fore_sole_N_per_mm3;
    case Tissue::heel_cup:
      return physics.heel_cup_N_per_mm3;
    case Tissue::upper:
      break;
  }
  return physics.upper_N_per_mm3;
}

bool is_toe_pad(const ContactSample& sample) { return sample.bears && sample.zone == Zone::toe_pads; }

/// Where a cell stands to the last: pressed by `press_mm` (negative: room), which grows along `out`.
struct Contact {
  bool counts = false;
  bool bears = false;
  double press_mm = 0.0;
  Vec3 out = Vec3::Zero();
};

Contact contact_of_pad(const Vec3& at, const SurfacePoint& bottom, double sock_mm) {
  // The bottom, or where it would go on.
  return {true, true, (at - bottom.point_mm).dot(bottom.normal) + sock_mm, bottom.normal};
}

Contact contact_of(const SettleProblem& problem, const ContactSample& sample, const Vec3& at,
                   const SurfacePoint& near) {
  constexpr double kLooksDown = -0.5;  // what looks up more than this is no bottom to stand on (our choice)
  if (near.on_rim || past_the_top(problem.last.top, at, near.triangle)) return {};
  const std::vector<std::uint8_t>& bottom = problem.last.bottom;
  if (sample.on_floor && near.triangle < bottom.size() && bottom[near.triangle] == 0) return {};
  const Vec3 away = at - near.point_mm;
  const Vec3 out = std::abs(near.distance_mm) > 1e-6 ? Vec3(away / near.distance_mm) : near.normal;
  return {true, sample.bears && near.normal.z() < kLooksDown, near.distance_mm + problem.sock_mm, out};
}

/// Where the last was nearest to each cell at the pose before: it will be found there sooner.
struct Nearby {
  std::vector<std::uint32_t> skin, pads;
};

std::vector<Contact> contacts(const SettleProblem& problem, const PosedFoot& posed, std::size_t stride,
                              Nearby& nearby) {
  const std::vector<ContactSample>& cells = problem.samples.cells;
  std::vector<Vec3> skin, pads;
  for (std::size_t i = 0; i < cells.size(); i += stride)
    (is_toe_pad(cells[i]) ? pads : skin).push_back(posed(cells[i].foot_mm));
  const std::vector<SurfacePoint> near_skin = problem.last_surface.at(skin, nearby.skin),
                                  near_pads = problem.fore_bottom.at(pads, nearby.pads);
  std::vector<Contact> result;
  result.reserve(skin.size() + pads.size());
  std::size_t s = 0, p = 0;
  for (std::size_t i = 0; i < cells.size(); i += stride) {
    if (is_toe_pad(cells[i])) {
      result.push_back(contact_of_pad(pads[p], near_pads[p], problem.sock_mm));
      ++p;
    } else {
      result.push_back(contact_of(problem, cells[i], skin[s], near_skin[s]));
      ++s;
    }
  }
  return result;
}

/// The energy at a pose, its gradient and the stiffness against small motions.
class Equilibrium {
 public:
  Equilibrium(const SettleProblem& problem, const Circumstances& circumstances, const Pose& pose, std::size_t stride,
              Nearby& nearby)
      : problem_(problem),
        circumstances_(circumstances),
        physics_(circumstances.physics),
        posed_(problem.landmarks, as_registration(problem, pose)) {
    const std::vector<ContactSample>& cells = problem.samples.cells;
    const std::vector<Contact> touching = contacts(problem, posed_, stride, nearby);
    for (std::size_t i = 0, k = 0; i < cells.size(); i += stride, ++k)
      if (touching[k].counts) add_cell(i, touching[k], cells[i].area_mm2 * static_cast<double>(stride));
    add_fastening();
    add_hinge_stop(pose.hinge_deg);
  }

  Matrix stiffness = Matrix::Zero();
  Vector gradient = Vector::Zero();
  double energy_N_mm = 0.0;

 private:
  void add_cell(std::size_t i, const Contact& contact, double area_mm2) {
    const ContactSample& sample = problem_.samples.cells[i];
    const double k = area_mm2 * stiffness_N_per_mm3(sample.tissue, physics_);
    double press_mm = contact.press_mm;
    if (!circumstances_.skin_error_mm.empty()) press_mm += circumstances_.skin_error_mm[i];
    const std::optional<std::size_t> region = side_region(sample.zone);
    if (!contact.bears && press_mm <= 0.0 && !region) return;  // room costs nothing
    const Vector row = (contact.out.transpose() * posed_.jacobian(sample.foot_mm)).transpose();
    if (contact.bears) return add_bearing(row, press_mm, k, area_mm2 * own_pressure(sample));
    if (press_mm > 0.0) return add_spring(row, press_mm, k);
    const double off_mm = circumstances_.off_middle_mm[*region];
    add_spring(row, press_mm + (sample.inside ? off_mm : -off_mm),
               circumstances_.centring_N_per_mm * area_mm2 / problem_.samples.sides_mm2[*region]);
  }

  /// What a cell of the sole already carried on the floor.
  double own_pressure(const ContactSample& sample) const {
    return sample.zone == Zone::toe_pads
               ? physics_.toes_moment_N_mm / std::max(1.0, problem_.samples.toes_bearing_moment_mm3)
               : physics_.body_load_N / std::max(1.0, problem_.samples.bearing_mm2);
  }

  /// Tissue that carries `load_N` of its own: it rests at no room, pushes as a spring and lets go when the load is
  /// gone. The load acts along the last's own normal: friction carries what lies across it.
  void add_bearing(const Vector& row, double press_mm, double k, double load_N) {
    const double force_N = std::max(0.0, load_N + k * press_mm);
    energy_N_mm += (force_N * force_N - load_N * load_N) / (2.0 * k) - load_N * press_mm;
    gradient += (force_N - load_N) * row;
    if (force_N > 0.0) stiffness.selfadjointView<Eigen::Lower>().rankUpdate(row, k);
  }

  void add_spring(const Vector& row, double length_mm, double k) {
    energy_N_mm += 0.5 * k * length_mm * length_mm;
    gradient += k * length_mm * row;
    stiffness.selfadjointView<Eigen::Lower>().rankUpdate(row, k);
  }

  /// Back and down over the instep.
  void add_fastening() {
    const double down = physics_.fastening_down_deg * kRadPerDeg;
    const Vec3 pull_N = physics_.fastening_N * Vec3(-std::cos(down), 0.0, -std::sin(down));
    const Vec3& instep = problem_.samples.fastened_mm;
    energy_N_mm -= pull_N.dot(posed_(instep));
    gradient -= (pull_N.transpose() * posed_.jacobian(instep)).transpose();
  }

  void add_hinge_stop(double angle_deg) {
    const double beyond = (angle_deg - std::clamp(angle_deg, kLeastHinge_deg, kMostHinge_deg)) * kRadPerDeg;
    if (beyond != 0.0) add_spring(Vector::Unit(6), beyond, kHingeStop_N_mm_per_rad);
  }

  const SettleProblem& problem_;
  const Circumstances& circumstances_;
  const Physics& physics_;
  PosedFoot posed_;
};

/// Largest movement of a point within about 100 mm of the joint.
double size_mm(const Vector& step) {
  return step.segment<3>(3).norm() + kArm_mm * (step.head<3>().norm() + std::abs(step[6]));
}

Pose stepped(const SettleProblem& problem, const Pose& pose, const Vector& step) {
  const Vec3 hinge_mm = as_registration(problem, pose).hinge.point_mm;
  const Vec3 turn = step.head<3>();
  const double angle = turn.norm();
  Motion motion = Motion::Identity();
  motion.translate(hinge_mm + step.segment<3>(3));
  if (angle > 0.0) motion.rotate(Eigen::AngleAxisd(angle, turn / angle));
  motion.translate(-hinge_mm);
  Pose next;
  next.last_from_foot = motion * pose.last_from_foot;
  next.last_from_foot.linear() = Eigen::Quaterniond(next.last_from_foot.linear()).normalized().toRotationMatrix();
  next.hinge_deg = pose.hinge_deg + step[6] / kRadPerDeg;
  return next;
}

Vector newton_step(const Equilibrium& now, double damping) {
  constexpr double kLeast_N_per_mm = 0.05;  // a direction that nothing holds yet
  Matrix damped = now.stiffness.selfadjointView<Eigen::Lower>();
  for (int i = 0; i < kUnknowns; ++i) {
    const double arm = i >= 3 && i < 6 ? 1.0 : kArm_mm;
    damped(i, i) += damping * damped(i, i) + kLeast_N_per_mm * arm * arm;
  }
  Vector step = damped.ldlt().solve(-now.gradient);
  if (const double size = size_mm(step); size > kLongestStep_mm) step *= kLongestStep_mm / size;
  return step;
}

}  // namespace

bool is_rear(Zone zone) { return zone <= Zone::tread; }

SignedDistance fore_bottom(const Last& last) {
  const double joint_x = 0.5 * (last.first_joint.x() + last.fifth_joint.x());
  std::vector<std::uint8_t> keep(last.mesh.triangles.size(), 0);
  for (std::size_t i = 0; i < last.bottom.size(); ++i)
    keep[i] = last.bottom[i] && last.mesh.vertices[last.mesh.triangles[i][0]].x() > joint_x;
  const Mesh bottom = submesh(last.mesh, keep);
  return SignedDistance(area_mm2(bottom) > 0.0 ? bottom : last.mesh);
}

Registration as_registration(const SettleProblem& problem, const Pose& pose) {
  Registration registration;
  registration.last_from_foot = pose.last_from_foot;
  registration.hinge = hinge_in_foot(problem.landmarks);
  registration.hinge.point_mm = pose.last_from_foot * registration.hinge.point_mm;
  registration.hinge.axis = pose.last_from_foot.linear() * registration.hinge.axis;
  registration.hinge.angle_deg = pose.hinge_deg;
  return registration;
}

Settled settle(const SettleProblem& problem, const Circumstances& circumstances, const Pose& start, Fineness fineness) {
  Settled result{start};
  double damping = 1e-3;
  Nearby nearby;
  Equilibrium now(problem, circumstances, result.pose, fineness.stride, nearby);
  while (result.iterations < kMostIterations && !result.at_rest && std::isfinite(now.energy_N_mm)) {
    ++result.iterations;
    const Vector step = newton_step(now, damping);
    const Pose next = stepped(problem, result.pose, step);
    const Equilibrium then(problem, circumstances, next, fineness.stride, nearby);
    result.at_rest =
        size_mm(step) < fineness.small_step_mm;  // or rounding of the valley, where such a step doesn't help
    if (then.energy_N_mm <= now.energy_N_mm) {
      result.at_rest = result.at_rest || now.energy_N_mm - then.energy_N_mm < kSmallGain * now.energy_N_mm;
      result.pose = next;
      now.stiffness = then.stiffness;
      now.gradient = then.gradient;
      now.energy_N_mm = then.energy_N_mm;
      damping = std::max(damping * 0.2, 1e-9);
    } else {
      damping = std::min(damping * 8.0, 1e6);
    }
  }
  result.energy_N_mm = now.energy_N_mm;
  return result;
}

std::vector<std::optional<double>> cell_clearances_mm(const SettleProblem& problem, const Pose& pose,
                                                      std::size_t stride) {
  const PosedFoot posed(problem.landmarks, as_registration(problem, pose));
  std::vector<std::optional<double>> clearances_mm;
  Nearby nearby;
  for (const Contact& contact : contacts(problem, posed, stride, nearby))
    clearances_mm.push_back(contact.counts ? std::optional(-contact.press_mm) : std::nullopt);
  return clearances_mm;
}

}  // namespace lastroom
