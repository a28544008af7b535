#pragma once

#include <string>
#include <vector>

#include "geometry/mesh.h"
#include "message.h"

namespace lastroom {

enum class Side { left, right };
enum class LengthUnit { millimetre, centimetre, metre, inch };
enum class Told { by_option, by_guess };

double mm_per(LengthUnit unit);
std::string_view unit_name(LengthUnit unit);  ///< "mm", "cm", "m", "in": as on the command line and in result.json
Message unit_message(LengthUnit unit);        ///< within a sentence
std::string_view side_name(Side side);        ///< "left", "right"

/// Right form: every left foot and left last is mirrored at y = 0 when it is prepared, so that all rooms from
/// preparation to assessment compute a right foot, its inside at +y. Outputs go back through these two.
Vec3 as_worn(Side side, const Vec3& right_form_mm);
/// The motion between right forms (of the same side) as a motion between as-worn frames. Is its own inverse.
Motion as_worn(Side side, const Motion& right_form);

/// What is known of an input file after preparation; printed in every output.
struct InputFacts {
  std::string file;  ///< name only, no folders
  std::string sha256;
  std::uint64_t vertices = 0, triangles = 0;  ///< as in the file
  LengthUnit units = LengthUnit::millimetre;
  Told units_from = Told::by_guess;
  std::vector<Message> repairs;  ///< plain sentences, in the order in which they were made
};

}  // namespace lastroom
