#pragma once

#include "registration/registration.h"

namespace lastroom {

/// What lies under the skin, as far as it answers to being pressed.
enum class Tissue : std::uint8_t { heel_pad, fore_sole, heel_cup, upper };

/// A cell of skin that the last may press.
struct ContactSample {
  Vec3 foot_mm = Vec3::Zero();  ///< foot frame, right form
  double area_mm2 = 0.0;
  Zone zone = Zone::none;
  Tissue tissue = Tissue::upper;
  bool inside = false;    ///< of the foot's middle line
  bool bears = false;     ///< bore on the floor: as scanned it carries its share of the load, and rests at no room
  bool on_floor = false;  ///< not skin but the floor it stood on, where the sole was not scanned
};

/// Where a foot may stand nearer to one side than to the other: 0 heel, 1 joint.
constexpr std::size_t kSideRegions = 2;
std::optional<std::size_t> side_region(Zone zone);

/// A few thousand cells that stand for the foot's skin from heel to toes, and where the foot is fastened.
struct ContactSamples {
  std::vector<ContactSample> cells;
  Vec3 fastened_mm = Vec3::Zero();       ///< crest of the instep, foot frame
  double bearing_mm2 = 0.0;              ///< of the rear part's sole
  double toes_bearing_moment_mm3 = 0.0;  ///< area of the toes' bearing pads times its distance from the joint line
  std::array<double, kSideRegions> sides_mm2 = {};  ///< of both sides
  double toes_level_sigma_mm = 0.0;                 ///< one standard deviation of the height that the toes bear at
};

/// Where the floor stands for a sole that was not scanned: how high over it the skin that bears lies on average. A
/// loaded sole lies flat on it, one that was not loaded by up to 1.5 mm over it (our choice).
constexpr double kUnseenSole_mm = 0.5, kUnseenSoleSigma_mm = 0.7;

/// Likewise the toes' pads: they bear about 1 mm over the floor on made feet, 4 on body models'.
constexpr double kUnseenToes_mm = 2.5, kUnseenToesSigma_mm = 2.2;

ContactSamples contact_samples(const Foot& foot, const SkinMap& skin);

/// The same foot of the other side, in the same frame: y reversed, inside and outside exchanged (the joints too).
ContactSamples mirrored(ContactSamples samples);
FootLandmarks mirrored(FootLandmarks landmarks);

}  // namespace lastroom
