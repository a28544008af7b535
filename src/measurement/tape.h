#pragma once

#include "geometry/section.h"
#include "measurement/measure.h"

namespace lastroom {

/// What a tape laid in this plane reads.
Girth taped(const Mesh& mesh, const Plane& plane);

/// The tape round the rear bottom edge of the heel and over the top of the instep, which is the highest point of
/// `instep_girth`. The edge is the heel's furthest point down and back at 45 degrees (our choice; craft references name
/// the edge and no point of it). Zero when there is no instep girth or no heel.
Girth taped_round_heel(const Mesh& mesh, const Girth& instep_girth, double heel_back_mm);

}  // namespace lastroom
