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

/// Points of the skin, in the foot frame, right form.
struct FootLandmarks {
  Vec3 heel = Vec3::Zero();          ///< pternion, rearmost point of the heel (A2)
  Vec3 first_joint = Vec3::Zero();   ///< most inside point over the first metatarsal head
  Vec3 fifth_joint = Vec3::Zero();   ///< most outside point over the fifth metatarsal head
  std::array<Vec3, 5> toe_tips = {Vec3::Zero(), Vec3::Zero(), Vec3::Zero(), Vec3::Zero(), Vec3::Zero()};  ///< big toe first
  Vec3 instep = Vec3::Zero();        ///< top of the foot at 55 % of its length from the heel
  std::array<bool, 8> by_hand = {};  ///< heel, first joint, fifth joint, toe tips: given by the maker
  std::vector<MarkedSpot> never_press = {};  ///< on the skin; as the maker gave them
};

/// A cleaned, upright bare foot.
/// Foot frame: floor at z = 0, z up; origin below the heel landmark; +x to the second toe's tip (A2); right form: inside
/// is +y.
struct Foot {
  Mesh mesh;              ///< welded, outward, one component, leg cut off above the ankle; right form, foot frame
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

/// Cleans a scan and stands it up: unit by plausibility, weld, floor plane off, largest piece, leg off, outward, upright,
/// side, landmarks. Throws InputError when it can't be a bare foot (cube, hand, head, two feet, half a foot ...).
Foot prepare_foot(MeshFile scan, const FootPreparation& settings = {});

}  // namespace lastroom
