// Why a query costs what it costs: the search itself, run on lanes that count what they do and what memory they fetch.
// Prints JSON: per query, the nodes and leaves looked at, the triangles finished in double, and the cache lines that a
// second-level cache of 1 MiB does not hold.
//   build/bench_work

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "bench_cases.h"
#include "geometry/hierarchy.h"

namespace lastroom {
namespace {

/// A cache of 8 ways and 64-byte lines that forgets what was used longest ago (this project's measuring machine's
/// second level; its real one also fetches ahead, so its misses cost less than these).
class Cache {
 public:
  void touch(const void* from, std::size_t bytes) {
    const auto first = reinterpret_cast<std::uintptr_t>(from) / kLine;
    const auto last = (reinterpret_cast<std::uintptr_t>(from) + bytes - 1) / kLine;
    for (std::uintptr_t line = first; line <= last; ++line) misses += !hold(line);
  }
  std::uint64_t misses = 0;

 private:
  static constexpr std::size_t kLine = 64, kWays = 8, kSets = (1 << 20) / kLine / kWays;
  bool hold(std::uintptr_t line) {
    auto& set = sets_[line % kSets];
    const auto found = std::find(set.begin(), set.end(), line);
    const bool held = found != set.end();
    std::rotate(set.begin(), held ? found : set.end() - 1, held ? found + 1 : set.end());
    set.front() = line;
    return held;
  }
  std::vector<std::array<std::uintptr_t, kWays>> sets_ = std::vector<std::array<std::uintptr_t, kWays>>(kSets);
};

struct Work {
  std::uint64_t loads = 0, divisions = 0, finished = 0;
  Cache cache;
};
Work* work = nullptr;

struct Float8 {
  float lanes[kLanes];
  static Float8 load(const float* from) {
    ++work->loads;
    work->cache.touch(from, sizeof lanes);
    Float8 result;
    std::copy(from, from + kLanes, result.lanes);
    return result;
  }
  static Float8 all(float value) {
    Float8 result;
    std::fill(result.lanes, result.lanes + kLanes, value);
    return result;
  }
  void store(float* to) const { std::copy(lanes, lanes + kLanes, to); }
};
template <class Operation>
Float8 each(const Float8& a, const Float8& b, const Operation& operation) {
  Float8 result;
  for (int k = 0; k < kLanes; ++k) result.lanes[k] = operation(a.lanes[k], b.lanes[k]);
  return result;
}
Float8 operator+(const Float8& a, const Float8& b) { return each(a, b, std::plus<>()); }
Float8 operator-(const Float8& a, const Float8& b) { return each(a, b, std::minus<>()); }
Float8 operator*(const Float8& a, const Float8& b) { return each(a, b, std::multiplies<>()); }
Float8 operator/(const Float8& a, const Float8& b) {
  ++work->divisions;
  return each(a, b, std::divides<>());
}
Float8 min(const Float8& a, const Float8& b) {
  return each(a, b, [](float x, float y) { return std::min(x, y); });
}
Float8 max(const Float8& a, const Float8& b) {
  return each(a, b, [](float x, float y) { return std::max(x, y); });
}
Float8 abs(const Float8& a) {
  return each(a, a, [](float x, float) { return std::abs(x); });
}
Float8 zero_where_positive(const Float8& sign, const Float8& value) {
  return each(sign, value, [](float s, float v) { return s > 0.0F ? 0.0F : v; });
}
float least_lane(const Float8& a) { return *std::min_element(a.lanes, a.lanes + kLanes); }
unsigned lanes_not_above(const Float8& a, float limit) {
  unsigned mask = 0;
  for (int k = 0; k < kLanes; ++k) mask |= static_cast<unsigned>(a.lanes[k] <= limit) << k;
  return mask;
}

}  // namespace
}  // namespace lastroom

#include "geometry/nearest_search_kernel.h"

namespace lastroom::bench {
namespace {

// A node loads its frames' nine rows and three of half sizes, a leaf nine and three of corners; only a leaf divides,
// twice.
constexpr std::uint64_t kLoadsEach = 12, kDivisionsPerLeaf = 2;

/// The double finish reads the triangle and its corners.
void finish(NearTies& ties) {
  const Mesh& mesh = *static_cast<const Mesh*>(ties.finish);
  for (int i = 0; i < ties.count; ++i) {
    if (ties.squared[i] > ties.limit) continue;
    const Triangle& triangle = mesh.triangles[ties.triangle[i]];
    ++work->finished;
    work->cache.touch(&triangle, sizeof triangle);
    for (std::uint32_t corner : triangle) work->cache.touch(&mesh.vertices[corner], sizeof(Vec3));
  }
  ties.count = 0;
}

void ask_all(const Mesh& mesh, const Hierarchy& hierarchy, const std::vector<Vec3>& cloud) {
  std::uint32_t leaf = kNoSeed;
  for (const Vec3& p_mm : cloud) {
    const Vec3 p = p_mm - hierarchy.centre_mm;
    NearTies ties;
    ties.finish = const_cast<Mesh*>(&mesh);
    ties.settle = finish;
    const auto rounding_mm = static_cast<float>((p.norm() + hierarchy.radius_mm) * 4.0 * 0x1p-24);
    const Eigen::Vector3f q = p.cast<float>();
    search_nearest<Float8>(hierarchy, {q.x(), q.y(), q.z(), rounding_mm, leaf}, ties);
    finish(ties);
    leaf = ties.best_leaf;
  }
}

std::string work_of(std::int64_t frequency) {
  const Mesh& mesh = last(frequency, false);
  const Hierarchy hierarchy = build_hierarchy(mesh, distance_boxes(mesh));
  const std::vector<Vec3>& cloud = points(k200ThousandPoints, scan_in_order);
  Work counted;
  work = &counted;
  ask_all(mesh, hierarchy, cloud);
  const auto per_query = [&](std::uint64_t count) {
    return static_cast<double>(count) / static_cast<double>(cloud.size());
  };
  const std::uint64_t leaves = counted.divisions / kDivisionsPerLeaf, nodes = counted.loads / kLoadsEach - leaves;
  return fmt::format(
      R"({{"triangles": {}, "points": {}, "nodes": {:.2f}, "leaves": {:.2f}, "finished": {:.2f}, "misses": {:.2f}}})",
      mesh.triangles.size(), cloud.size(), per_query(nodes), per_query(leaves), per_query(counted.finished),
      per_query(counted.cache.misses));
}

}  // namespace
}  // namespace lastroom::bench

int main() {
  using namespace lastroom::bench;
  fmt::print("[{},\n {},\n {}]\n", work_of(k50Thousand), work_of(k200Thousand), work_of(k1Million));
}
