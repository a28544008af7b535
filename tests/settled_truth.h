#pragma once

#include <array>
#include <vector>

#include "last_wall.h"
#include "registration/registration.h"
#include "truth_cases.h"

namespace lastroom::test {

/// What is not known of a foot and a shoe. Elastic foundation: pressure per depth. Ranges: heel pad Naemi et al. 2016
/// (doi 10.5772/64170), soft tissue Cheung, Zhang et al. 2005 (J Biomech 38:1045), the leather's give, the fastening
/// and the flexing moment our choice. A foot with room at its sides stands anywhere between them.
struct Physics {
  double heel_pad_N_mm3 = 0.0235, fore_sole_ratio = 1.3, sides_N_mm3 = 0.0165, heel_cup_N_mm3 = 0.0225;
  double weight_N = 350.0;
  double fastening_N = 40.0, fastening_down_deg = 45.0;
  double flexing_Nmm = 1250.0;
  double aside = 0.0;  ///< -1 .. 1: how far of the way that a light push moves it; positive: to the inside
};
Physics drawn_physics(Dice& dice);  ///< the defaults are the middles of its ranges

/// A piece of skin that may bear on the last.
struct Contact {
  Vec3 at = Vec3::Zero();  ///< foot frame
  double area_mm2 = 0.0;
  enum class Part : std::uint8_t { seat, tread, pad, heel_round, heel_cup, fore_sole, side, other } part = Part::other;
};
/// The skin in pieces of about `cell_mm`: of the sole that bore on the floor (seat, tread, pads) and of all the rest.
std::vector<Contact> contacts(const Foot& foot, double cell_mm = 6.0);

/// A standing foot: rear part rigid, fore part hinged as in the contract.
struct SettledPose {
  Motion last_from_foot = Motion::Identity();
  double hinge_deg = 0.0;
  double energy_Nmm = 0.0;
};

/// Where forces balance: the least of the energy of weight, fastening and pressed skin, sought by a quasi-Newton
/// descent (Broyden, Fletcher, Goldfarb, Shanno) on the exact distances. Sole that bore on the floor carries its
/// pressure p0 when it lies on the bottom, max(0, p0 + k press) else; all other skin resists pressing only; the sides'
/// rooms balance by 1/200 of that.
SettledPose settled(const Foot& foot, const std::vector<Contact>& skin, const LastWall& last, const Physics& physics,
                    const SettledPose& start, double push_N = 0.0);
/// The same, as far aside as the draw says: between where forces balance and where they do under a push of 10 N, half
/// at the heel, half at the joints (our choice; a step pushes sideways by some 5 % of the weight, from memory).
SettledPose settled_aside(const Foot& foot, const std::vector<Contact>& skin, const LastWall& last,
                          const Physics& physics, const SettledPose& start);
/// The energy alone, for tests by other searches; what the shoe can press is that of `held_at`.
double energy_Nmm(const Foot& foot, const std::vector<Contact>& skin, const LastWall& last, const Physics& physics,
                  const SettledPose& pose, const SettledPose& held_at = {});

/// Heel at the last's back, joints over its tread, toes on its bottom.
SettledPose start_in(const Foot& foot, const MadeLast& last);

/// The pose for one draw of the physics, and how far others come: what nobody can know from two shapes.
struct SettledTruth {
  Registration pose;
  Registration middle;               ///< by the middle of all ranges
  std::vector<Registration> others;  ///< by further draws
};
SettledTruth settled_truth(const Foot& foot, const MadeLast& last, const LastWall& wall, unsigned seed, int others = 0);

/// One draw of the physics, from where the foot stood before in a last of about the same shape.
SettledTruth settled_from(const Foot& foot, const LastWall& wall, const Physics& physics, const Registration& before);

/// The skin of `foot` at a pose, by the contract's hinge (own code).
std::vector<Vec3> posed_skin(const Foot& foot, const Registration& pose);

}  // namespace lastroom::test
