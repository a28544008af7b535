// Random bytes as a result folder's two files (the JSON up to the first zero byte, then clearance.ply) held against
// themselves: compared, or refused with InputError. Built and run by tests/fuzz.sh.
#include <cstdint>
#include <cstdlib>

#include "error.h"
#include "report/compare.h"

using namespace lastroom;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const std::size_t end = bytes.find('\0');
  if (end == std::string_view::npos) return 0;
  const std::string json(bytes.substr(0, end));
  const std::string_view skin = bytes.substr(end + 1);
  try {
    const auto result = [&] { return FittedResult{"a", json, parse_clearance_ply({skin.data(), skin.size()}, "a")}; };
    const Comparison comparison = compare(result(), result());
    if (compare_json(comparison).empty() || compare_html(comparison, {}).empty()) std::abort();
  } catch (const InputError&) {
  }
  return 0;
}
