#pragma once

#include <functional>
#include <string>
#include <vector>

#include "geometry/mesh.h"
#include "truth_cases.h"

namespace lastroom::test {

/// What workshops and scanners do to a last.
struct LastVariant {
  std::string name;
  /// `last`: closed, in the last frame (mm). Cut and joined by CGAL's corefinement.
  std::function<Mesh(const Mesh& last, Dice& dice)> made;
};
const std::vector<LastVariant>& last_variants();

}  // namespace lastroom::test
