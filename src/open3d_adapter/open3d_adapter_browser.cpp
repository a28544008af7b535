#include "open3d_adapter/open3d_adapter.h"

#include "error.h"

namespace lastroom::open3d_adapter {

Mesh surface_from_points(const std::vector<Vec3>&, double) { throw InputError(Message{"open3d.not_in_browser"}); }

}  // namespace lastroom::open3d_adapter
