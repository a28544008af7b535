#pragma once

// What lastroom_open3d_reader, a program of its own, says on its standard output: ReaderHeader, then the vertices as
// three doubles each, then the triangles as three std::uint32_t each. And how it ends.

#include <cstdint>

namespace lastroom::open3d_adapter {

struct ReaderHeader {
  std::uint64_t vertices, triangles;
};

enum ReaderStatus : int { kRead = 0, kNoMesh = 1, kOutOfMemory = 2, kNotShutIn = 3 };

/// Memory and computing time that a strange file may take. Our choice: 20 million triangles take 0.5 GB.
constexpr std::uint64_t kReaderBytes = 4'000'000'000, kReaderSeconds = 60;

}  // namespace lastroom::open3d_adapter
