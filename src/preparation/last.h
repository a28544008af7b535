#pragma once

#include <optional>

#include "mesh_io/read_mesh.h"
#include "preparation/last_top.h"
#include "preparation/side.h"

namespace lastroom {

/// A cleaned last standing as on the bench.
/// Last frame (contract): origin at the heel point of the bottom, +x from heel to toe along the bottom's centre line,
/// z up, right form: inside is +y. Pitch: the bottom's centre line is level under the joint (the tread touches the
/// ground there), so heel pitch and toe spring stand up from it. Roll: the bottom is level across the tread.
struct Last {
  Mesh mesh;                                   ///< welded, outward; open at the top or closed; right form, last frame
  Motion last_from_file = Motion::Identity();  ///< file point in mm -> last frame as worn (not mirrored)
  Side side = Side::right;
  double chance_of_wrong_side = 0.0;  ///< 0 .. 0.5; 0.5 for a straight last that fits either foot
  double likeness_mm = 0.0;           ///< how far it strays from a last's general shape, rms mm scaled to a 280 mm last
  bool open_at_top = false;
  LastTop top;  ///< where it ends above: skin past it is pressed by nothing

  std::vector<std::uint8_t> bottom;  ///< one per triangle: 1 on the bottom (inside the feather edge)
  std::vector<Vec3>
      feather_edge;  ///< closed polyline, no repeated point; from the heel point over the inside to the toe and back
  std::vector<Vec3> centre_line;    ///< on the bottom surface, heel point to toe end, about every 2 mm
  Vec3 heel_back = Vec3::Zero();    ///< rearmost point of the whole surface below the top edge
  Vec3 toe_end = Vec3::Zero();      ///< foremost point
  Vec3 first_joint = Vec3::Zero();  ///< most inside point of the joint (widest part), on the surface
  Vec3 fifth_joint = Vec3::Zero();
  Vec3 tread = Vec3::Zero();  ///< lowest point of the centre line under the joint; z is the ground
  bool turned_over = false;   ///< straight, and mirrored for the foot of the other side than it was taken for
  InputFacts facts;
};

/// A last whose own shape leaves more doubt of its side than this is straight: it goes on the foot that is there. Our
/// choice.
constexpr double kStraightFrom = 0.3;

struct LastPreparation {
  std::optional<LengthUnit> units;
  std::optional<Side> wearer_side;  ///< taken only for a straight last, whose own shape does not tell
};

/// Cleans a last and stands it on its tread. Soup, open top, inside out, any unit, any pose and either side are normal
/// input. Throws InputError when it can't be a last (a cube, a foot with separate toes, a flat sheet ...).
Last prepare_last(MeshFile file, const LastPreparation& settings = {});
/// A straight last, whose own shape does not tell, as one for this side; any other as it is.
Last taken_for(Side wearer_side, Last last);

}  // namespace lastroom
