// Random bytes as a landmarks file: its points are finite, or it is refused with InputError in one line.
// Built and run by tests/fuzz.sh.
#include <cstdint>
#include <cstdlib>
#include <cstring>

#include "commands/landmarks_file.h"
#include "error.h"

using namespace lastroom;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto check = [](const std::optional<Vec3>& point) {
    if (point && !point->allFinite()) std::abort();
  };
  try {
    const HandLandmarks marks = parse_landmarks({reinterpret_cast<const char*>(data), size}, "points.json");
    check(marks.heel);
    check(marks.first_joint);
    check(marks.fifth_joint);
    for (const auto& tip : marks.toe_tips) check(tip);
  } catch (const InputError& error) {
    if (std::strchr(error.what(), '\n') != nullptr || std::strlen(error.what()) > 300) std::abort();
  }
  return 0;
}
