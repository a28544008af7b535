#pragma once

#include <span>

#include "mesh_io/read_mesh.h"

namespace lastroom {

/// As `read_mesh`, from a file's bytes, of the formats that we read ourselves; `name` without folders, fit to be shown.
MeshFile mesh_in(const std::string& name, std::span<const char> bytes, const ReadLimits& limits = {});

}  // namespace lastroom
