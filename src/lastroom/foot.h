#pragma once

#include <string_view>

#include "lastroom/mesh.h"

namespace lastroom_v0 {

enum class Side { left, right };

/// A spot of the skin that must never be pressed: a bunion, a wound, a nail.
struct Mark {
  Vector3 at = Vector3::Zero();
  std::string what;  ///< in the maker's words; words for a wound, an ulcer ... make the wearer one at risk
};

/// The maker's own points, in the scan's coordinates and unit; missing ones are found. Heel: the rearmost point of the
/// heel (pternion); joints: the most inside point over the first metatarsal head, the most outside one over the fifth.
struct Landmarks {
  std::optional<Vector3> heel = {}, first_joint = {}, fifth_joint = {};
  std::array<std::optional<Vector3>, 5> toe_tips = {};  ///< big toe first
  std::vector<Mark> never_press = {};
};

/// The point of that name in landmarks files and result.json (heel, first_joint, fifth_joint, big_toe_tip,
/// second_toe_tip ... fifth_toe_tip); null: none is called so.
std::optional<Vector3>* landmark_called(Landmarks& landmarks, std::string_view name);

struct FootOptions {
  std::optional<Side> side = {};  ///< else told from the shape, with the chance that this is wrong
  std::optional<Unit> unit = {};  ///< else told from the size
  Landmarks landmarks = {};
  int threads = 0;  ///< at most so many at once; 0: as many as the host's oneTBB lets. No result depends on it.
};

/// A length, width or girth under the name that it has in result.json, without `_mm`. Definitions of a foot's: Lee,
/// Lin, Wang 2014 (J Foot Ankle Res); of a last's: craft references, on the 3D model (ISO 19409:2022).
struct Measure {
  std::string name;
  double mm = 0.0;
};

struct FootInside;

/// A bare foot, cleaned, stood up, measured: to be tried in many lasts. Can't be changed; copies share it.
class Foot {
 public:
  /// Throws Refused when it can't be a bare foot (a cube, a hand, two feet, half a foot ...).
  explicit Foot(const GivenMesh& scan, const FootOptions& options = {});
  Side side() const;
  double chance_of_wrong_side() const;  ///< 0 .. 0.5
  std::vector<Measure> measures() const;
  double joint_girth_sigma_mm() const;       ///< one standard deviation
  std::vector<std::string> repairs() const;  ///< in English; first, where there is one, a doubt that it is a foot
  const FootInside& inside() const { return *inside_; }  ///< for the library itself

 private:
  std::shared_ptr<const FootInside> inside_;
};

}  // namespace lastroom_v0
