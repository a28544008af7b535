#pragma once

#include <optional>
#include <string>

#include "geometry/mesh.h"
#include "geometry/section.h"
#include "message.h"
#include "preparation/foot_cloud.h"

namespace lastroom {

/// A scan reduced to one foot's skin, in the scan's own frame and unit.
struct CleanScan {
  Mesh mesh;                   ///< outward
  FootCloud cloud;             ///< of it, 110 cells along its diagonal: about 3 mm on a foot with some leg
  std::optional<Plane> floor;  ///< normal upwards: a floor that was scanned along and taken away
  bool inside_out = false;     ///< as a whole; was turned
  std::vector<Message> repairs;
};

/// Takes a scanned floor away, then loose pieces, then turns the skin outwards. `name` is the file's, for messages.
/// Throws InputError for two feet or nothing.
CleanScan clean_scan(Mesh mesh, const std::string& name);

}  // namespace lastroom
