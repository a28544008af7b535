#pragma once

#include <functional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "report/outputs.h"

namespace lastroom {

/// Files by their names ("report.html"), in the order in which they are written.
using NamedFiles = std::vector<std::pair<std::string, std::string>>;

/// All that a check leaves: report, client's page, referral (unless the wearer was told to be none at risk), the skin
/// with its clearance, and at last result.json, for which the clock is looked at then.
NamedFiles files_of(
    const Fitting& fitting, const ReportSettings& settings,
    const std::function<Timing()>& timing = [] { return Timing{}; });

/// A mesh file as it was given: its name without folders, and its bytes.
struct GivenBytes {
  std::string name;
  std::span<const char> bytes;
};

/// A foot and a last, checked: a fitting, or the reason why there is none, with refusal.html where both could be read.
struct CheckedBytes {
  std::optional<Fitting> fitting;
  Message refused;
  NamedFiles files;
};

/// The whole check from bytes to bytes: no file, process, thread or connection is needed for it. Formats as those of
/// `mesh_in`.
CheckedBytes check_bytes(
    const GivenBytes& scan, const GivenBytes& last, const Rules& rules, const FittingSettings& settings,
    const ReportSettings& pages, const Progress& progress = [](Stage) {});

}  // namespace lastroom
