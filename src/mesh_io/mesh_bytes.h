#pragma once

#include <span>

#include "mesh_io/read_mesh.h"

namespace lastroom {

/// As `read_mesh`, from a file's bytes, of the formats that we read ourselves; `name` without folders, fit to be shown.
MeshFile mesh_in(const std::string& name, std::span<const char> bytes, const ReadLimits& limits = {});

/// The same of arrays, which may hold what a damaged file may. The hash is of the vertices (three binary64 each), then
/// of the triangles (three 32-bit indices each), little-endian.
MeshFile mesh_of_arrays(const std::string& name, Mesh mesh, const ReadLimits& limits = {});

}  // namespace lastroom
