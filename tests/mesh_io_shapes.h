#pragma once

#include <unistd.h>

#include <cstring>
#include <filesystem>
#include <fstream>
#include <string>

#include "geometry/mesh.h"

namespace lastroom::test {

/// A closed box with corners at whole millimetres and every face cut into squares of 5 mm: all coordinates are exact as
/// float32 and as short decimals. Area 2 (ab + bc + ca), volume abc.
inline Mesh gridded_box(int a_mm = 100, int b_mm = 50, int c_mm = 25) {
  constexpr int kStep = 5;
  const std::array<int, 3> size{a_mm, b_mm, c_mm};
  Mesh mesh;
  std::vector<std::uint32_t> index_at(1000000, 0xFFFFFFFFu);
  const auto vertex = [&](const std::array<int, 3>& p) {
    std::uint32_t& index = index_at[static_cast<std::size_t>((p[0] / kStep * 100 + p[1] / kStep) * 100 + p[2] / kStep)];
    if (index == 0xFFFFFFFFu) {
      index = static_cast<std::uint32_t>(mesh.vertices.size());
      mesh.vertices.emplace_back(p[0], p[1], p[2]);
    }
    return index;
  };
  for (std::size_t axis = 0; axis < 3; ++axis)
    for (bool high : {false, true}) {
      const std::size_t u = (axis + 1) % 3, v = (axis + 2) % 3;
      for (int i = 0; i < size[u]; i += kStep)
        for (int j = 0; j < size[v]; j += kStep) {
          const auto corner = [&](int di, int dj) {
            std::array<int, 3> p{};
            p[axis] = high ? size[axis] : 0;
            p[u] = i + di;
            p[v] = j + dj;
            return vertex(p);
          };
          std::array<std::uint32_t, 4> q{corner(0, 0), corner(kStep, 0), corner(kStep, kStep), corner(0, kStep)};
          if (!high) std::swap(q[1], q[3]);  // outwards
          mesh.triangles.push_back({q[0], q[1], q[2]});
          mesh.triangles.push_back({q[0], q[2], q[3]});
        }
    }
  return mesh;
}

/// A folder for one test, gone after it.
class TemporaryFolder {
 public:
  TemporaryFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "lastroom-test-XXXXXX").string();
    path = ::mkdtemp(name.data());
  }
  ~TemporaryFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path, ignored);
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  std::filesystem::path file(const std::string& name, std::string_view bytes) const {
    std::ofstream(path / name, std::ios::binary) << bytes;
    return path / name;
  }

  std::filesystem::path path;
};

inline std::string content_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

template <typename T>
void append(std::string& bytes, T value, bool big_endian = false) {
  char raw[sizeof(T)];
  std::memcpy(raw, &value, sizeof value);
  if (big_endian) std::reverse(raw, raw + sizeof raw);
  bytes.append(raw, sizeof raw);
}

}  // namespace lastroom::test
