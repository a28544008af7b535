// Writes a made shelf and a client's foot as files, for tests/shelf.sh and tests/cluster.sh.
//   shelf_files LASTS SEED EDGE_MM DIR
#include <fmt/format.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "made_shelf.h"
#include "mesh_io/write_mesh.h"

namespace {

void write(const std::filesystem::path& file, const std::string& bytes) {
  std::ofstream(file, std::ios::binary) << bytes;
}

}  // namespace

int main(int argc, char** argv) {
  using namespace lastroom;
  if (argc != 5) {
    fmt::print(stderr, "usage: shelf_files LASTS SEED EDGE_MM DIR\n");
    return 2;
  }
  const auto count = static_cast<unsigned>(std::atoi(argv[1])), seed = static_cast<unsigned>(std::atoi(argv[2]));
  const double edge_mm = std::atof(argv[3]);
  const std::filesystem::path folder = argv[4];
  std::filesystem::create_directories(folder / "lasts");
  const auto items = test::made_shelf(count, seed, edge_mm);
  test::for_each_mesh(items, [&](std::size_t i, const Mesh& mesh) {
    write(folder / "lasts" / (items[i].name + ".stl"), stl_binary(mesh));
  });
  write(folder / "client.ply", ply_binary(test::made_client(seed, 3.0)));
  return 0;
}
