#pragma once

#include <functional>
#include <string>
#include <vector>

#include "screening/last_name.h"
#include "screening/sieve.h"

namespace lastroom {

/// What became of one last of the shelf.
enum class Fate {
  judged,      ///< checked in full
  left_out,    ///< not checked: its measures say that it can't be among the best
  other_side,  ///< for the other foot
  same_file,   ///< the same bytes under another name that stands before it
  unusable,    ///< no last, not readable, changed meanwhile, or no verdict could be given
  not_asked    ///< its model, size, width or heel is not what was asked for
};
std::string_view fate_name(Fate fate);

/// One last of a shelf, for one foot.
struct ShelfRow {
  std::string file;    ///< name only
  std::string sha256;  ///< of its bytes; empty when they could not be read
  Fate fate = Fate::unusable;
  Message problem;                     ///< when unusable
  Message doubt;                       ///< judged, but to be looked at first: it may be no last
  std::string same_as;                 ///< the other file's name
  LastName name;                       ///< as the shelf's table or the file's name calls it
  std::optional<double> told_heel_mm;  ///< as the table says
  std::string units;                   ///< of the file
  bool mirrored = false;               ///< the file is of a last for the other foot
  bool straight = false;               ///< its shape does not tell its side
  double length_mm = 0.0, joint_girth_mm = 0.0, heel_height_mm = 0.0;  ///< of the last; 0 when unusable
  UpperBound sieve;                                                    ///< what its measures foretold
  // Of a judged last:
  Verdict verdict = Verdict::none;
  Margin margin;
  std::optional<RuleId> finding;  ///< the gravest
  std::optional<double> measured_mm, limit_mm;
  std::vector<RuleId> wrong;  ///< what is tight, loose or to be watched in this last, gravest first
  double allowance_mm = 0.0;
  std::vector<ShelfRow> feet = {};  ///< of a pair of lasts: the left foot in its last, the right one in its own
  std::optional<Side> decides;      ///< of a judged pair: the foot that is worse off, whose values stand above
  std::string report;               ///< of the best ones: folder of the full report, below the output folder
};

/// Best first: judged ones by verdict, then margin, then name; then those that were left out, by what they could have
/// reached; then the rest by name.
void rank(std::vector<ShelfRow>& rows);

/// Checks the rows that are `left_out`, the most promising first, until none of the others could come before the `keep`
/// best (0: until all are checked). `check` turns a row into a judged or an unusable one; a few are checked at once, as
/// many whatever the number of threads, so the result is the same. `after_round` is told how many were checked and how
/// many more could follow.
using CheckRow = std::function<void(ShelfRow&)>;
using AfterRound = std::function<void(std::size_t checked, std::size_t still_possible)>;
void check_best_first(std::vector<ShelfRow>& rows, std::size_t keep, const CheckRow& check,
                      const AfterRound& after_round);

}  // namespace lastroom
