#include "error.h"
#include "mesh_io/raw_mesh.h"
#include "mesh_io/text_scanner.h"

namespace lastroom {

// Bare points as text: x, y, z first on every line, anything behind them. Lines that begin otherwise are headings.
RawMesh read_points(const std::string& name, std::span<const char> bytes, const ReadLimits& limits) {
  RawMesh raw;
  TextScanner text(name, bytes);
  const auto begins_number = [](char c) { return (c >= '0' && c <= '9') || c == '-' || c == '+' || c == '.'; };
  for (text.skip_space_and_comments(); !text.at_end(); text.skip_space_and_comments()) {
    if (begins_number(text.peek())) {
      Vec3 point;
      for (int axis = 0; axis < 3; ++axis) {
        if (text.line_is_over()) text.cut_off();
        point[axis] = text.number();
      }
      raw.mesh.vertices.push_back(point);
      if (raw.mesh.vertices.size() > 3 * limits.largest_triangles)
        check_limits(name, raw.mesh.vertices.size(), 0, limits);
    }
    text.skip_line();
  }
  raw.vertices_in_file = raw.mesh.vertices.size();
  return raw;
}

}  // namespace lastroom
