#pragma once

#include <map>
#include <string>
#include <vector>

#include "stand.h"

namespace lastroom::test {

/// Where the stood foot settles in a changed last, as `check` has it.
Settle settling(const Stand& stand, const RegistrationSettings& scanner = {});

/// What a list of changes comes to: the corrected last is measured, the foot stood in it anew and judged from the
/// start.
struct ChangeList {
  Verdict before = Verdict::none, after = Verdict::none;
  std::size_t operations = 0;
  double over_side_mm = -1e9;  ///< the widest of them, less the last's side where it lies; negative when narrower
  double moved_mm3 = 0.0;      ///< of the last's surface, either way
  double planted_mm3 = 0.0;
  std::vector<std::string> worse;  ///< zones and girths, by more than their doubt
  bool cures() const { return after != Verdict::pinch && after != Verdict::none && worse.empty(); }
};
/// `settles`: the foot is registered anew, else it stays where it is.
ChangeList change_list(const Stand& bad, const Assessment& found, double planted_mm3, bool settles,
                       const RegistrationSettings& scanner = {});

/// Between two surfaces on the side where the second presses more (or less, when it is slack), where it is more than a
/// scan's noise: what a fault takes from a last.
double between_mm3(const Mesh& fits, const Mesh& bad, bool slack);

/// The table of many lists.
class ChangeLists {
 public:
  void add(const std::string& name, ChangeList list) { lists_[name].push_back(std::move(list)); }
  void print() const;
  std::size_t failed() const;  ///< that don't cure, or make something worse

 private:
  std::map<std::string, std::vector<ChangeList>> lists_;
};

}  // namespace lastroom::test
