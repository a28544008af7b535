#pragma once

#include <random>
#include <string>

#include "demo/make_last.h"
#include "mesh_io/read_mesh.h"
#include "preparation/side.h"
#include "registration/registration.h"

namespace lastroom::test {

/// Portable dice: the same numbers on every platform, unlike the standard's distributions.
class Dice {
 public:
  explicit Dice(unsigned seed) : engine_(seed) {}
  double uniform(double low, double high) {
    return low + (high - low) * (static_cast<double>(engine_()) / 4294967296.0);
  }
  double normal(double mean, double spread);  ///< cut off at three spreads
  int among(int count) { return static_cast<int>(uniform(0.0, count)); }
  bool chance(double share) { return uniform(0.0, 1.0) < share; }
  Motion motion(double reach_mm);  ///< any orientation

 private:
  std::mt19937 engine_;
};

enum class FootSource { made, makehuman };

/// A foot, a last lofted around it, and where the foot stands in it: known by construction.
struct TruthCase {
  unsigned seed = 0;
  FootSource source = FootSource::made;
  FootShape foot_shape;  ///< as asked for (own generator only)
  LastShape last_shape;
  MadeFoot foot;
  MadeLast last;
  Registration truth;  ///< last_from_foot and hinge
};
TruthCase truth_case(unsigned seed, FootSource source);
/// A foot of such a case without a last.
MadeFoot random_foot(Dice& dice, FootSource source);

/// What a scanner and a user do to the two meshes before lastroom sees them.
struct Dirt {
  Side side = Side::right;
  LengthUnit scan_units = LengthUnit::millimetre, last_units = LengthUnit::millimetre;
  double noise_mm = 0.0;
  double leg_cut_mm = 1e9;
  bool holes = false, floor = false, bare_points = false;
  std::string words() const;
};
Dirt random_dirt(Dice& dice);

/// The two files, and the motions (mm, after mirroring) that were put on: file point = motion * as worn.
struct DirtyPair {
  MeshFile scan, last;
  Motion scan_from_foot = Motion::Identity(), file_from_last = Motion::Identity();
};
DirtyPair dirty(const TruthCase& clean, const Dirt& dirt, Dice& dice);

/// Both as they would be after a preparation without error.
Foot prepared_foot(const TruthCase& clean);
Last prepared_last(const TruthCase& clean);

}  // namespace lastroom::test
