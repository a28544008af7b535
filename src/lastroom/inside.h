#pragma once

// Private to this room, and not installed: what stands behind the public types, and the way in and out.

#include "error.h"
#include "fitting.h"
#include "geometry/threads_of_a_call.h"
#include "lastroom/fit.h"

namespace lastroom_v0 {

struct GivenInside {
  lastroom::MeshFile file;
};
struct FootInside {
  lastroom::ReadyFoot ready;
  lastroom::FootPreparation settings;
};
struct LastInside {
  lastroom::ReadyLast ready;
  lastroom::LastPreparation settings;
};
struct RulesInside {
  lastroom::Rules rules;
};
struct FitInside {
  lastroom::Fitting fitting;
};

/// Runs `work`; a refusal comes out as the public one.
template <class Work>
auto refusing(const Work& work) {
  try {
    return work();
  } catch (const lastroom::InputError& error) {
    throw Refused(error.what(), error.message.key);
  }
}

/// `work` on at most so many threads, given back as what stands behind a public type.
template <class Inside, class Work>
std::shared_ptr<const Inside> made(int threads, const Work& work) {
  return refusing([&] {
    auto inside = std::make_shared<Inside>();
    lastroom::with_threads(threads, [&] { work(*inside); });
    return inside;
  });
}

lastroom::ReadLimits limits_of(const MeshLimits& limits);
std::optional<lastroom::LengthUnit> unit_of(const std::optional<Unit>& unit);
Side side_of(lastroom::Side side);
std::vector<std::string> in_english(const std::vector<lastroom::Message>& messages);
Result result_of(const lastroom::Fitting& fitting);

}  // namespace lastroom_v0
