// Random bytes as the journal of a run that was stopped: it is taken over or begun anew, and every entry in it can be
// read. Built and run by tests/fuzz.sh.
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "commands/journal.h"

using namespace lastroom;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const std::string output = "/dev/shm/lastroom_fuzz_journal_" + std::to_string(::getpid());
  std::ofstream(output + ".unfinished", std::ios::binary)
      << "{\"run\":\"work\"}\n"
      << std::string_view(reinterpret_cast<const char*>(data), size);
  Journal journal(output, "work");
  journal.add("one", {{"margin", 1.0}});
  if (!journal.has("one") || journal.at("one").at("margin") != 1.0) std::abort();
  journal.done();
  return 0;
}
