#pragma once

#include <cstdio>

#include "torture.h"

namespace lastroom::test {

enum class Expected { works, refused, works_or_refused };

struct TortureCase {
  const char* name;
  Expected expected;
  std::function<void(Job&)> damage;
  const char* words;      ///< in the refusal
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
