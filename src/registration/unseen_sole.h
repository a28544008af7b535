#pragma once

#include "registration/contact_samples.h"

namespace lastroom {

/// A sole that was not scanned, as the floor it stood on: cells of `cell_mm` that fill the openings which the skin
/// leaves near the floor, rounded up to their rims.
std::vector<ContactSample> unseen_sole(const Foot& foot, double cell_mm);

}  // namespace lastroom
