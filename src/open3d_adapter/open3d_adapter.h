#pragma once

#include <filesystem>

#include "geometry/mesh.h"

/// The only door to Open3D. Its hundred shared libraries take 36 ms to load, so they live behind a module that is
/// loaded at the first call (dlopen of liblastroom_open3d.so; where it is looked for: program_files.h).
/// Same input, same output: no random step of Open3D is used unseeded.
namespace lastroom::open3d_adapter {

/// Formats that we do not read ourselves (.fbx, .dae, .3ds ...), by lastroom_open3d_reader: a program of its own, so
/// that a damaged file can neither take us along nor take more memory and time than it should. Throws InputError.
/// File's own unit.
Mesh read_rare_format(const std::filesystem::path& file, const std::string& name);

/// A surface through bare points (normals estimated and oriented, then Poisson), cut off where no points are near.
/// `spacing_mm` is the typical distance between neighbours.
Mesh surface_from_points(const std::vector<Vec3>& points_mm, double spacing_mm);

/// From now on module and reader are looked for in this folder first.
void look_first_in(const std::filesystem::path& folder);

}  // namespace lastroom::open3d_adapter
