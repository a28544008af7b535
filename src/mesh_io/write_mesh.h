#pragma once

#include <string>

#include "geometry/mesh_view.h"

namespace lastroom {

struct VertexColour {
  std::uint8_t red, green, blue;
};

/// File contents as bytes (coordinates float32); writing them is OutputFolder's job.
std::string stl_binary(const Mesh& mesh);
std::string stl_ascii(const Mesh& mesh);
std::string ply_binary(const Mesh& mesh);
std::string ply_ascii(const Mesh& mesh);
std::string obj_text(const Mesh& mesh);
std::string off_text(const Mesh& mesh);
std::string glb(const Mesh& mesh);  ///< as the format wants it: metres, y up; `mesh` is in mm, z up
/// Binary PLY with a colour, a float property `clearance` and whether that is judged per vertex. All arrays have the
/// same length.
std::string ply_with_clearance(const MeshView& mesh, const std::vector<VertexColour>& colours,
                               const std::vector<float>& clearance_mm, const std::vector<std::uint8_t>& judged);
/// Binary PLY with a colour and a float property `added` per vertex.
std::string ply_with_change(const Mesh& mesh, const std::vector<VertexColour>& colours,
                            const std::vector<float>& added_mm);

}  // namespace lastroom
