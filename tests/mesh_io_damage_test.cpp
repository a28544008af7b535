// Files that can't be used, or only in part.

#include <doctest/doctest.h>
#include <sys/stat.h>

#include <chrono>
#include <limits>

#include "error.h"
#include "mesh_io/raw_mesh.h"
#include "mesh_io/write_mesh.h"
#include "mesh_io_shapes.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

std::string refusal(const std::string& name, const std::string& bytes, const ReadLimits& limits = {}) {
  try {
    parse_mesh(name, bytes, limits);
  } catch (const InputError& error) {
    return error.what();
  }
  return "accepted";
}

std::string refusal(const std::filesystem::path& file, const ReadLimits& limits = {}) {
  try {
    read_mesh(file, limits);
  } catch (const InputError& error) {
    return error.what();
  }
  return "accepted";
}

bool says(const std::string& sentence, const std::string& name, const std::string& what) {
  const bool right = sentence.rfind(name + ": ", 0) == 0 && sentence.find(what) != std::string::npos &&
                     sentence.find("; ") != std::string::npos && sentence.find('\n') == std::string::npos &&
                     sentence.find('/') == std::string::npos;
  if (!right) MESSAGE(sentence);
  return right;
}

std::string ply_of(const std::string& vertices, const std::string& faces, int n_vertices, int n_faces) {
  return "ply\nformat ascii 1.0\nelement vertex " + std::to_string(n_vertices) +
         "\nproperty float x\nproperty float y\nproperty float z\nelement face " + std::to_string(n_faces) +
         "\nproperty list uchar int vertex_indices\nend_header\n" + vertices + faces;
}

std::vector<std::string> told(const std::vector<Message>& repairs) {
  std::vector<std::string> sentences;
  for (const Message& repair : repairs) sentences.push_back(english(repair));
  return sentences;
}

}  // namespace

TEST_CASE("what is no file at all has its own sentence") {
  const TemporaryFolder folder;
  CHECK(says(refusal(folder.path / "none.stl"), "none.stl", "no such file"));
  CHECK(says(refusal(folder.file("empty.stl", "")), "empty.stl", "is empty"));
  std::filesystem::create_directory(folder.path / "folder.stl");
  CHECK(says(refusal(folder.path / "folder.stl"), "folder.stl", "is a folder"));
  REQUIRE(::mkfifo((folder.path / "pipe.stl").c_str(), 0600) == 0);
  CHECK(says(refusal(folder.path / "pipe.stl"), "pipe.stl", "not an ordinary file"));
  CHECK(says(refusal(folder.file("mesh.xyzw", "hello")), "mesh.xyzw", "no mesh can be read"));
  CHECK(says(refusal(folder.file("noending", "hello")), "noending", "no mesh can be read"));
  CHECK(says(refusal(folder.file("large.stl", std::string(1000, 'x')), {.largest_file_bytes = 999}), "large.stl",
             "not accepted"));
}

TEST_CASE("a name may hold anything") {
  const TemporaryFolder folder;
  const auto file = folder.file("Fu\xC3\x9F {} %s 'x'.stl", stl_binary(gridded_box(5, 5, 5)));
  const MeshFile read = read_mesh(file);
  CHECK(read.name == "Fu\xC3\x9F {} %s 'x'.stl");
  CHECK(read.mesh.vertices.size() == 8);
  // A line end, and what turns a terminal red (ECMA-48).
  CHECK(read_mesh(folder.file("a\nb\x1B[31mc.stl", stl_binary(gridded_box(5, 5, 5)))).name == "a?b?[31mc.stl");
}

TEST_CASE("SHA-256 of the file's bytes") {
  // The figure is from coreutils: printf 'v 0 0 0\n' | sha256sum
  const TemporaryFolder folder;
  CHECK(read_mesh(folder.file("one.obj", "v 0 0 0\n")).sha256 ==
        "b49022de9ec4400da95347d7471cc259153c908595f24a4e99555352d2cdd384");
}

TEST_CASE("texts and other kinds under a wrong name") {
  CHECK(says(refusal("t.stl", "Dear Sir, please find attached the scan of the left foot."), "t.stl", "is a text"));
  CHECK(says(refusal("t.stl", "solid advice\nis what you need\n"), "t.stl", "is a text"));
  CHECK(says(refusal("t.stl", ply_binary(gridded_box(5, 5, 5))), "t.stl", "is a ply file"));
  CHECK(says(refusal("t.obj", glb(gridded_box(5, 5, 5))), "t.obj", "is a glb file"));
  CHECK(says(refusal("t.ply", "solid x\nendsolid x\n"), "t.ply", "is not a PLY"));
  CHECK(says(refusal("t.off", "solid x\nendsolid x\n"), "t.off", "is not an OFF"));
  CHECK(says(refusal("t.glb", "solid x and more of it\nendsolid x\n"), "t.glb", "glTF"));
  CHECK(says(refusal("t.obj", "hello\nworld\n"), "t.obj", "no vertices"));
  CHECK(says(refusal("t.stl", "solid x\nendsolid x\n"), "t.stl", "no vertices"));
}

TEST_CASE("claims larger than the file are refused at once") {
  std::string stl(84, '\0');
  stl.replace(80, 4, "\xFF\xFF\xFF\xFF");
  CHECK(says(refusal("lie.stl", stl), "lie.stl", "4294967295 triangles but holds 0"));
  const std::string vertices = "\nproperty float x\nproperty float y\nproperty float z\n";
  for (const char* format : {"ascii", "binary_little_endian", "binary_big_endian"}) {
    const std::string head = std::string("ply\nformat ") + format + " 1.0\n";
    for (const char* count : {"4000000000", "18446744073709551615"}) {
      CHECK(says(refusal("lie.ply", head + "element vertex " + count + vertices + "end_header\n"), "lie.ply",
                 "too short"));
      CHECK(says(refusal("lie.ply", head + "element vertex 0" + vertices + "element face " + count +
                                        "\nproperty list uchar int vertex_indices\nend_header\n"),
                 "lie.ply", "too short"));
      CHECK(says(refusal("lie.ply", head + "element junk " + count + "\nproperty list uint double x\nelement vertex 1" +
                                        vertices + "end_header\n"),
                 "lie.ply", "too short"));
    }
  }
  std::string list =
      "ply\nformat binary_little_endian 1.0\nelement face 1\nproperty list uint int vertex_indices\nend_header\n";
  append(list, std::uint32_t{0xFFFFFFFF});
  CHECK(says(refusal("lie.ply", list), "lie.ply", "cut off"));
  CHECK(says(refusal("lie.off", "OFF\n4000000000 0 0\n"), "lie.off", "too short"));
  CHECK(says(refusal("lie.off", "OFF\n1 4000000000 0\n0 0 0\n"), "lie.off", "too short"));
  CHECK(says(refusal("lie.off", "OFF\n1 1 0\n0 0 0\n4000000000 0 0"), "lie.off", "cut off"));
}

TEST_CASE("a file that is almost all holes is not read to its end") {
  const TemporaryFolder folder;
  // A binary STL whose header says 30 million triangles, as large as that, of which 84 bytes are on the disk.
  constexpr std::uint32_t kTriangles = 30'000'000;
  std::string head(84, '\0');
  std::memcpy(head.data() + 80, &kTriangles, 4);
  const std::filesystem::path file = folder.file("holes.stl", head);
  std::filesystem::resize_file(file, 84 + 50ull * kTriangles);
  ReadLimits limits;
  limits.largest_triangles = 40'000'000;
  const auto start = std::chrono::steady_clock::now();
  CHECK_THROWS_WITH_AS(read_mesh(file, limits),
                       "holes.stl: is almost all holes, and no mesh (1500.0 MB by name); copy or export it again",
                       InputError);
  // Reading 1.5 GB takes longer than this on any disk or memory of today (some 10 GB/s at best).
  CHECK(std::chrono::steady_clock::now() - start < std::chrono::milliseconds(100));
}

TEST_CASE("limits are kept") {
  const Mesh box = gridded_box();
  const ReadLimits few{.largest_triangles = 100};
  for (const auto& [name, bytes] : std::vector<std::pair<std::string, std::string>>{{"m.stl", stl_binary(box)},
                                                                                    {"m.stl", stl_ascii(box)},
                                                                                    {"m.ply", ply_binary(box)},
                                                                                    {"m.ply", ply_ascii(box)},
                                                                                    {"m.obj", obj_text(box)},
                                                                                    {"m.off", off_text(box)},
                                                                                    {"m.glb", glb(box)}}) {
    CAPTURE(bytes.substr(0, 10));
    CHECK(says(refusal(name, bytes, few), name, "not accepted"));
  }
}

TEST_CASE("a cut-off file never passes for a whole one") {
  const Mesh box = gridded_box(20, 15, 10);
  for (const auto& [name, bytes] : std::vector<std::pair<std::string, std::string>>{{"cut.stl", stl_binary(box)},
                                                                                    {"cut.stl", stl_ascii(box)},
                                                                                    {"cut.ply", ply_binary(box)},
                                                                                    {"cut.ply", ply_ascii(box)},
                                                                                    {"cut.off", off_text(box)},
                                                                                    {"cut.glb", glb(box)}}) {
    // Where a text ends does not show if only its last line end or a digit of the last number is missing.
    for (std::size_t size = 1; size + 20 < bytes.size(); size += 1 + size / 40) {
      const std::string sentence = refusal(name, bytes.substr(0, size));
      if (sentence != "accepted") {
        CHECK(says(sentence, name, ""));
        continue;
      }
      CAPTURE(size);
      const MeshFile part = parse_mesh(name, bytes.substr(0, size), {});  // an ASCII STL cut between two facets
      REQUIRE(part.repairs.size() == 1);
      CHECK(english(part.repairs[0]).find("may be cut off") != std::string::npos);
    }
  }
}

TEST_CASE("numbers: what is none, and what is one after all") {
  CHECK(says(refusal("n.obj", "v 0 0 0\nv 1,5 0 0\n"), "n.obj", "line 2 has '1,5'"));
  CHECK(says(refusal("n.obj", "v 0 0\n"), "n.obj", "cut off"));
  CHECK(says(refusal("n.obj", "v 0 0 0\nf 1 x 3\n"), "n.obj", "line 2 has 'x'"));
  const Mesh mesh = parse_mesh("n.obj",
                               std::string("v +1 .5 5.\nv 1e2 -1.25E-2 123456789012345678901234567890\n"
                                           "v 0.1 0.30000000000000004 4.35\nv 1e-400 -0 0.9007199254740993"),
                               {})
                        .mesh;
  REQUIRE(mesh.vertices.size() == 3);  // the second is beyond 1e12
  CHECK(mesh.vertices[0] == Vec3(1.0, 0.5, 5.0));
  CHECK(mesh.vertices[1] == Vec3(0.1, 0.30000000000000004, 4.35));  // as the compiler reads them
  CHECK(mesh.vertices[2] == Vec3(0.0, 0.0, 0.9007199254740993));
}

TEST_CASE("what can't be used of a mesh is dropped and told") {
  // A square of two triangles, then: a missing vertex, a repeated corner, two repetitions (one turned), a NaN corner.
  const std::string vertices = "0 0 0\n1 0 0\n1 1 0\n0 1 0\nnan 0 0\n1 1 -0.0\n9 9 9\n";
  const std::string faces = "3 0 1 2\n3 0 2 3\n3 0 1 99\n3 0 1 -1\n3 1 1 2\n3 2 5 3\n3 2 0 1\n3 2 1 0\n3 0 1 4\n";
  const MeshFile file = parse_mesh("sick.ply", ply_of(vertices, faces, 7, 9), {});
  CHECK(file.vertices_in_file == 7);
  CHECK(file.triangles_in_file == 9);
  CHECK(file.mesh.vertices.size() == 4);
  CHECK(file.mesh.triangles == std::vector<Triangle>{{0, 1, 2}, {0, 2, 3}});
  CHECK(told(file.repairs) == std::vector<std::string>{"2 triangles that point to missing vertices were dropped.",
                                                       "One vertex whose place is not a usable number was dropped.",
                                                       "One triangle was dropped with them.",
                                                       "2 triangles with repeated corners were dropped.",
                                                       "2 triangles that repeat another were dropped.",
                                                       "One vertex that no triangle uses was dropped."});
  CHECK(told(parse_mesh("line.obj", std::string("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\nf 1 2"), {}).repairs) ==
        std::vector<std::string>{"One face of fewer than three corners was dropped."});
  CHECK(says(refusal("s.ply", ply_of("0 0 0\n1 0 0\n", "3 0 1 5\n", 2, 1)), "s.ply", "none of its triangles"));
  CHECK(says(refusal("s.ply", ply_of("nan 0 0\ninf 0 0\n", "", 2, 0)), "s.ply", "no vertex has a usable place"));
  CHECK(says(refusal("s.ply",
                     "ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nend_header\n0 0\n"),
             "s.ply", "lack x, y or z"));
}

TEST_CASE("a binary STL with NaN corners keeps the others") {
  Mesh box = gridded_box(20, 15, 10);
  const std::size_t n = box.triangles.size();
  box.vertices[0].x() = std::numeric_limits<double>::quiet_NaN();
  const MeshFile file = parse_mesh("nan.stl", stl_binary(box), {});
  CHECK(file.mesh.vertices.size() == box.vertices.size() - 1);
  CHECK(file.mesh.triangles.size() < n);
  CHECK(file.repairs.size() == 2);
}

TEST_CASE("glTF that we can't read says why") {
  const auto with = [](const std::string& accessor, const std::string& buffer, const std::string& more = "") {
    return R"({"asset":{"version":"2.0"},"nodes":[{"mesh":0}],"meshes":[{"primitives":[{"attributes":{"POSITION":0}}]}],)"
           R"("accessors":[{)" +
           accessor + R"(}],"bufferViews":[{"buffer":0,"byteLength":36}],"buffers":[{)" + buffer + "}]" + more + "}";
  };
  const std::string fine = R"("bufferView":0,"componentType":5126,"count":3,"type":"VEC3")";
  const std::string data = R"("byteLength":36,"uri":"data:;base64,AAAAAAAAAAAAAAAAAACAPwAAAAAAAAAAAAAAAAAAgD8AAAAA")";
  CHECK(refusal("a.gltf", with(fine, data)) == "accepted");
  CHECK(says(refusal("a.gltf", with(fine, R"("byteLength":36,"uri":"cube.bin")")), "a.gltf", "another file"));
  CHECK(says(refusal("a.gltf", with(fine + R"(,"sparse":{})", data)), "a.gltf", "sparse"));
  CHECK(says(refusal("a.gltf", with(R"("componentType":5126,"count":3,"type":"VEC3")", data)), "a.gltf", "no data"));
  CHECK(says(refusal("a.gltf", with(R"("bufferView":0,"componentType":5126,"count":4,"type":"VEC3")", data)), "a.gltf",
             "outside of the file"));
  CHECK(says(
      refusal("a.gltf",
              with(R"("bufferView":0,"byteOffset":18446744073709551612,"componentType":5126,"count":1,"type":"VEC3")",
                   data)),
      "a.gltf", "outside of the file"));
  CHECK(says(refusal("a.gltf", with(R"("bufferView":7,"componentType":5126,"count":3,"type":"VEC3")", data)), "a.gltf",
             "missing"));
  CHECK(says(refusal("a.gltf", with(R"("bufferView":0,"componentType":"x","count":3,"type":"VEC3")", data)), "a.gltf",
             "not a whole number"));
  // Found by tests/fuzz.sh: a number that no int can hold.
  CHECK(says(refusal("a.gltf", with(R"("bufferView":0,"componentType":5.1e42,"count":3,"type":"VEC3")", data)),
             "a.gltf", "whole number"));
  CHECK(says(refusal("a.gltf", with(R"("bufferView":0,"componentType":5123,"count":3,"type":"VEC3")", data)), "a.gltf",
             "floats"));
  CHECK(says(refusal("a.gltf", with(fine, data, R"(,"extensionsRequired":["KHR_draco_mesh_compression"])")), "a.gltf",
             "compressed"));
  CHECK(says(refusal("a.gltf", with(fine, R"("byteLength":36,"uri":"data:;base64,!!!!")")), "a.gltf", "base64"));
  const std::string loop = R"({"scenes":[{"nodes":[0]}],"nodes":[{"children":[1]},{"children":[0]}]})";
  CHECK(says(refusal("a.gltf", loop), "a.gltf", "loop"));
  CHECK(says(refusal("a.gltf", std::string(100000, '[')), "a.gltf", "understood"));
}

TEST_CASE("a glTF that grows without end when it is unfolded is refused") {
  const auto repeated = [](const std::string& item, int times) {
    std::string list = item;
    for (int i = 1; i < times; ++i) list += "," + item;
    return list;
  };
  // One node that is a thousand times its own child, among a thousand others.
  const std::string loop =
      R"({"scenes":[{"nodes":[0]}],"nodes":[{"children":[)" + repeated("0", 1000) + "]}," + repeated("{}", 1000) + "]}";
  CHECK(says(refusal("a.gltf", loop), "a.gltf", "loop"));
  // Two hundred nodes with the same mesh of two hundred parts that draw nothing: 40,000 parts.
  const std::string parts = R"({"nodes":[)" + repeated(R"({"mesh":0})", 200) + R"(],"meshes":[{"primitives":[)" +
                            repeated("{}", 200) + "]}]}";
  CHECK(says(refusal("a.gltf", parts), "a.gltf", "holds no vertices"));
  CHECK(says(refusal("a.gltf", parts, {.largest_triangles = 39'999}), "a.gltf", "not accepted"));
  CHECK(says(refusal("a.gltf", std::string(2'000'001, '[')), "a.gltf", "too large"));
}

TEST_CASE("limits hold inside one facet and one strip, before memory is taken for all of it") {
  ReadLimits limits;
  limits.largest_triangles = 10;
  std::string facet = "solid\nfacet normal 0 0 1\nouter loop\n";
  for (int i = 0; i < 31; ++i) facet += "vertex " + std::to_string(i) + " 0 " + std::to_string(i * i) + "\n";
  CHECK(says(refusal("endless.stl", facet, limits), "endless.stl", "has 31 vertices"));  // not: cut off

  // 30 vertices, which are accepted, in a strip without indices: 28 triangles.
  std::string places;
  for (int i = 0; i < 30; ++i)
    for (const float c : {static_cast<float>(i), static_cast<float>(i % 2), 0.0f}) append(places, c);
  std::string document =
      R"({"asset":{"version":"2.0"},"meshes":[{"primitives":[{"attributes":{"POSITION":0},"mode":5}]}],)"
      R"("accessors":[{"bufferView":0,"componentType":5126,"count":30,"type":"VEC3"}],)"
      R"("bufferViews":[{"buffer":0,"byteLength":360}],"buffers":[{"byteLength":360}]})";
  document.resize((document.size() + 3) / 4 * 4, ' ');
  std::string glb_file = "glTF";
  const auto number = [&](std::size_t n) { append(glb_file, static_cast<std::uint32_t>(n)); };
  number(2), number(12 + 8 + document.size() + 8 + places.size());
  number(document.size()), glb_file += "JSON" + document;
  number(places.size()), glb_file += std::string("BIN\0", 4) + places;
  CHECK(says(refusal("strip.glb", glb_file, limits), "strip.glb", "has 28 triangles"));
  limits.largest_triangles = 28;
  CHECK(refusal("strip.glb", glb_file, limits) == "accepted");
}

TEST_CASE("a comment right behind a number is a comment, and 1.#INF no number") {
  const std::string square = "v 0 0 0#note\nv 1 0 0 # note\nv 1 1 0\nv 0 1 -0#1.#INF\nf 1 2 3#note\nf 1 3 4\n";
  const MeshFile file = parse_mesh("square.obj", square, {});
  CHECK(file.mesh.vertices.size() == 4);
  CHECK(file.mesh.triangles.size() == 2);
  CHECK(file.repairs.empty());
  for (const char* odd : {"1.#INF", "-1.#IND", "+1.#QNAN00"}) {
    CAPTURE(odd);
    CHECK(parse_mesh("odd.obj", square + "v 0 5 " + odd + "\nf 1 2 5\n", {}).mesh.vertices.size() == 4);
  }
}
