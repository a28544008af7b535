// Random bytes as what an index of lasts holds, or (first byte odd) as the whole SQLite file: a last comes out sound or
// not at all. Built and run by tests/fuzz.sh.
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "shelf_index/packed_last.h"
#include "shelf_index/shelf_index.h"

using namespace lastroom;

namespace {

void look_into(const std::string& file) {
  try {
    ShelfIndex index(file, "build");
    const LastKey key{"0", ""};
    ReadyLast ready;
    index.state(key);
    index.find(key);
    if (index.load(key, ready)) std::abort();  // nobody kept it
  } catch (const InputError&) {
  } catch (const OutputError&) {
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  if (data[0] % 2 == 1) {
    static const std::string file = "/dev/shm/lastroom_fuzz_index_" + std::to_string(::getpid());
    std::ofstream(file, std::ios::binary) << bytes;
    look_into(file);
    std::filesystem::remove(file);
    return 0;
  }
  ReadyLast ready;
  if (unpack(bytes, ready) && packed(ready) != bytes) std::abort();
  LastMeasures measures;
  if (unpack_numbers(bytes, measures) && packed_numbers(measures) != bytes) std::abort();
  return 0;
}
