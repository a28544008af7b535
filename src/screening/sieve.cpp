#include "screening/sieve.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

// What the pose may change beyond the raised heel that is reckoned with. Our choice, about twice what was seen on some
// hundred pairs; tests/shelf_proof.cpp holds them. Larger ones only cost checks.
constexpr double kHeelToJointGive_mm = 5.0;  // the foot's turn in plan, and a pitch other than the heel height says
constexpr double kLengthGive_mm = 5.0;       // the same for the whole foot, and the toes' turn about the joint
constexpr double kHeelGive_mm = 1.5;         // the heel's 5th percentile and median against the gap behind it

class Least {
 public:
  Least(const Rules& rules, Wearer wearer) : rules_(rules), wearer_(wearer) {}
  const Limits& limits(RuleId rule) const { return limits_for(rule_by(rules_, rule), wearer_); }
  void consider(double mm, RuleId rule) {
    // What is within its limits is no finding, so it has no say in the margin (margin.h).
    if (mm < 0.0 && mm < least_.most_margin_mm) least_ = {mm, rule};
  }
  void difference(RuleId rule, double difference_mm) {
    if (const auto margin = difference_margin_mm(rule_by(rules_, rule), wearer_, difference_mm))
      consider(*margin, rule);
  }
  const UpperBound& found() const { return least_; }

 private:
  const Rules& rules_;
  Wearer wearer_;
  UpperBound least_{std::numeric_limits<double>::infinity(), {}};
};

}  // namespace

UpperBound margin_upper_bound(const Foot& foot, const FootMeasures& foot_measures, const LastMeasures& last,
                              const Rules& rules, const AssessmentSettings& settings, double sock_mm) {
  Least least(rules, settings.wearer);

  // Girths and heel height: what the full check compares, so these are exact. Of a standard wearer it tells girths only
  // where the room along the tape denies them, and the joint only where the last's outline tells it: nothing is
  // foretold.
  const bool told_as_measured = settings.wearer != Wearer::standard;
  const double sock_girth_mm = 2.0 * std::numbers::pi * sock_mm;
  const auto girth = [&](RuleId rule, const Girth& of_last, const Girth& of_foot) {
    if (told_as_measured && of_last.mm > 0.0 && of_foot.mm > 0.0)
      least.difference(rule, of_last.mm - of_foot.mm - sock_girth_mm);
  };
  girth(RuleId::joint_girth, last.joint_girth, foot_measures.joint_girth);
  girth(RuleId::waist_girth, last.waist_girth, foot_measures.waist_girth);
  girth(RuleId::instep_girth, last.instep_girth, foot_measures.instep_girth);
  girth(RuleId::heel_girth, last.heel_girth, foot_measures.heel_girth);
  least.difference(RuleId::heel_height, last.heel_height_mm);

  // Lengths: the rear part stands with its heel raised over the joint.
  const double slope_ratio = std::clamp(last.heel_height_mm / std::max(1.0, last.heel_to_joint_mm), -0.9, 0.9);
  const double level_ratio = std::sqrt(1.0 - slope_ratio * slope_ratio);
  const Vec3 heel_to_joint = foot.landmarks.first_joint - foot.landmarks.heel;
  const double rear_mm = heel_to_joint.x() * level_ratio + heel_to_joint.z() * slope_ratio;
  if (told_as_measured && last.heel_to_joint_mm > 0.0)
    least.difference(RuleId::heel_to_joint,
                     std::max(0.0, std::abs(last.heel_to_joint_mm - rear_mm) - kHeelToJointGive_mm));

  // What the last is longer than the foot as it stands lies behind the heel or before the toes (`spare` = gap +
  // allowance). Too short: the toes need the allowance's watch limit and the heel its own, so the better share of what
  // is missing is half of it. Too long: at a margin m the gap is at most 2 (slack - m), as the heel's median is at
  // least half the gap behind it, and the allowance at most its slack - m: together 3 m is missing.
  const double foot_mm =
      foot_measures.heel_to_joint_mm * level_ratio + (foot_measures.length_mm - foot_measures.heel_to_joint_mm);
  const double spare_mm = last.stick_length_mm - foot_mm;
  const Limits &heel = least.limits(rule_of(Zone::heel_back)), &tip = least.limits(RuleId::allowance);
  const double needed_mm = tip.watch_below_mm + heel.watch_below_mm;
  least.consider((spare_mm + kLengthGive_mm + kHeelGive_mm - needed_mm) / 2.0, RuleId::allowance);
  if (heel.slack_above_mm && tip.slack_above_mm) {
    const double most_mm = *tip.slack_above_mm + 2.0 * (*heel.slack_above_mm + kHeelGive_mm) + 3.0 * sock_mm;
    least.consider((most_mm - spare_mm + kLengthGive_mm) / 3.0, RuleId::allowance);
  }
  return least.found();
}

}  // namespace lastroom
