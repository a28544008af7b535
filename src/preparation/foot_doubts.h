#pragma once

#include <string>

#include "preparation/foot_landmarks.h"
#include "preparation/foot_pose.h"

namespace lastroom {

/// Throws InputError when what was scanned is no whole bare foot, or not of the side given. A scan that
/// came inside out may have been mirrored.
void refuse_unless_foot(const FootPoses& poses, const std::optional<Side>& side, bool inside_out,
                        const std::string& name);
/// Throws InputError when it has a foot's bulk but no toes that stand on the floor (a last, a shoe), unless the maker
/// has given a toe.
void refuse_without_toes(const StandingFoot& foot, double misfit, const std::string& name);
/// Throws InputError when the skin, in its final place, is a solid wall: its inner side would be taken for skin.
void refuse_inner_wall(const Mesh& mesh_mm, const std::string& name);

}  // namespace lastroom
