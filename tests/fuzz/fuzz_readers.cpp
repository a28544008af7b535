// Random bytes against every reader: each input is read or refused with InputError, and what is read is sound.
// Built and run by tests/fuzz.sh.
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdlib>

#include "error.h"
#include "mesh_io/raw_mesh.h"

using namespace lastroom;

// The first byte picks the reader, the others are the file.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  constexpr std::array kNames{"a.stl", "a.ply", "a.obj", "a.off", "a.glb", "a.gltf"};
  if (size == 0) return 0;
  const std::span<const char> bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  ReadLimits limits;
  limits.largest_triangles = 1'000'000;
  try {
    const MeshFile file = parse_mesh(kNames[data[0] % kNames.size()], bytes, limits);
    if (file.mesh.vertices.empty()) std::abort();
    for (const Vec3& v : file.mesh.vertices)
      if (!v.allFinite()) std::abort();
    for (const Triangle& t : file.mesh.triangles) {
      for (std::uint32_t corner : t)
        if (corner >= file.mesh.vertices.size()) std::abort();
      if (t[0] == t[1] || t[1] == t[2] || t[2] == t[0]) std::abort();
    }
  } catch (const InputError&) {
  }
  return 0;
}
