// What is behind the Open3D door: rare formats, surfaces through points.

#include <doctest/doctest.h>
#include <fcntl.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "error.h"
#include "mesh_io/read_mesh.h"
#include "mesh_io_shapes.h"
#include "near.h"
#include "open3d_adapter/open3d_adapter.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

constexpr double kPi = 3.14159265358979323846;
constexpr double kRadius_mm = 60.0, kNoise_mm = 0.3;

// Points on a ball, each moved along the radius by a noise of about normal shape and a deviation of kNoise_mm (twelve
// uniform numbers have the variance 1). Above `top_mm` there are none.
std::vector<Vec3> noisy_ball(std::size_t count, unsigned seed, double top_mm = kRadius_mm) {
  std::mt19937 engine(seed);
  const auto uniform = [&] { return static_cast<double>(engine()) / 4294967296.0; };
  std::vector<Vec3> points;
  while (points.size() < count) {
    const double z = 2.0 * uniform() - 1.0, angle = 2.0 * kPi * uniform();  // Archimedes: z is uniform on a ball
    double noise = -6.0;
    for (int i = 0; i < 12; ++i) noise += uniform();
    if (z * kRadius_mm > top_mm) continue;
    const double s = std::sqrt(1.0 - z * z);
    points.push_back(Vec3(s * std::cos(angle), s * std::sin(angle), z) * (kRadius_mm + kNoise_mm * noise));
  }
  return points;
}

/// Five toes on a ball: capsules that all but touch.
struct ToedBall {
  static constexpr double kToeRadius_mm = 7.0, kToeLength_mm = 40.0, kGap_mm = 1.0, kBall_mm = 38.0;
  static Vec3 toe_mm(int toe) { return {0.0, (2.0 * kToeRadius_mm + kGap_mm) * (toe - 2), 0.0}; }
  static double from_toe_mm(int toe, const Vec3& p) {
    const Vec3 q = p - toe_mm(toe);
    return (q - Vec3(std::clamp(q.x(), 0.0, kBall_mm + kToeLength_mm), 0.0, 0.0)).norm() - kToeRadius_mm;
  }
  static double outside_mm(const Vec3& p) {  // signed; exact outside
    double least = p.norm() - kBall_mm;
    for (int toe = 0; toe < 5; ++toe) least = std::min(least, from_toe_mm(toe, p));
    return least;
  }
  /// `count` points evenly over its skin: random ones in a shell around it, let down onto it.
  static std::vector<Vec3> skin(std::size_t count, unsigned seed) {
    std::mt19937 engine(seed);
    const auto uniform = [&](double low, double high) {
      return low + (high - low) * static_cast<double>(engine()) / 4294967296.0;
    };
    const double reach_mm = kBall_mm + kToeLength_mm + kToeRadius_mm + 1.0;
    std::vector<Vec3> points;
    while (points.size() < count) {
      const Vec3 p(uniform(-kBall_mm - 1.0, reach_mm), uniform(-kBall_mm - 1.0, kBall_mm + 1.0),
                   uniform(-kBall_mm - 1.0, kBall_mm + 1.0));
      if (std::abs(outside_mm(p)) > 0.3) continue;
      constexpr double h = 1e-5;
      const Vec3 up(outside_mm(p + h * Vec3::UnitX()) - outside_mm(p - h * Vec3::UnitX()),
                    outside_mm(p + h * Vec3::UnitY()) - outside_mm(p - h * Vec3::UnitY()),
                    outside_mm(p + h * Vec3::UnitZ()) - outside_mm(p - h * Vec3::UnitZ()));
      points.push_back(p - outside_mm(p) * up.normalized());
    }
    return points;
  }
};

double spacing_mm(std::size_t count) {  // a square of this side for every point
  return std::sqrt(4.0 * kPi * kRadius_mm * kRadius_mm / static_cast<double>(count));
}

std::size_t border_edges(const Mesh& mesh) {
  std::vector<std::pair<std::uint32_t, std::uint32_t>> edges;
  for (const Triangle& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) edges.push_back(std::minmax(t[k], t[(k + 1) % 3]));
  std::sort(edges.begin(), edges.end());
  std::size_t border = 0;
  for (std::size_t i = 0; i < edges.size(); ++i)
    border += (i == 0 || edges[i] != edges[i - 1]) && (i + 1 == edges.size() || edges[i] != edges[i + 1]);
  return border;
}

/// Everything that is printed on standard output meanwhile.
template <typename Work>
std::string printed_by(const TemporaryFolder& folder, const Work& work) {
  std::fflush(stdout);
  const int usual = ::dup(1), file = ::open((folder.path / "stdout").c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600);
  ::dup2(file, 1);
  work();
  std::fflush(stdout);
  ::dup2(usual, 1);
  ::close(usual);
  ::close(file);
  return content_of(folder.path / "stdout");
}

}  // namespace

TEST_CASE("a surface through noisy points lies nearer to the truth than they do, closed and outward") {
  const std::size_t count = 20'000;
  const std::vector<Vec3> points = noisy_ball(count, 1);
  const Mesh surface = open3d_adapter::surface_from_points(points, spacing_mm(count));
  double sum = 0.0, squares = 0.0;
  for (const Vec3& v : surface.vertices) {
    sum += v.norm() - kRadius_mm;
    squares += (v.norm() - kRadius_mm) * (v.norm() - kRadius_mm);
  }
  const auto n = static_cast<double>(surface.vertices.size());
  CHECK(std::sqrt(squares / n) < kNoise_mm);
  // Bias: averaging over cells of a spacing s pulls a curved surface inwards by about s^2 / (8 r) = 0.005 mm; the
  // noise of the mean of 20 000 points is 0.3 / sqrt(20 000) = 0.002 mm. Ten times their sum.
  CHECK(sum / n == WithinMm{0.0, 0.07});
  CHECK(border_edges(surface) == 0);
  const double volume = 4.0 / 3.0 * kPi * std::pow(kRadius_mm, 3.0);
  CHECK(volume_mm3(surface) == WithinMm{volume, volume * 3.0 * 0.07 / kRadius_mm});  // dV / V = 3 dr / r

  const Mesh again = open3d_adapter::surface_from_points(points, spacing_mm(count));
  CHECK(again.vertices == surface.vertices);
  CHECK(again.triangles == surface.triangles);
}

TEST_CASE("toes that all but touch keep their insides in") {
  // A toe turned inside out gets a second skin, three steps outside its own. A crease is rounded within one step.
  const double step_mm = 1.0;
  const Mesh surface = open3d_adapter::surface_from_points(ToedBall::skin(20'000, 1), step_mm);
  double farthest_mm = 0.0;
  for (const Vec3& v : surface.vertices) farthest_mm = std::max(farthest_mm, ToedBall::outside_mm(v));
  CHECK(farthest_mm < step_mm);
}

TEST_CASE("a surface ends where the points end") {
  const std::size_t count = 20'000;
  const double top_mm = 20.0;
  const Mesh surface = open3d_adapter::surface_from_points(noisy_ball(count, 2, top_mm), spacing_mm(count));
  CHECK(border_edges(surface) > 0);
  CHECK(bounds(surface).high.z() < top_mm + 3.0 * spacing_mm(count) + kNoise_mm);  // the trimming of the module
  CHECK(bounds(surface).high.z() > top_mm - spacing_mm(count));
}

TEST_CASE("a floor scanned along with bare points becomes a sheet of its own, and draws no skirt out of the body") {
  const std::size_t count = 20'000;
  const double floor_z_mm = -kRadius_mm - 0.2, half_mm = 160.0, apart_mm = 8.0;
  std::vector<Vec3> points = noisy_ball(count, 4);
  for (double x = -half_mm; x <= half_mm; x += apart_mm)
    for (double y = -half_mm; y <= half_mm; y += apart_mm) points.emplace_back(x, y, floor_z_mm);
  const Mesh surface = open3d_adapter::surface_from_points(points, spacing_mm(count));
  double floor_mm2 = 0.0;
  for (const Triangle& t : surface.triangles) {
    const Vec3 &a = surface.vertices[t[0]], &b = surface.vertices[t[1]], &c = surface.vertices[t[2]];
    const double highest = std::max({a.z(), b.z(), c.z()});
    if (highest < floor_z_mm + 0.1) floor_mm2 += 0.5 * (b - a).cross(c - a).z();  // looks up
    if (highest < floor_z_mm + 0.1) continue;
    for (const Vec3& v : {a, b, c}) CHECK(v.norm() == WithinMm{kRadius_mm, 3.0 * kNoise_mm + 0.07});  // bias as above
  }
  // Squares of five steps, the first spacing being an extent of 320 mm over 180, are kept or left whole.
  const double square_mm = 5.0 * 2.0 * half_mm / 180.0;
  CHECK(floor_mm2 == WithinMm{4.0 * half_mm * half_mm, 8.0 * half_mm * square_mm});
}

TEST_CASE("points that are no surface are refused") {
  CHECK_THROWS_AS(open3d_adapter::surface_from_points({}, 1.0), InputError);
  CHECK_THROWS_AS(open3d_adapter::surface_from_points(noisy_ball(50, 3), 1.0), InputError);
  CHECK_THROWS_AS(open3d_adapter::surface_from_points(std::vector<Vec3>(1000, Vec3(1, 2, 3)), 1.0), InputError);
}

TEST_CASE("the reader of rare formats sees one file, whatever that names") {
  const TemporaryFolder folder;
  const std::string secret =
      folder.file("another_client.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 2 3\nf 1 2 4\n").string();
  folder.file("another_client.mtl", "newmtl a\n");
  const std::string data = folder.file("data.bin", std::string(36, '\0')).string();
  const std::string gltf =
      R"({"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"mesh":0}],"meshes":[{"primitives":)"
      R"([{"attributes":{"POSITION":0}}]}],"accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3",)"
      R"("min":[0,0,0],"max":[0,0,0]}],"bufferViews":[{"buffer":0,"byteLength":36}],"buffers":[{"byteLength":36,"uri":")" +
      data + "\"}]}";
  const auto naming = [&](const char* name, const std::string& text) {
    CAPTURE(name);
    CHECK_THROWS_AS(read_mesh(folder.file(name, text)), InputError);
  };
  // A LightWave scene and an Irrlicht scene are made of other files; the first of them was once read.
  naming("scene.lws",
         "LWSC\n3\n\nLoadObject " + secret +
             "\nShowObject 7 7\nObjectMotion (unnamed)\n9\n1\n0 0 0 0 0 0 1 1 1\n0 0 0 0 0\nEndBehavior 1\n");
  naming("scene.irr",
         "<?xml version=\"1.0\"?><irr_scene><node type=\"mesh\"><attributes><string name=\"Mesh\" value=\"" + secret +
             "\"/></attributes></node></irr_scene>");
  naming("scene.gltf", gltf);  // ours
  naming("scene.gltf2", gltf);
  naming("scene.dae",
         "<?xml version=\"1.0\"?><COLLADA version=\"1.4.1\"><library_visual_scenes><visual_scene id=\"s\"><node>"
         "<instance_geometry url=\"file://" +
             secret +
             "#g\"/></node></visual_scene></library_visual_scenes>"
             "<scene><instance_visual_scene url=\"#s\"/></scene></COLLADA>");
  naming("scene.obj", "mtllib another_client.mtl\ncall " + secret + "\n");  // ours
  naming("scene.wavefront", "mtllib " + secret + "\ncall " + secret + "\n");
}

TEST_CASE("rare formats come through the door, and failures are silent on standard output") {
  const TemporaryFolder folder;
  const MeshFile xyz = read_mesh(folder.file("points.XYZ", "0 0 0\n1 0 0\n0 1 0\n0 1 0\n"));
  CHECK(xyz.mesh.vertices.size() == 3);
  CHECK(xyz.vertices_in_file == 4);
  CHECK(xyz.sha256.size() == 64);
  const std::string pcd =
      "# .PCD v0.7\nVERSION 0.7\nFIELDS x y z\nSIZE 4 4 4\nTYPE F F F\nCOUNT 1 1 1\nWIDTH 2\nHEIGHT 1\n"
      "VIEWPOINT 0 0 0 1 0 0 0\nPOINTS 2\nDATA ascii\n1 2 3\n4 5 6\n";
  CHECK(read_mesh(folder.file("points.pcd", pcd)).mesh.vertices == std::vector<Vec3>{{1, 2, 3}, {4, 5, 6}});

  // A triangle with legs of 1, enlarged 5 times and moved by 10, 20, 30 in a scene whose unit is the millimetre;
  // COLLADA 1.4.1. Its reader gives metres.
  const std::string collada =
      R"(<?xml version="1.0"?><COLLADA xmlns="http://www.collada.org/2005/11/COLLADASchema" version="1.4.1">)"
      R"(<asset><unit meter="0.001"/><up_axis>Y_UP</up_axis></asset><library_geometries><geometry id="g"><mesh>)"
      R"(<source id="p"><float_array id="a" count="9">0 0 0 1 0 0 0 1 0</float_array><technique_common>)"
      R"(<accessor source="#a" count="3" stride="3"><param name="X" type="float"/><param name="Y" type="float"/>)"
      R"(<param name="Z" type="float"/></accessor></technique_common></source><vertices id="v">)"
      R"(<input semantic="POSITION" source="#p"/></vertices><triangles count="1"><input semantic="VERTEX" source="#v" )"
      R"(offset="0"/><p>0 1 2</p></triangles></mesh></geometry></library_geometries><library_visual_scenes>)"
      R"(<visual_scene id="s"><node id="n"><translate>10 20 30</translate><scale>5 5 5</scale>)"
      R"(<instance_geometry url="#g"/></node></visual_scene></library_visual_scenes><scene>)"
      R"(<instance_visual_scene url="#s"/></scene></COLLADA>)";
  const Mesh triangle = read_mesh(folder.file("triangle.dae", collada)).mesh;
  REQUIRE(triangle.triangles.size() == 1);
  CHECK((bounds(triangle).low - Vec3(0.010, 0.020, 0.030)).norm() < 1e-7);  // float32 of 0.03: 2^-24 * 0.03 = 2e-9
  CHECK((bounds(triangle).high - Vec3(0.015, 0.025, 0.030)).norm() < 1e-7);

  // Two thousand million points in a file of 200 bytes: Open3D takes their 48 GB before it looks.
  std::string lie = pcd;
  for (const char* count : {"WIDTH 2", "POINTS 2"}) lie.insert(lie.find(count) + std::strlen(count), "000000000");
  try {
    read_mesh(folder.file("lie.pcd", lie));
    FAIL("it was believed");
  } catch (const InputError& error) {
    CHECK(std::string(error.what()).rfind("lie.pcd: needs too much memory", 0) == 0);
  }

  for (const char* name : {"bad.fbx", "bad.dae", "bad.3ds", "bad.xyz", "bad.pcd", "bad.zip"}) {
    CAPTURE(name);
    const auto file = folder.file(name, "this is no mesh at all");
    std::string sentence;
    CHECK(printed_by(folder, [&] {
            try {
              read_mesh(file);
            } catch (const InputError& error) {
              sentence = error.what();
            }
          }) == "");
    CHECK(sentence.rfind(std::string(name) + ": ", 0) == 0);
  }
}
