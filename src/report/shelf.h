#pragma once

#include <functional>
#include <string>
#include <vector>

#include "report/outputs.h"
#include "screening/ranking.h"

namespace lastroom {

/// What a full check found, put into its row. A fitting without a verdict makes the row unusable, with its reason.
void fill_in(ShelfRow& row, const Fitting& fitting);

/// What is doubtful about the foot itself, in whatever last it stands, for ShelfHead::remarks. They are
/// the same from every fitting of one foot.
std::vector<Message> doubts_about_foot(const Assessment& assessment);

/// Small pictures of the room on the skin from above and from below, toes to the right, as a piece of HTML. The same
/// whatever the file's name. Empty without a verdict.
std::string small_pictures(const Fitting& fitting);

/// What stands over the list.
struct ShelfHead {
  std::string scan_file, scan_sha256;
  RulesHead rules;
  Side side = Side::right;
  Wearer wearer = Wearer::unknown;
  Message wearer_reason;                         ///< as AssessmentSettings::wearer_reason
  std::size_t best = 0;                          ///< of how many the order is certain; 0: of all
  double length_mm = 0.0, joint_girth_mm = 0.0;  ///< of the foot
  std::vector<Message> remarks;                  ///< about the foot and the shelf as a whole
  std::vector<ShelfHead> feet = {};              ///< of a pair: what is the left foot's and the right one's
};

// The ranked rows as a table (RFC 4180), as JSON with the same values under the same names, and as a page. The page
// asks for the small pictures of a row, and may get none.
using PicturesOf = std::function<std::string(const ShelfRow&)>;
std::string shelf_csv(const std::vector<ShelfRow>& rows);
std::string shelf_json(const std::vector<ShelfRow>& rows, const ShelfHead& head);
std::string shelf_html(const std::vector<ShelfRow>& rows, const ShelfHead& head, const ReportSettings& settings,
                       const PicturesOf& pictures_of);

}  // namespace lastroom
