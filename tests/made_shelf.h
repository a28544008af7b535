#pragma once

#include <string>
#include <vector>

#include "demo/make_last.h"

namespace lastroom::test {

/// A shelf as a workshop might have it, of our own making: English sizes (8.47 mm) and width fittings (6.35 mm), four
/// toe shapes, heels of 10 to 55 mm. Lasts of one model differ by size and width only; every model has its own rooms.
struct ShelfItem {
  std::string name;  ///< tells all of the above
  FootShape foot;    ///< that the last is made for
  LastShape last;
  bool left = false;
};
std::vector<ShelfItem> made_shelf(unsigned count, unsigned seed, double edge_mm);
Mesh mesh_of(const ShelfItem& item);  ///< as worn

/// A client's foot, in the middle of the shelf's sizes, as scanned: right.
Mesh made_client(unsigned seed, double edge_mm);

}  // namespace lastroom::test
