#pragma once

#include <benchmark/benchmark.h>

#include <algorithm>
#include <map>

#include "geometry/parallel.h"
#include "geometry/signed_distance.h"
#include "geometry_shapes.h"

/// The same last-like bodies and clouds of points for every program here.
namespace lastroom::bench {

enum Cloud { scan_in_order, scan_shuffled, far_away };
inline const char* cloud_name(std::int64_t cloud) {
  return cloud == scan_in_order ? "scan" : cloud == scan_shuffled ? "scan shuffled" : "far";
}

/// Frequencies of geodesic balls: 20 f^2 triangles, 10 f^2 + 2 vertices.
constexpr std::int64_t k50Thousand = 50, k200Thousand = 100, k1Million = 224;  // triangles of the last
constexpr std::int64_t k50ThousandPoints = 71, k200ThousandPoints = 141, k1MillionPoints = 316;  // points of the scan

inline const Mesh& last(std::int64_t frequency, bool open) {
  static std::map<std::pair<std::int64_t, bool>, Mesh> made;
  auto [entry, fresh] = made.try_emplace({frequency, open});
  if (fresh) {
    const Mesh closed = test::last_like(static_cast<std::uint32_t>(frequency));
    entry->second = open ? test::below(closed, 45.0) : closed;
  }
  return entry->second;
}

inline const std::vector<Vec3>& points(std::int64_t frequency, std::int64_t cloud) {
  static std::map<std::pair<std::int64_t, std::int64_t>, std::vector<Vec3>> made;
  auto [entry, fresh] = made.try_emplace({frequency, cloud});
  if (fresh) {
    std::vector<Vec3>& cloud_points = entry->second;
    cloud_points = test::near_points(test::last_like(static_cast<std::uint32_t>(frequency)));
    std::mt19937 engine(1);
    if (cloud == scan_shuffled)
      for (std::size_t i = cloud_points.size() - 1; i > 0; --i)
        std::swap(cloud_points[i], cloud_points[engine() % (i + 1)]);
    if (cloud == far_away)
      for (Vec3& p : cloud_points) p = test::uniform_in(engine, Vec3::Constant(-600.0), Vec3::Constant(600.0));
  }
  return entry->second;
}

/// Nanoseconds per query as the counter `ns`, the case as the label: who | last | cloud | triangles | points | threads.
inline void tell(benchmark::State& state, const std::string& who, const Mesh& mesh, bool open, const char* cloud,
                 std::size_t queries, std::int64_t threads) {
  if (queries > 0)
    state.counters["ns"] =
        benchmark::Counter(static_cast<double>(queries) * 1e-9,
                           benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
  state.SetLabel(who + "|" + (open ? "open" : "closed") + "|" + cloud + "|" + std::to_string(mesh.triangles.size()) +
                 "|" + std::to_string(queries) + "|" + std::to_string(threads));
}

}  // namespace lastroom::bench
