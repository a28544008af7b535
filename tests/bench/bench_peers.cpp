// The same questions to general-purpose libraries and to us, in one run. Every case says by how much the distances
// differ from ours (`differs_mm`), so that like is compared with like.
//   build/bench_peers --benchmark_repetitions=5 --benchmark_report_aggregates_only=true

#include <CGAL/AABB_face_graph_triangle_primitive.h>
#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/Side_of_triangle_mesh.h>
#include <CGAL/Simple_cartesian.h>
#include <CGAL/Surface_mesh.h>
#include <embree3/rtcore.h>
#include <open3d/core/Tensor.h>
#include <open3d/t/geometry/RaycastingScene.h>
#include <tbb/parallel_for.h>
#ifdef LASTROOM_WITH_VTK
#include <vtkCellArray.h>
#include <vtkImplicitPolyDataDistance.h>
#include <vtkNew.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>
#endif

#include <nanoflann.hpp>

#include "bench_cases.h"

namespace lastroom::bench {
namespace {

/// One thread's worth of work per call; every peer is asked in blocks as we are.
template <class Ask>
std::vector<double> ask_each(const std::vector<Vec3>& cloud, const Ask& ask) {
  std::vector<double> answer(cloud.size());
  for_blocks(cloud.size(), 1024, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) answer[i] = ask(cloud[i]);
  });
  return answer;
}

std::vector<double> ours(const SignedDistance& distance, const std::vector<Vec3>& cloud) {
  std::vector<double> answer;
  for (const SurfacePoint& p : distance.at(cloud)) answer.push_back(p.distance_mm);
  return answer;
}

struct Lastroom {
  static constexpr const char* kName = "lastroom";
  static constexpr bool kSigned = true;
  SignedDistance distance;
  explicit Lastroom(const Mesh& mesh) : distance(mesh) {}
  std::vector<double> operator()(const std::vector<Vec3>& cloud) const { return ours(distance, cloud); }
};

/// Unsigned: Debian's Open3D 0.16.1 gets every sign wrong (its ray mask is 0 where Debian's Embree honours masks).
struct Open3D {
  static constexpr const char* kName = "Open3D ComputeDistance (unsigned)";
  static constexpr bool kSigned = false;
  open3d::t::geometry::RaycastingScene scene;
  explicit Open3D(const Mesh& mesh) {
    std::vector<float> vertices;
    std::vector<std::uint32_t> triangles;
    for (const Vec3& v : mesh.vertices)
      for (int k = 0; k < 3; ++k) vertices.push_back(static_cast<float>(v[k]));
    for (const Triangle& t : mesh.triangles) triangles.insert(triangles.end(), t.begin(), t.end());
    const auto rows = [](std::size_t n) { return open3d::core::SizeVector{static_cast<std::int64_t>(n), 3}; };
    scene.AddTriangles(open3d::core::Tensor(vertices, rows(mesh.vertices.size()), open3d::core::Float32),
                       open3d::core::Tensor(triangles, rows(mesh.triangles.size()), open3d::core::UInt32));
  }
  std::vector<double> operator()(const std::vector<Vec3>& cloud) {
    std::vector<float> flat;
    for (const Vec3& p : cloud)
      for (int k = 0; k < 3; ++k) flat.push_back(static_cast<float>(p[k]));
    const open3d::core::Tensor points(flat, {static_cast<std::int64_t>(cloud.size()), 3}, open3d::core::Float32);
    // Open3D's thread count is its argument; ours is the limit in force.
    const std::vector<float> found = scene.ComputeDistance(points, threads).ToFlatVector<float>();
    return {found.begin(), found.end()};
  }
  int threads = 1;
};

struct Cgal {
  static constexpr const char* kName = "CGAL AABB tree + Side_of_triangle_mesh";
  static constexpr bool kSigned = true;
  using Kernel = CGAL::Simple_cartesian<double>;
  using Surface = CGAL::Surface_mesh<Kernel::Point_3>;
  using Tree = CGAL::AABB_tree<CGAL::AABB_traits<Kernel, CGAL::AABB_face_graph_triangle_primitive<Surface>>>;
  Surface surface;
  Tree tree;
  std::unique_ptr<CGAL::Side_of_triangle_mesh<Surface, Kernel>> side;
  explicit Cgal(const Mesh& mesh) {
    for (const Vec3& v : mesh.vertices) surface.add_vertex({v.x(), v.y(), v.z()});
    for (const Triangle& t : mesh.triangles)
      surface.add_face(Surface::Vertex_index(t[0]), Surface::Vertex_index(t[1]), Surface::Vertex_index(t[2]));
    tree.insert(faces(surface).first, faces(surface).second, surface);
    tree.accelerate_distance_queries();
    if (CGAL::is_closed(surface)) side = std::make_unique<CGAL::Side_of_triangle_mesh<Surface, Kernel>>(tree);
  }
  std::vector<double> operator()(const std::vector<Vec3>& cloud) const {
    return ask_each(cloud, [&](const Vec3& p) {
      const Kernel::Point_3 q(p.x(), p.y(), p.z());
      const double distance = std::sqrt(tree.squared_distance(q));
      return side && (*side)(q) == CGAL::ON_BOUNDED_SIDE ? -distance : distance;
    });
  }
};

struct Embree {
  static constexpr const char* kName = "Embree rtcPointQuery (unsigned)";
  static constexpr bool kSigned = false;
  const Mesh& mesh;
  RTCDevice device = rtcNewDevice(nullptr);
  RTCScene scene = rtcNewScene(device);
  explicit Embree(const Mesh& from) : mesh(from) {
    RTCGeometry geometry = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
    auto* vertices = static_cast<float*>(rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3,
                                                                 3 * sizeof(float), mesh.vertices.size()));
    for (const Vec3& v : mesh.vertices)
      for (int k = 0; k < 3; ++k) *vertices++ = static_cast<float>(v[k]);
    auto* triangles = static_cast<std::uint32_t*>(rtcSetNewGeometryBuffer(
        geometry, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, 3 * sizeof(std::uint32_t), mesh.triangles.size()));
    for (const Triangle& t : mesh.triangles) triangles = std::copy(t.begin(), t.end(), triangles);
    rtcCommitGeometry(geometry);
    rtcAttachGeometry(scene, geometry);
    rtcReleaseGeometry(geometry);
    rtcCommitScene(scene);
  }
  Embree(const Embree&) = delete;
  Embree& operator=(const Embree&) = delete;
  ~Embree() {
    rtcReleaseScene(scene);
    rtcReleaseDevice(device);
  }
  /// Ericson 2005, "Real-time collision detection", section 5.1.5: by regions.
  static float squared(const Eigen::Vector3f& p, const Eigen::Vector3f& a, const Eigen::Vector3f& b,
                       const Eigen::Vector3f& c) {
    const Eigen::Vector3f ab = b - a, ac = c - a, ap = p - a, bp = p - b, cp = p - c;
    const float d1 = ab.dot(ap), d2 = ac.dot(ap), d3 = ab.dot(bp), d4 = ac.dot(bp), d5 = ab.dot(cp), d6 = ac.dot(cp);
    if (d1 <= 0 && d2 <= 0) return ap.squaredNorm();
    if (d3 >= 0 && d4 <= d3) return bp.squaredNorm();
    const float vc = d1 * d4 - d3 * d2;
    if (vc <= 0 && d1 >= 0 && d3 <= 0) return (ap - d1 / (d1 - d3) * ab).squaredNorm();
    if (d6 >= 0 && d5 <= d6) return cp.squaredNorm();
    const float vb = d5 * d2 - d1 * d6;
    if (vb <= 0 && d2 >= 0 && d6 <= 0) return (ap - d2 / (d2 - d6) * ac).squaredNorm();
    const float va = d3 * d6 - d5 * d4;
    if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0)
      return (bp - (d4 - d3) / ((d4 - d3) + (d5 - d6)) * (c - b)).squaredNorm();
    const float whole = va + vb + vc;
    return (ap - vb / whole * ab - vc / whole * ac).squaredNorm();
  }
  static bool visit(RTCPointQueryFunctionArguments* arguments) {
    const auto& from = *static_cast<const Mesh*>(arguments->userPtr);
    const Triangle& t = from.triangles[arguments->primID];
    const Eigen::Vector3f p(arguments->query->x, arguments->query->y, arguments->query->z);
    const float found = squared(p, from.vertices[t[0]].cast<float>(), from.vertices[t[1]].cast<float>(),
                                from.vertices[t[2]].cast<float>());
    if (!(found < arguments->query->radius * arguments->query->radius)) return false;
    arguments->query->radius = std::sqrt(found);
    return true;
  }
  std::vector<double> operator()(const std::vector<Vec3>& cloud) const {
    return ask_each(cloud, [&](const Vec3& p) {
      RTCPointQuery query{static_cast<float>(p.x()), static_cast<float>(p.y()), static_cast<float>(p.z()), 0.0F,
                          std::numeric_limits<float>::infinity()};
      RTCPointQueryContext context;
      rtcInitPointQueryContext(&context);
      rtcPointQuery(scene, &query, &context, visit, const_cast<Mesh*>(&mesh));
      return static_cast<double>(query.radius);
    });
  }
};

struct NearestVertex {
  static constexpr const char* kName = "nanoflann nearest vertex (unsigned, not the surface)";
  static constexpr bool kSigned = false;
  struct Points {
    const Mesh& mesh;
    std::size_t kdtree_get_point_count() const { return mesh.vertices.size(); }
    double kdtree_get_pt(std::size_t i, std::size_t k) const { return mesh.vertices[i][static_cast<Eigen::Index>(k)]; }
    template <class B>
    bool kdtree_get_bbox(B&) const {
      return false;
    }
  };
  using Index = nanoflann::KDTreeSingleIndexAdaptor<nanoflann::L2_Simple_Adaptor<double, Points>, Points, 3>;
  Points vertices;
  Index index;
  explicit NearestVertex(const Mesh& mesh)
      : vertices{mesh}, index(3, vertices, nanoflann::KDTreeSingleIndexAdaptorParams(10)) {
    index.buildIndex();
  }
  std::vector<double> operator()(const std::vector<Vec3>& cloud) const {
    return ask_each(cloud, [&](const Vec3& p) {
      std::uint32_t nearest = 0;
      double squared_mm2 = 0.0;
      index.knnSearch(p.data(), 1, &nearest, &squared_mm2);
      return std::sqrt(squared_mm2);
    });
  }
};

#ifdef LASTROOM_WITH_VTK
struct Vtk {
  static constexpr const char* kName = "VTK vtkImplicitPolyDataDistance";
  static constexpr bool kSigned = true;
  vtkNew<vtkImplicitPolyDataDistance> distance;
  explicit Vtk(const Mesh& mesh) {
    vtkNew<vtkPoints> vertices;
    vertices->SetDataTypeToDouble();
    for (const Vec3& v : mesh.vertices) vertices->InsertNextPoint(v.data());
    vtkNew<vtkCellArray> triangles;
    for (const Triangle& t : mesh.triangles) triangles->InsertNextCell({t[0], t[1], t[2]});
    vtkNew<vtkPolyData> surface;
    surface->SetPoints(vertices);
    surface->SetPolys(triangles);
    distance->SetInput(surface);
    distance->EvaluateFunction(0.0, 0.0, 0.0);  // builds what it builds at the first question
  }
  std::vector<double> operator()(const std::vector<Vec3>& cloud) {  // one thread: its locator is not shared
    std::vector<double> answer;
    for (const Vec3& p : cloud) answer.push_back(distance->EvaluateFunction(p.x(), p.y(), p.z()));
    return answer;
  }
};
#endif

template <class Peer>
void build(benchmark::State& state) {
  const Mesh& mesh = last(state.range(0), false);
  set_thread_limit(static_cast<int>(state.range(1)));
  for (auto _ : state) benchmark::DoNotOptimize(Peer(mesh));
  tell(state, std::string(Peer::kName) + " build", mesh, false, "-", 0, state.range(1));
}

template <class Peer>
void ask(benchmark::State& state) {
  const bool open = state.range(3) != 0;
  const Mesh& mesh = last(state.range(0), open);
  const std::vector<Vec3>& cloud = points(state.range(1), state.range(2));
  set_thread_limit(static_cast<int>(state.range(4)));
  Peer peer(mesh);
  if constexpr (requires { peer.threads; }) peer.threads = static_cast<int>(state.range(4));
  std::vector<double> answer;
  for (auto _ : state) answer = peer(cloud);
  const std::vector<double> expected = ours(SignedDistance(mesh), cloud);
  double differs_mm = 0.0, signs = 0.0;
  for (std::size_t i = 0; i < cloud.size(); ++i) {
    differs_mm = std::max(differs_mm, std::abs(std::abs(answer[i]) - std::abs(expected[i])));
    signs += Peer::kSigned && (answer[i] < 0.0) != (expected[i] < 0.0);
  }
  state.counters["differs_mm"] = differs_mm;
  if (Peer::kSigned) state.counters["other_signs"] = signs;
  tell(state, Peer::kName, mesh, open, cloud_name(state.range(2)), cloud.size(), state.range(4));
}

void cases(benchmark::internal::Benchmark* b) {
  for (const std::int64_t threads : {1, 2}) {
    b->Args({k50Thousand, k50ThousandPoints, scan_in_order, 0, threads});
    b->Args({k200Thousand, k200ThousandPoints, scan_in_order, 0, threads});
  }
  b->Args({k1Million, k200ThousandPoints, scan_in_order, 0, 1});
  b->Args({k200Thousand, k50ThousandPoints, scan_in_order, 1, 1});
  b->Args({k200Thousand, k50ThousandPoints, far_away, 0, 1});
  b->ArgNames({"f", "scan_f", "cloud", "open", "threads"})->Unit(benchmark::kMillisecond)->UseRealTime();
}
void sizes(benchmark::internal::Benchmark* b) {
  b->ArgsProduct({{k50Thousand, k200Thousand, k1Million}, {1, 2}})
      ->ArgNames({"f", "threads"})
      ->Unit(benchmark::kMillisecond)
      ->UseRealTime();
}

BENCHMARK_TEMPLATE(ask, Lastroom)->Apply(cases);
BENCHMARK_TEMPLATE(ask, Open3D)->Apply(cases);
BENCHMARK_TEMPLATE(ask, Cgal)->Apply(cases);
BENCHMARK_TEMPLATE(ask, Embree)->Apply(cases);
BENCHMARK_TEMPLATE(ask, NearestVertex)->Apply(cases);
BENCHMARK_TEMPLATE(build, Lastroom)->Apply(sizes);
// Open3D builds at its first question, with Embree's commit.
BENCHMARK_TEMPLATE(build, Cgal)->Apply(sizes);
BENCHMARK_TEMPLATE(build, Embree)->Apply(sizes);
BENCHMARK_TEMPLATE(build, NearestVertex)->Apply(sizes);
#ifdef LASTROOM_WITH_VTK
BENCHMARK_TEMPLATE(ask, Vtk)
    ->Args({k50Thousand, k50ThousandPoints, scan_in_order, 0, 1})
    ->Args({k200Thousand, k200ThousandPoints, scan_in_order, 0, 1})
    ->ArgNames({"f", "scan_f", "cloud", "open", "threads"})
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK_TEMPLATE(build, Vtk)->Apply(sizes);
#endif

}  // namespace
}  // namespace lastroom::bench

BENCHMARK_MAIN();
