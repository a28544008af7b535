#pragma once

#include "demo/make_last.h"

namespace lastroom::test {

/// A shoe made on a last: an upper of even thickness with an open shaft, a sole slab with an edge all round, a heel
/// block under the seat. Common thicknesses of the trade (no source).
struct ShoeShape {
  double upper_mm = 2.5, sole_mm = 6.0, welt_mm = 4.0;
  double heel_block_ratio = 0.27;  ///< of the last's length; 0: none, the slab lies flat
  double top_line_mm = 62.0;       ///< over the seat: a low shoe; a boot's is higher than its last
  bool hollow = true;              ///< its inside was scanned too; false: filled up to the top line, open above
  double edge_mm = 4.0;
};
Mesh made_shoe(const MadeLast& last, const ShoeShape& shape = {});

}  // namespace lastroom::test
