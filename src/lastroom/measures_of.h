#pragma once

// Private to this room, and not installed.

#include "lastroom/foot.h"
#include "measurement/named_measures.h"

namespace lastroom_v0 {

/// What foot and last are both measured by, then what only the one is.
template <class Measures>
std::vector<Measure> measures_of(const Measures& body) {
  std::vector<Measure> list;
  for (const auto& measures : {lastroom::shared_measures(body), lastroom::further_measures(body)})
    for (const lastroom::NamedMeasure& measure : measures) list.push_back({std::string(measure.name), measure.mm});
  return list;
}

}  // namespace lastroom_v0
