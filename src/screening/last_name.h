#pragma once

#include <string>

namespace lastroom {

/// What a maker calls a last by, as far as it is known: any text each.
struct LastName {
  std::string model, size, width;
};

/// From a file's name without its ending, such as "derby-42-wide", "Oxford_8.5_G" or "265_k_mokassin_left": the first
/// number from 1 to 350 that stands alone is the size, a word or letters for a width after it the width, words for a
/// side are left out, and all else is the model (common practice, no source). Without a size nothing is taken as one:
/// the whole name is then no model either, and all three are empty.
LastName name_from_file(const std::string& stem);

}  // namespace lastroom
