#pragma once

#include <nlohmann/json.hpp>

#include "fitting.h"
#include "report/outputs.h"

namespace lastroom {

// What the page shows, in its language, every number already written as the language writes it.

/// What was read of a file: side, unit, measures, what was repaired, what is to be looked at.
nlohmann::ordered_json shown_foot(const ReadyFoot& foot, const Words& words);
nlohmann::ordered_json shown_last(const ReadyLast& last, const Words& words);
/// A check: the sentences that the report begins with, cautions, every finding under its number, next steps.
nlohmann::ordered_json shown_check(const Fitting& fitting, const ReportSettings& settings);

}  // namespace lastroom
