#pragma once

#include <functional>
#include <string>
#include <vector>

#include "demo/make_last.h"

namespace lastroom::test {

/// A shelf as a workshop might have it, of our own making: English sizes (8.47 mm) and width fittings (6.35 mm), four
/// toe shapes, heels of 10 to 55 mm. Lasts of one model differ by size and width only; every model has its own rooms.
struct ShelfItem {
  std::string name;     ///< tells all of the above
  FootShape foot;       ///< that the last is made for
  int foot_number = 0;  ///< the same for the same foot
  LastShape last;
  bool left = false;
};
std::vector<ShelfItem> made_shelf(unsigned count, unsigned seed, double edge_mm);
/// Calls `with(place, mesh as worn)` for every item, several at once; items of one size and width share their foot.
void for_each_mesh(const std::vector<ShelfItem>& items, const std::function<void(std::size_t, Mesh)>& with);

/// A client's foot, in the middle of the shelf's sizes, as scanned: right.
Mesh made_client(unsigned seed, double edge_mm);
/// Lasts on the same shelf that were made for this client, roomy enough to be clear.
std::vector<ShelfItem> lasts_of_client(unsigned seed, double edge_mm);

}  // namespace lastroom::test
