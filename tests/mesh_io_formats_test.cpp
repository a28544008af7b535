// Every format there and back, and as other programs write them.

#include <doctest/doctest.h>

#include "error.h"
#include "mesh_io/raw_mesh.h"
#include "mesh_io/write_mesh.h"
#include "mesh_io_shapes.h"
#include "near.h"
#include "open3d_adapter/open3d_adapter.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

MeshFile parsed(const std::string& name, const std::string& bytes) { return parse_mesh(name, bytes, {}); }

struct Written {
  std::string name, bytes;
  double mm_per_unit;
};

std::vector<Written> in_every_format(const Mesh& mesh) {
  return {{"binary.stl", stl_binary(mesh), 1}, {"ascii.STL", stl_ascii(mesh), 1}, {"binary.ply", ply_binary(mesh), 1},
          {"ascii.ply", ply_ascii(mesh), 1},   {"text.obj", obj_text(mesh), 1},   {"text.off", off_text(mesh), 1},
          {"binary.glb", glb(mesh), 1000}};
}

// The twelve triangles of the unit cube are everybody's first mesh: eight corners, six squares, outward.
const std::array<std::array<int, 3>, 8> kCubeCorners{
    {{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 1}, {1, 1, 1}, {0, 1, 1}}};
const std::array<std::array<int, 4>, 6> kCubeSquares{
    {{0, 3, 2, 1}, {4, 5, 6, 7}, {0, 1, 5, 4}, {1, 2, 6, 5}, {2, 3, 7, 6}, {3, 0, 4, 7}}};

void check_unit_cube(const MeshFile& cube) {
  CHECK(cube.mesh.vertices.size() == 8);
  CHECK(cube.mesh.triangles.size() == 12);
  CHECK(area_mm2(cube.mesh) == WithinMm{6.0, 1e-12});  // sums of a dozen exact numbers
  CHECK(volume_mm3(cube.mesh) == WithinMm{1.0, 1e-12});
  CHECK(cube.repairs.empty());
}

std::string cube_ply(bool big_endian) {
  std::string bytes =
      std::string("ply\r\nformat ") + (big_endian ? "binary_big_endian" : "binary_little_endian") +
      " 1.0\r\ncomment a cube with everything\r\nobj_info none\r\n"
      "element material 2\r\nproperty list uchar float shine\r\nproperty double weight\r\n"
      "element vertex 8\r\nproperty uchar red\r\nproperty double x\r\nproperty list uchar short seen_by\r\n"
      "property float y\r\nproperty short z\r\n"
      "element face 6\r\nproperty uchar flags\r\nproperty list ushort uint vertex_indices\r\n"
      "property list uchar float texcoord\r\n"
      "element edge 1\r\nproperty int a\r\nproperty int b\r\nend_header\r\n";
  const auto put = [&](auto value) { append(bytes, value, big_endian); };
  for (int i = 0; i < 2; ++i) {
    put(std::uint8_t{3});
    for (int k = 0; k < 3; ++k) put(0.5f);
    put(1.0);
  }
  for (const auto& c : kCubeCorners) {
    put(std::uint8_t{200});
    put(static_cast<double>(c[0]));
    put(std::uint8_t{2});
    put(std::int16_t{-1});
    put(std::int16_t{7});
    put(static_cast<float>(c[1]));
    put(static_cast<std::int16_t>(c[2]));
  }
  for (const auto& square : kCubeSquares) {
    put(std::uint8_t{9});
    put(std::uint16_t{4});
    for (int index : square) put(static_cast<std::uint32_t>(index));
    put(std::uint8_t{1});
    put(0.25f);
  }
  put(std::int32_t{0});
  put(std::int32_t{1});
  return bytes;
}

std::string cube_lines(const char* before_face, int first_index, const char* corner_format) {
  std::string text;
  for (const auto& square : kCubeSquares) {
    text += before_face;
    for (int index : square) {
      char word[64];
      std::snprintf(word, sizeof word, corner_format, index + first_index);
      text += std::string(" ") + word;
    }
    text += "\n";
  }
  return text;
}

std::string cube_vertex_lines(const char* before, const char* after) {
  std::string text;
  for (const auto& c : kCubeCorners)
    text += before + std::to_string(c[0]) + " " + std::to_string(c[1]) + " " + std::to_string(c[2]) + after + "\n";
  return text;
}

}  // namespace

TEST_CASE("a mesh comes back from every format with the same vertices, area and volume") {
  const Mesh box = gridded_box();
  for (const Written& written : in_every_format(box)) {
    CAPTURE(written.name);
    const MeshFile file = parsed(written.name, written.bytes);
    CHECK(file.mesh.vertices.size() == box.vertices.size());
    CHECK(file.mesh.triangles.size() == box.triangles.size());
    CHECK(file.triangles_in_file == box.triangles.size());
    CHECK(file.repairs.empty());
    CHECK(file.mm_per_unit.value_or(1.0) == written.mm_per_unit);
    // Area 2 (100*50 + 50*25 + 25*100), volume 100*50*25. Whole numbers are exact; glTF's metres are rounded to
    // float32, 2^-24 relative a coordinate, so 2 and 3 times that on area and volume, and as much again for corners.
    const double scale = written.mm_per_unit, rounding = scale == 1.0 ? 1e-12 : 6.0 / (1 << 24);
    CHECK(area_mm2(file.mesh) * scale * scale == WithinMm{17500.0, 17500.0 * rounding});
    CHECK(volume_mm3(file.mesh) * scale * scale * scale == WithinMm{125000.0, 125000.0 * rounding});
  }
}

TEST_CASE("odd coordinates come back as the nearest float32, and as a float32 when a text is read") {
  Mesh mesh{{{0.1, -273.15, 1e-7}, {123456.789, 3.0e5, 0.0}, {-1.0 / 3.0, 2.5e-12, 7.0}}, {{0, 1, 2}}};
  for (const Written& written : in_every_format(mesh)) {
    if (written.mm_per_unit != 1) continue;
    CAPTURE(written.name);
    const MeshFile file = parsed(written.name, written.bytes);
    REQUIRE(file.mesh.vertices.size() == 3);
    for (std::size_t i = 0; i < 3; ++i)
      for (int k = 0; k < 3; ++k)
        CHECK(static_cast<float>(file.mesh.vertices[i][k]) == static_cast<float>(mesh.vertices[i][k]));
  }
}

TEST_CASE("assimp, behind the Open3D door, reads what we write, and the same from it as we do") {
  const TemporaryFolder folder;
  const Mesh box = gridded_box(20, 15, 10);
  for (const Written& written : in_every_format(box)) {
    CAPTURE(written.name);
    Mesh theirs = open3d_adapter::read_rare_format(folder.file(written.name, written.bytes), written.name);
    weld(theirs);
    const Mesh ours = parsed(written.name, written.bytes).mesh;
    CHECK(theirs.vertices.size() == ours.vertices.size());
    CHECK(theirs.triangles.size() == ours.triangles.size());
    const double s = written.mm_per_unit;
    CHECK(area_mm2(theirs) * s * s == WithinMm{1300.0, 1300.0 * 6.0 / (1 << 24)});  // 2 (20*15 + 15*10 + 10*20)
    CHECK(volume_mm3(theirs) * s * s * s == WithinMm{3000.0, 3000.0 * 6.0 / (1 << 24)});
    // glTF wants y up: our z is its y, our y its -z.
    CHECK(bounds(theirs).high.x() * s == WithinMm{20.0, 20.0 / (1 << 24)});
    CHECK(bounds(theirs).high[s == 1 ? 2 : 1] * s == WithinMm{10.0, 10.0 / (1 << 24)});
  }
}

TEST_CASE("PLY: binary both ways round, lists among the vertices, extra elements, other types") {
  check_unit_cube(parsed("cube.ply", cube_ply(false)));
  check_unit_cube(parsed("cube.ply", cube_ply(true)));
}

TEST_CASE("PLY: text with extra properties, old-style strips, bare points") {
  check_unit_cube(
      parsed("cube.ply",
             "ply\nformat ascii 1.0\nelement vertex 8\nproperty float nx\nproperty float x\nproperty float y\n"
             "property float z\nproperty list uchar int seen\nelement face 6\n"
             "property list uchar int vertex_index\nend_header\n" +
                 cube_vertex_lines("0.5 ", " 2 7 7") + cube_lines("4", 0, "%d")));
  // Two strips with -1 between: a square (2 triangles) and a triangle.
  const MeshFile strips =
      parsed("strips.ply",
             "ply\nformat ascii 1.0\nelement vertex 5\nproperty float x\nproperty float y\n"
             "property float z\nelement tristrips 1\nproperty list int int vertex_indices\nend_header\n"
             "0 0 0\n1 0 0\n0 1 0\n1 1 0\n2 2 0\n8 0 1 2 3 -1 3 1 4\n");
  REQUIRE(strips.mesh.triangles.size() == 3);
  for (int i = 0; i < 2; ++i) {  // both triangles of the square look the same way
    const Triangle& t = strips.mesh.triangles[static_cast<std::size_t>(i)];
    const Vec3 a = strips.mesh.vertices[t[0]], b = strips.mesh.vertices[t[1]], c = strips.mesh.vertices[t[2]];
    CHECK((b - a).cross(c - a).z() == 1.0);
  }
  const MeshFile points = parsed("points.ply",
                                 "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\n"
                                 "property float z\nend_header\n0 0 0\n1 0 0\n0 0 -0.0\n");
  CHECK(points.mesh.vertices.size() == 2);  // 0 and -0 are one place
  CHECK(points.mesh.triangles.empty());
}

TEST_CASE("OBJ: texture and normal numbers, counting backwards, polygons, colours, Windows line ends") {
  const std::string vertices = cube_vertex_lines("v ", "");
  check_unit_cube(parsed("cube.obj", vertices + cube_lines("f", 1, "%d")));
  check_unit_cube(parsed("cube.obj", "mtllib x.mtl\no cube\n" + vertices + "vt 0 0\nvn 0 0 1\ns off\nusemtl a\n" +
                                         cube_lines("f", 1, "%d/1/1")));
  check_unit_cube(parsed("cube.obj", vertices + cube_lines("f", 1, "%d//1")));
  check_unit_cube(parsed("cube.obj", vertices + cube_lines("f", 1, "%d/1")));
  check_unit_cube(parsed("cube.obj", vertices + cube_lines("f", -8, "%d")));
  check_unit_cube(parsed("cube.obj", cube_vertex_lines("v  ", " 0.5 0.5 0.5") + cube_lines("f", 1, "%d  ")));
  check_unit_cube(parsed("cube.obj", cube_lines("f", 1, "%d") + vertices));  // faces first
  const auto with_windows_line_ends = [](const std::string& text) {
    std::string windows;
    for (char c : text) windows += c == '\n' ? std::string("\r\n") : std::string(1, c);
    return windows;
  };
  check_unit_cube(parsed("cube.obj", with_windows_line_ends(vertices + cube_lines("f", 1, "%d") + "# the end")));
  const std::string wrapped = vertices + cube_lines("f", 1, "\\\n%d");
  check_unit_cube(parsed("cube.obj", wrapped));
  check_unit_cube(parsed("cube.obj", with_windows_line_ends(wrapped)));
}

TEST_CASE("OFF: comments, colours, normals, counts on the first line, no keyword") {
  const std::string faces = cube_lines("4", 0, "%d");
  check_unit_cube(parsed("cube.off", "OFF\n# a cube\n8 6 0\n\n" + cube_vertex_lines("", " # corner") + faces));
  check_unit_cube(parsed("cube.off", "OFF 8 6 12\n" + cube_vertex_lines("", "") + faces));
  check_unit_cube(parsed("cube.off", "8 6 12\n" + cube_vertex_lines("", "") + faces));
  check_unit_cube(parsed("cube.off", "COFF\n8 6 12\n" + cube_vertex_lines("", " 255 0 0 255") + faces));
  check_unit_cube(parsed("cube.off", "NOFF\n8 6 12\n" + cube_vertex_lines("", " 0 0 1") + cube_lines("4", 0, "%d")));
  check_unit_cube(parsed("cube.off", "OFF\n8 6\n" + cube_vertex_lines("", "") + faces));
}

TEST_CASE("STL: 'solid' in a binary file, several solids, upper case, junk after the end") {
  const Mesh box = gridded_box(20, 15, 10);
  std::string bytes = stl_binary(box);
  bytes.replace(0, 5, "solid");
  CHECK(parsed("box.stl", bytes).mesh.vertices.size() == box.vertices.size());
  const MeshFile longer = parsed("box.stl", bytes + "junk!");
  CHECK(longer.mesh.vertices.size() == box.vertices.size());
  REQUIRE(longer.repairs.size() == 1);
  CHECK(english(longer.repairs[0]) == "5 bytes after the last triangle were ignored.");

  std::string text = stl_ascii(box);
  const std::size_t middle = text.find("facet normal", text.size() / 2);
  text.insert(middle, "endsolid one\nsolid two words\n");
  for (char& c : text) c = c >= 'a' && c <= 'z' && c != 'e' ? static_cast<char>(c - 32) : c;  // but not exponents
  const MeshFile upper = parsed("box.stl", text);
  CHECK(upper.mesh.vertices.size() == box.vertices.size());
  CHECK(upper.mesh.triangles.size() == box.triangles.size());
  CHECK(upper.repairs.empty());
}

TEST_CASE("glTF: node tree, mirror, strips and fans, embedded base64") {
  // One square in the plane z = 0, corners (0,0) (1,0) (0,1) (1,1) as a strip; base64 made by coreutils' base64.
  std::string corners;
  for (float c : {0.f, 0.f, 0.f, 1.f, 0.f, 0.f, 0.f, 1.f, 0.f, 1.f, 1.f, 0.f}) append(corners, c);
  CHECK(corners.size() == 48);
  const std::string data =
      "data:application/octet-stream;base64,AAAAAAAAAAAAAAAAAACAPwAAAAAAAAAAAAAAAAAAgD8AAAAAAACAPwAAgD8AAAAA";
  const auto document = [&](const std::string& nodes, const std::string& primitive) {
    return R"({"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":)" + nodes +
           R"(,"meshes":[{"primitives":[)" + primitive +
           R"(]}],"accessors":[{"bufferView":0,"componentType":5126,)"
           R"("count":4,"type":"VEC3"}],"bufferViews":[{"buffer":0,"byteLength":48}],"buffers":[{"byteLength":48,"uri":")" +
           data + R"("}]})";
  };
  const auto up = [](const Mesh& mesh) {  // twice the area along z, signed
    double sum = 0.0;
    for (const Triangle& t : mesh.triangles) {
      const Vec3 a = mesh.vertices[t[0]], b = mesh.vertices[t[1]], c = mesh.vertices[t[2]];
      sum += (b - a).cross(c - a).z();
    }
    return sum;
  };
  const std::string strip = R"({"attributes":{"POSITION":0},"mode":5})",
                    fan = R"({"attributes":{"POSITION":0},"mode":6})";
  const MeshFile plain = parsed("square.gltf", document(R"([{"mesh":0}])", strip));
  CHECK(plain.mesh.vertices.size() == 4);
  CHECK(plain.mesh.triangles.size() == 2);
  CHECK(plain.mm_per_unit.value() == 1000.0);
  CHECK(up(plain.mesh) == 2.0);
  CHECK(parsed("square.gltf", document(R"([{"mesh":0}])", fan)).mesh.triangles.size() == 2);

  // A parent twice as large, its child 10 to the right and mirrored in x: x' = 2 (10 - x); still facing up.
  const MeshFile moved_square = parsed(
      "square.gltf",
      document(R"([{"scale":[2,2,2],"children":[1]},{"mesh":0,"translation":[10,0,0],"scale":[-1,1,1]}])", strip));
  CHECK(bounds(moved_square.mesh).low.isApprox(Vec3(18, 0, 0)));
  CHECK(bounds(moved_square.mesh).high.isApprox(Vec3(20, 2, 0)));
  CHECK(up(moved_square.mesh) == 8.0);
  // A quarter turn about z: x' = -y, y' = x. sin 45 = cos 45 = sqrt(1/2).
  const MeshFile turned =
      parsed("square.gltf", document(R"([{"mesh":0,"rotation":[0,0,0.7071067811865476,0.7071067811865476]}])", strip));
  CHECK((bounds(turned.mesh).low - Vec3(-1, 0, 0)).norm() == WithinMm{0.0, 1e-12});
  // The same turn as a matrix by columns.
  const MeshFile by_matrix =
      parsed("square.gltf", document(R"([{"mesh":0,"matrix":[0,1,0,0,-1,0,0,0,0,0,1,0,5,6,7,1]}])", strip));
  CHECK((bounds(by_matrix.mesh).low - Vec3(4, 6, 7)).norm() == WithinMm{0.0, 1e-12});
}

TEST_CASE("PLY with the clearance: colour and number on every vertex, as the header promises") {
  const Mesh mesh{{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}}, {{0, 1, 2}}};
  const std::string bytes =
      ply_with_clearance(mesh, {{1, 2, 3}, {255, 0, 0}, {0, 0, 255}}, {-1.5f, 0.0f, 2.25f}, {1, 0, 1});
  const std::string end = "end_header\n";
  const std::size_t data = bytes.find(end) + end.size();
  CHECK(bytes.find("property uchar red\nproperty uchar green\nproperty uchar blue\nproperty float clearance\n"
                   "property uchar judged\n") < data);
  REQUIRE(bytes.size() == data + 3 * (3 * 4 + 3 + 4 + 1) + 1 + 3 * 4);
  std::string second;
  for (float c : {1.0f, 0.0f, 0.0f}) append(second, c);
  second += std::string("\xFF\0\0", 3);
  append(second, 0.0f);
  second += '\0';
  CHECK(bytes.substr(data + 20, 20) == second);
  const MeshFile file = parsed("clearance.ply", bytes);
  CHECK(file.mesh.vertices == mesh.vertices);
  CHECK(file.mesh.triangles == mesh.triangles);
}

TEST_CASE("bare points come back from the formats that can hold them") {
  const Mesh points{{{1, 2, 3}, {4, 5, 6}, {-7, 8, 9}}, {}};
  for (const Written& written : in_every_format(points)) {
    if (written.name.find("stl") != std::string::npos || written.name.find("STL") != std::string::npos) continue;
    CAPTURE(written.name);
    const MeshFile file = parsed(written.name, written.bytes);
    CHECK(file.mesh.vertices.size() == 3);
    CHECK(file.mesh.triangles.empty());
    CHECK(file.repairs.empty());
  }
}

TEST_CASE("welding: first place kept, order kept, duplicates gone, and the same as a plain loop does") {
  Mesh mesh{{{1, 0, 0}, {0, 0, 0}, {1, -0.0, 0}, {0, 1, 0}, {0.0, -0.0, 0}}, {{0, 1, 3}, {2, 4, 3}, {0, 2, 3}}};
  CHECK(weld(mesh) == 2);
  CHECK(mesh.vertices == std::vector<Vec3>{{1, 0, 0}, {0, 0, 0}, {0, 1, 0}});
  CHECK(mesh.triangles == std::vector<Triangle>{{0, 1, 2}});

  Mesh many;  // 5000 points on a 10 x 10 x 10 grid, by a linear congruence (Knuth's MMIX constants)
  std::uint64_t state = 1;
  for (int i = 0; i < 5000; ++i) {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    const std::uint64_t n = state >> 33;
    many.vertices.emplace_back(static_cast<double>(n % 10), static_cast<double>(n / 10 % 10),
                               static_cast<double>(n / 100 % 10) - 5.0);
  }
  std::vector<Vec3> plain;
  for (const Vec3& v : many.vertices)
    if (std::find(plain.begin(), plain.end(), v) == plain.end()) plain.push_back(v);
  CHECK(weld(many) == 5000 - plain.size());
  CHECK(many.vertices == plain);
}
