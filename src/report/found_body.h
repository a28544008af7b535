#pragma once

#include "measurement/measure.h"
#include "report/svg.h"
#include "words/words.h"

namespace lastroom {

/// A point that was found, and what the picture calls it.
struct FoundPoint {
  std::string label;
  Vec3 at = Vec3::Zero();
  double sigma_along_mm = 0.0;         ///< of its place from heel to toe, one standard deviation; 0: not drawn
  bool inside = true, outside = true;  ///< the profiles that show it; in plan it is named on the inside if not outside
};

/// A tape's loop.
struct FoundLine {
  std::string label;
  std::vector<Vec3> loop;
  bool named_outside = false;  ///< in plan; else on the inside
  bool named_below = false;    ///< in profile; else above
};

/// A body as it was read, with what was found on it, to be looked at. In mm, as worn; of a foot in the foot frame, of a
/// last in the last frame, of what is neither on its longest axis.
struct FoundBody {
  Mesh mesh;
  Side side = Side::right;
  std::vector<FoundPoint> points;
  std::vector<FoundLine> lines;                  ///< from the toes to the heel
  std::vector<FoundPoint> toes;                  ///< numbers, "2–4" for a group, in brackets where one is missing
  std::vector<std::array<Vec3, 2>> toe_borders;  ///< those that were seen
  bool in_mm = true;                             ///< false: its unit is not known, and no scale is drawn
};

/// With the landmarks under the names that a landmarks file has for them.
FoundBody found_on(const Foot& foot, const FootMeasures& measures, const Words& words);
FoundBody found_on(const Last& last, const LastMeasures& measures, const Words& words);
/// What could not be stood up: laid on its longest axis, its box's next longest side level. Brought to a length of
/// 250 mm unless `mm_per_unit` is known. Nothing when it holds no surface that can be drawn.
std::optional<FoundBody> found_as_read(const Mesh& mesh, const std::optional<double>& mm_per_unit);

/// What a landmarks file would hold for what was found: names, and places in the scan file's own coordinates and unit.
struct FileLandmark {
  std::string name;   ///< "fifth_joint"
  std::string place;  ///< "[12.3, -4.5, 60.2]"
  bool by_hand = false, missing = false;
  double sigma_along_mm = 0.0;
};
std::vector<FileLandmark> file_landmarks(const Foot& foot);

/// The foot as it was read with what was found on it, what the points are called in a landmarks file, and what to do if
/// one is wrong.
void add_found_foot(pugi::xml_node parent, const Foot& foot, const FootMeasures& measures, const Words& words);
void add_found_last(pugi::xml_node parent, const Last& last, const LastMeasures& measures, const Words& words);

/// From above and from both sides, to one scale.
void add_found_views(pugi::xml_node parent, const FoundBody& body, const std::string& what, const Words& words);

}  // namespace lastroom
