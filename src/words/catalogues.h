#pragma once

#include <string_view>
#include <vector>

namespace lastroom::embedded {

/// A language's code and the text of `reports/words.CODE.xml`.
struct Catalogue {
  std::string_view language, xml;
};
/// Every catalogue in the source tree, by code.
std::vector<Catalogue> catalogues();

}  // namespace lastroom::embedded
