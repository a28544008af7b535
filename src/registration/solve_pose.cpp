#include "registration/solve_pose.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace lastroom {
namespace {

constexpr int kUnknowns = 7 + static_cast<int>(kParts);
constexpr double kDegPerRad = 180.0 / std::numbers::pi;
using Vector = Eigen::Matrix<double, kUnknowns, 1>;
using Matrix = Eigen::Matrix<double, kUnknowns, kUnknowns>;

constexpr double kPatchMm2 = 300.0;  // a thumb's tip: about as far as the room of one place tells its neighbours'
// A last bridges a foot's hollows, so room of many spreads is common; standing out by as much is not.
constexpr double kRoomKnee = 2.0, kPressKnee = 4.0;
// A landmark may be another place altogether (a last that is widest at its toe): beyond this many spreads it loses its
// say.
constexpr double kPointKnee = 1.5;
constexpr double kHingeLimitSpreadDeg = 2.0, kHingeSpreadDeg = 8.0;
constexpr int kMostIterations = 60;
constexpr double kSmallStep = 0.01;  // mm or mm at 100 mm from the joint

struct State {
  Pose pose;
  std::array<double, kParts> room_mm = {};
};

/// Cauchy's loss towards room, Huber's towards pressing, each with its weight (Zhang 1997, parameter estimation
/// techniques, table 1). Under the foot pressing is Cauchy's too: a sole's pads are soft and take a flat bottom's
/// shape.
struct Loss {
  double value, weight;
};
Loss cauchy(double r, double knee) {
  const double q = r / knee;
  return {0.5 * knee * knee * std::log1p(q * q), 1.0 / (1.0 + q * q)};
}
Loss loss(double r, bool under_the_foot) {
  if (r > 0.0 || under_the_foot) return cauchy(r, kRoomKnee);
  if (-r <= kPressKnee) return {0.5 * r * r, 1.0};
  return {kPressKnee * (-r - 0.5 * kPressKnee), kPressKnee / -r};
}

struct Normal {
  Matrix hessian = Matrix::Zero();
  Vector gradient = Vector::Zero();
  double cost = 0.0;
  void add(const Vector& row, double residual, double weight) {
    hessian.selfadjointView<Eigen::Lower>().rankUpdate(row, weight);
    gradient += weight * residual * row;
  }
};

struct SampleTerm {
  bool counts = false;
  double residual_mm = 0.0;  ///< clearance less expected less solved room
  double weight = 0.0;       ///< of the loss, 0 .. 1
};

/// A closed last ends in a flat cut that looks up. Skin of the heel or the waist that is nearest to it lies above the
/// last.
bool is_cut_top(Zone zone, const Vec3& normal) {
  return normal.z() > 0.9 && (zone == Zone::heel_back || zone == Zone::heel_sides || zone == Zone::waist);
}

class Evaluation {
 public:
  Evaluation(const PoseProblem& problem, const State& state, std::size_t stride)
      : problem_(problem),
        state_(state),
        stride_(stride),
        posed_(problem.foot.landmarks, problem.foot_length_mm, as_registration(problem, state.pose)) {
    add_samples();
    add_toes();
    add_rooms();
    add_points();
    add_hinge();
  }
  Normal normal;
  std::vector<SampleTerm> terms;  ///< of every `stride`-th sample
  SampleTerm toes;

 private:
  void add_samples() {
    const std::vector<HeldSkin::Sample>& samples = problem_.held.samples;
    std::vector<Vec3> queries;
    queries.reserve(samples.size() / stride_ + 1);
    for (std::size_t i = 0; i < samples.size(); i += stride_) queries.push_back(posed_(samples[i].foot_mm));
    const std::vector<SurfacePoint> nearest = problem_.last_surface.at(queries);
    terms.resize(queries.size());
    for (std::size_t k = 0; k < queries.size(); ++k) {
      const HeldSkin::Sample& sample = samples[k * stride_];
      add_sample(sample, sample.area_mm2 * static_cast<double>(stride_), queries[k], nearest[k], terms[k]);
    }
  }

  /// The mean of the lower half of the toes' soles speaks for all.
  void add_toes() {
    const std::vector<HeldSkin::Sample>& soles = problem_.held.toe_soles;
    std::vector<Vec3> queries;
    for (const HeldSkin::Sample& sole : soles) queries.push_back(posed_(sole.foot_mm));
    const std::vector<SurfacePoint> nearest = problem_.fore_bottom.at(queries);
    std::vector<double> over_mm;  // the bottom, or where it would go on
    for (std::size_t i = 0; i < soles.size(); ++i)
      over_mm.push_back((nearest[i].point_mm - queries[i]).dot(nearest[i].normal));
    std::vector<std::size_t> order(soles.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return over_mm[a] < over_mm[b]; });
    const std::size_t part = soles.front().part;
    const double area_mm2 = problem_.held.area_mm2[part], bearing_mm2 = kBearingShare * area_mm2;
    double left_mm2 = bearing_mm2, room_mm = 0.0;
    Vector row = Vector::Zero();
    for (const std::size_t i : order) {
      const double share = std::min(soles[i].area_mm2, left_mm2) / bearing_mm2;
      room_mm += share * over_mm[i];
      row += share * row_of(soles[i], nearest[i].normal);
      left_mm2 -= share * bearing_mm2;
    }
    add_term(part, area_mm2, room_mm - problem_.sock_mm, row, toes);
  }

  void add_sample(const HeldSkin::Sample& sample, double area_mm2, const Vec3& at, const SurfacePoint& near,
                  SampleTerm& term) {
    if (near.on_rim || is_cut_top(kExpectedRoom[sample.part].zone, near.normal)) return;
    const std::vector<std::uint8_t>& bottom = problem_.last.bottom;
    if (sample.on_floor && near.triangle < bottom.size() && bottom[near.triangle] == 0) return;
    const Vec3 away = at - near.point_mm;
    const Vec3 out = std::abs(near.distance_mm) > 1e-6 ? Vec3(away / near.distance_mm) : near.normal;
    add_term(sample.part, area_mm2, -near.distance_mm - problem_.sock_mm, row_of(sample, out), term);
  }

  /// Derivative of a sample's residual, which falls along `out`, the gradient of the signed distance.
  Vector row_of(const HeldSkin::Sample& sample, const Vec3& out) const {
    Vector row = Vector::Zero();
    row.head<7>() = -out.transpose() * posed_.jacobian(sample.foot_mm);
    row[7 + static_cast<int>(sample.part)] = -1.0;
    return row;
  }

  void add_term(std::size_t part, double area_mm2, double room_mm, const Vector& row, SampleTerm& term) {
    const ExpectedRoom& expected = kExpectedRoom[part];
    const double patches = area_mm2 / kPatchMm2, spread_mm = expected.patch_spread_mm;
    term.counts = true;
    term.residual_mm = room_mm - expected.room_mm - state_.room_mm[part];
    const Loss l = loss(term.residual_mm / spread_mm, is_under_the_foot(expected.zone));
    term.weight = l.weight;
    normal.add(row, term.residual_mm, patches * l.weight / (spread_mm * spread_mm));
    normal.cost += patches * l.value;
  }

  void add_rooms() {
    for (std::size_t part = 0; part < kParts; ++part) {
      const ExpectedRoom& expected = kExpectedRoom[part];
      const double room = state_.room_mm[part];
      double spread_mm = room < 0.0 ? expected.press_spread_mm : expected.room_spread_mm;
      if (expected.zone == Zone::toe_pads) spread_mm = std::hypot(spread_mm, problem_.held.toe_level_spread_mm);
      add_prior(7 + static_cast<int>(part), room, spread_mm);
    }
  }

  void add_points() {
    for (const PointEvidence& point : problem_.points) {
      const double residual = point.direction.dot(posed_(point.foot_mm) - point.last_mm);
      Vector row = Vector::Zero();
      row.head<7>() = point.direction.transpose() * posed_.jacobian(point.foot_mm);
      const Loss l = cauchy(residual / point.spread_mm, kPointKnee);
      normal.add(row, residual, l.weight / (point.spread_mm * point.spread_mm));
      normal.cost += l.value;
    }
  }

  void add_hinge() {
    const double angle = state_.pose.hinge_deg;
    add_prior(6, (angle - problem_.expected_hinge_deg) / kDegPerRad, kHingeSpreadDeg / kDegPerRad);
    const double beyond = angle - std::clamp(angle, kLeastHingeDeg, kMostHingeDeg);
    if (beyond != 0.0) add_prior(6, beyond / kDegPerRad, kHingeLimitSpreadDeg / kDegPerRad);
  }

  void add_prior(int unknown, double residual, double spread) {
    const double weight = 1.0 / (spread * spread);
    normal.hessian(unknown, unknown) += weight;
    normal.gradient[unknown] += weight * residual;
    normal.cost += 0.5 * weight * residual * residual;
  }

  const PoseProblem& problem_;
  const State& state_;
  std::size_t stride_;
  PosedFoot posed_;
};

State stepped(const PoseProblem& problem, const State& state, const Vector& step) {
  State next = state;
  const Vec3 hinge_mm = as_registration(problem, state.pose).hinge.point_mm;
  const Vec3 turn = step.head<3>();
  const double angle = turn.norm();
  Motion motion = Motion::Identity();
  motion.translate(hinge_mm + step.segment<3>(3));
  if (angle > 0.0) motion.rotate(Eigen::AngleAxisd(angle, turn / angle));
  motion.translate(-hinge_mm);
  next.pose.last_from_foot = motion * state.pose.last_from_foot;
  next.pose.last_from_foot.linear() =
      Eigen::Quaterniond(next.pose.last_from_foot.linear()).normalized().toRotationMatrix();
  next.pose.hinge_deg += step[6] * kDegPerRad;
  for (std::size_t part = 0; part < kParts; ++part) next.room_mm[part] += step[7 + static_cast<int>(part)];
  return next;
}

/// Largest movement of a point within about 100 mm of the joint.
double size_of(const Vector& step) {
  return step.segment<3>(3).norm() + 100.0 * (step.head<3>().norm() + std::abs(step[6]));
}

struct Descent {
  State state;
  bool converged = false;
  int iterations = 0;
};

Descent descend(const PoseProblem& problem, const State& start, std::size_t stride) {
  Descent result{start};
  double damping = 1e-3;
  Evaluation now(problem, result.state, stride);
  while (result.iterations < kMostIterations && !result.converged) {
    ++result.iterations;
    Matrix damped = now.normal.hessian.selfadjointView<Eigen::Lower>();
    damped.diagonal() *= 1.0 + damping;
    const Vector step = damped.ldlt().solve(-now.normal.gradient);
    const State next = stepped(problem, result.state, step);
    Evaluation then(problem, next, stride);
    if (then.normal.cost <= now.normal.cost) {
      result.state = next;
      now.normal = then.normal;
      damping = std::max(damping * 0.2, 1e-9);
      result.converged = size_of(step) < kSmallStep;
    } else {
      result.converged = size_of(step) < kSmallStep;  // a step this small that doesn't help: rounding of the valley
      damping = std::min(damping * 8.0, 1e6);
    }
  }
  return result;
}

/// How much further than expected foot and last differ: the mean square of the rooms in spreads. Variances are widened
/// by it (Birge, Phys. Rev. 1932): where foot and last disagree, the pose is known less well. Where they agree better
/// than expected, they are narrowed by half of what that says: a dozen rooms tell their own spread to a fifth at best.
/// A part of which nothing counted (all beside a rim) says nothing.
double misfit_ratio(const PoseSolution& solution) {
  double squares = 0.0, parts = 0.0;
  for (std::size_t part = 0; part < kParts; ++part) {
    if (solution.share_used[part] == 0.0) continue;
    const double room = solution.room_mm[part];
    const ExpectedRoom& expected = kExpectedRoom[part];
    squares += std::pow(room / (room < 0.0 ? expected.press_spread_mm : expected.room_spread_mm), 2);
    parts += 1.0;
  }
  const double ratio = parts > 0.0 ? squares / parts : 1.0;
  return ratio > 1.0 ? ratio : 0.5 * (1.0 + ratio);
}

}  // namespace

SignedDistance fore_bottom(const Last& last) {
  const double joint_x = 0.5 * (last.first_joint.x() + last.fifth_joint.x());
  std::vector<std::uint8_t> keep(last.mesh.triangles.size(), 0);
  for (std::size_t i = 0; i < last.bottom.size(); ++i)
    keep[i] = last.bottom[i] && last.mesh.vertices[last.mesh.triangles[i][0]].x() > joint_x;
  const Mesh bottom = submesh(last.mesh, keep);
  return SignedDistance(area_mm2(bottom) > 0.0 ? bottom : last.mesh);
}

Registration as_registration(const PoseProblem& problem, const Pose& pose) {
  Registration registration;
  registration.last_from_foot = pose.last_from_foot;
  registration.hinge = hinge_in_foot(problem.foot.landmarks, problem.foot_length_mm);
  registration.hinge.point_mm = pose.last_from_foot * registration.hinge.point_mm;
  registration.hinge.axis = pose.last_from_foot.linear() * registration.hinge.axis;
  registration.hinge.angle_deg = pose.hinge_deg;
  return registration;
}

PoseSolution solve_pose(const PoseProblem& problem, const Pose& start) {
  constexpr std::size_t kCoarse = 4;  // every fourth sample until it stands, then all
  const Descent coarse = descend(problem, State{start, {}}, kCoarse);
  const Descent fine = descend(problem, coarse.state, 1);
  PoseSolution solution;
  solution.pose = fine.state.pose;
  solution.room_mm = fine.state.room_mm;
  solution.converged = fine.converged;
  solution.iterations = coarse.iterations + fine.iterations;

  const Evaluation end(problem, fine.state, 1);
  solution.cost = end.normal.cost;
  std::array<double, kParts> squares = {}, counted = {};
  const auto count = [&](std::size_t part, double area_mm2, const SampleTerm& term) {
    if (!term.counts) return;
    counted[part] += area_mm2 * term.weight;
    squares[part] += area_mm2 * term.weight * term.residual_mm * term.residual_mm;
  };
  for (std::size_t i = 0; i < end.terms.size(); ++i)
    count(problem.held.samples[i].part, problem.held.samples[i].area_mm2, end.terms[i]);
  const std::size_t toes = problem.held.toe_soles.front().part;
  count(toes, problem.held.area_mm2[toes], end.toes);
  for (std::size_t part = 0; part < kParts; ++part) {
    if (counted[part] > 0.0) solution.rms_mm[part] = std::sqrt(squares[part] / counted[part]);
    if (problem.held.area_mm2[part] > 0.0) solution.share_used[part] = counted[part] / problem.held.area_mm2[part];
  }
  const Matrix hessian = end.normal.hessian.selfadjointView<Eigen::Lower>();
  solution.covariance = misfit_ratio(solution) * hessian.ldlt().solve(Matrix::Identity()).topLeftCorner<7, 7>();
  return solution;
}

}  // namespace lastroom
