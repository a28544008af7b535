#pragma once

#include <string>
#include <vector>

#include "fitting.h"

namespace lastroom {

/// One last of a shelf, tried for one foot.
struct ShelfRow {
  std::string file;     ///< name only
  std::string problem;  ///< why no verdict could be given; empty when there is one
  Verdict verdict = Verdict::none;
  double room_for_worst_mm = 0.0;  ///< least distance of a zone's clearance from its pinch limit, less its doubt
  std::string reason;              ///< the gravest finding in a few words
  double allowance_mm = 0.0;
};

ShelfRow shelf_row(const Fitting& fitting);

/// Best first: verdict, then most room for the zone that has least, then name.
void rank(std::vector<ShelfRow>& rows);

std::string shelf_csv(const std::vector<ShelfRow>& rows);  ///< RFC 4180
std::string shelf_json(const std::vector<ShelfRow>& rows);
std::string shelf_html(const std::vector<ShelfRow>& rows, const std::string& scan_file);

}  // namespace lastroom
