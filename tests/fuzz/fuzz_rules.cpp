// Random bytes as a rules file: it is read, and then every rule is there, or it is refused with InputError.
// Built and run by tests/fuzz.sh.
#include <cstdint>
#include <cstdlib>

#include "assessment/rules.h"
#include "error.h"

using namespace lastroom;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const std::size_t kRules = default_rules().rules.size();
  try {
    const Rules rules = parse_rules({reinterpret_cast<const char*>(data), size}, "rules.xml");
    if (rules.rules.size() != kRules) std::abort();
  } catch (const InputError&) {
  }
  return 0;
}
