#pragma once

#include <optional>

#include "mesh_io/read_mesh.h"
#include "preparation/side.h"

namespace lastroom {

/// A spot of the skin that the maker marked as never to be pressed: a bunion, a wound, a nail.
struct MarkedSpot {
  Vec3 at = Vec3::Zero();
  std::string what;  ///< in the maker's words; may be empty
};

/// What parts a toe from the next one: a line in plan along which it was seen, or is taken to lie.
struct ToeBorder {
  Vec2 root = Vec2::Zero(), tip = Vec2::Zero();  ///< where the toes begin to part, and between their ends
  double probability = 1.0;  ///< that this is the border of these two toes, and not of their neighbours
  bool seen = true;          ///< surely enough for each of the two toes to be spoken of alone
};

/// Neighbouring toes of which it can't be told where one ends and the next begins; most groups are one toe.
struct ToeGroup {
  std::size_t first = 0, last = 0;  ///< 0 is the big toe
  double probability = 1.0;         ///< that these toes and no others are in it
  bool operator==(const ToeGroup&) const = default;
};

/// Points of the skin, in the foot frame, right form.
struct FootLandmarks {
  Vec3 heel = Vec3::Zero();                                       ///< pternion, rearmost point of the heel (A2)
  Vec3 first_joint = Vec3::Zero();                                ///< most inside point over the first metatarsal head
  Vec3 fifth_joint = Vec3::Zero();                                ///< most outside point over the fifth metatarsal head
  double first_joint_sigma_mm = 1.5, fifth_joint_sigma_mm = 1.5;  ///< of their place along x, one standard deviation
  std::array<Vec3, 5> toe_tips = {Vec3::Zero(), Vec3::Zero(), Vec3::Zero(), Vec3::Zero(),
                                  Vec3::Zero()};                   ///< big toe first; estimates inside a group
  std::array<ToeBorder, 4> toe_borders = {};                       ///< between the big and the second toe first
  std::array<bool, 5> toe_there = {true, true, true, true, true};  ///< false: missing; its tip is where the stump ends
  Vec3 instep = Vec3::Zero();                ///< top of the foot at 55 % of its length from the heel
  std::array<bool, 8> by_hand = {};          ///< heel, first joint, fifth joint, toe tips: given by the maker
  std::vector<MarkedSpot> never_press = {};  ///< on the skin; as the maker gave them
};

/// Heel to the longest toe tip along the foot's axis.
double foot_length_mm(const FootLandmarks& landmarks);

/// The toes from one seen border to the next, big toe first; five of one toe each on a foot whose toes stand apart.
std::vector<ToeGroup> toe_groups(const FootLandmarks& landmarks);
/// The group that a toe (0 is the big toe) belongs to.
ToeGroup group_of_toe(const FootLandmarks& landmarks, std::size_t toe);
/// "big toe", "fifth toe", "second to fourth toe", "toes" (all five).
Message toe_message(const ToeGroup& group);

/// A cleaned, upright bare foot.
/// Foot frame: floor at z = 0, z up; origin below the heel landmark; +x to the second toe's tip (A2); right form:
/// inside is +y.
struct Foot {
  Mesh mesh;  ///< welded, outward, one component, leg cut off above the ankle; right form, foot frame
  Motion foot_from_scan = Motion::Identity();  ///< scan-file point in mm -> foot frame as worn (not mirrored)
  Side side = Side::right;
  Told side_from = Told::by_guess;
  double chance_of_wrong_side = 0.0;  ///< 0 .. 0.5
  double likeness_mm = 0.0;  ///< how far it strays from a bare foot's general shape, rms mm scaled to a 250 mm foot
  bool sole_missing = false;
  FootLandmarks landmarks;
  InputFacts facts;
};

/// Landmarks given by the maker: scan-file coordinates in the file's unit; missing ones are found.
struct HandLandmarks {
  std::optional<Vec3> heel, first_joint, fifth_joint;
  std::array<std::optional<Vec3>, 5> toe_tips;
  std::vector<MarkedSpot> never_press;
};

struct FootPreparation {
  std::optional<Side> side;
  std::optional<LengthUnit> units;
  HandLandmarks landmarks;
};

/// Cleans a scan and stands it up: unit by plausibility, weld, floor plane off, largest piece, leg off, outward,
/// upright, side, landmarks. Throws InputError when it can't be a bare foot (cube, hand, head, two feet, half a foot
/// ...).
Foot prepare_foot(MeshFile scan, const FootPreparation& settings = {});

}  // namespace lastroom
