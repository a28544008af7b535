#pragma once

#include <string>
#include <vector>

#include "report/outputs.h"

namespace lastroom {

/// One job of a table, as its overview tells of it.
struct OverviewLine {
  std::size_t number = 0;
  std::string client, scan, last;  ///< any bytes; `last` is the last, or the best one of a shelf; a pair names two
  enum class State { done, failed, waiting } state = State::waiting;
  Verdict verdict = Verdict::none;  ///< when done
  Wearer wearer = Wearer::unknown;
  Message doubt = {}, problem = {};   ///< what is to be looked at first; why it failed
  std::string page = {};              ///< to be linked: relative to the overview; may be empty
  std::vector<Verdict> of_feet = {};  ///< of a pair that is done: the left foot's and the right one's
};

/// A page over all jobs, judged by `rules`: how many of each verdict, what could not be done and why, and a link to
/// every report.
std::string overview_html(const std::vector<OverviewLine>& lines, const RulesHead& rules,
                          const ReportSettings& settings);

}  // namespace lastroom
