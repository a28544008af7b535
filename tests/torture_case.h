#pragma once

#include <cstdio>

#include "torture.h"

namespace lastroom::test {

/// What a case must come to: the clean pair's answer, or a refusal in whose sentence these words stand.
constexpr const char* kWorks = nullptr;

struct TortureCase {
  const char* name;
  const char* refusal;
  std::function<void(Job&)> damage;
  double noise_mm = 0.0;  ///< put on every coordinate, one spread
};

/// The clean pair and its answer. The last presses the fifth toe by several mm, which no damage may hide.
struct Base {
  MadeFoot foot;
  MadeLast last;
  Fitting fitting;
};
const Base& base();

/// The made foot with edges of 6 mm.
Mesh coarse_foot();
/// Every triangle cut into four, the shape unchanged.
Mesh split_in_four(const Mesh& mesh);

/// Runs each case and checks it; notes the outcome in `table` (see note_row).
void run_cases(const char* table, const std::vector<TortureCase>& cases);

}  // namespace lastroom::test
