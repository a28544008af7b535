#pragma once

#include <cstdio>

#include "torture.h"

namespace lastroom::test {

/// What a case must come to: the clean pair's answer, or a refusal in whose sentence these words stand ('|' between
/// words of which any will do).
constexpr const char* kWorks = nullptr;

/// What may come instead of a refusal, where the foot's shape decides whether one is needed.
enum class Otherwise { nothing, like_clean, not_clear };

struct TortureCase {
  const char* name;
  const char* refusal;
  std::function<void(Job&)> damage;
  double end_mm = 0.0;  ///< by how much the damage may move either end of the foot or last
  Otherwise otherwise = Otherwise::nothing;
};

/// By how much a last presses the fifth toe's side, which no damage may hide: by several mm, or by little.
enum class Press { much, little };

/// A clean pair and its answer.
struct Base {
  std::string foot_name;
  FootShape foot_shape;
  LastShape last_shape;
  MadeFoot foot;
  MadeLast last;
  Fitting fitting;
};
/// That of the case which is under way.
const Base& base();

/// Its foot with edges of 6 mm.
Mesh coarse_foot();
/// Every triangle cut into four, the shape unchanged.
Mesh split_in_four(const Mesh& mesh);

/// Runs each case and checks it, on several feet in turn; notes the outcome in `table` (see note_row).
void run_cases(const char* table, Press press, const std::vector<TortureCase>& cases);

}  // namespace lastroom::test
