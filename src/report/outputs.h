#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitting.h"

namespace lastroom {

struct ReportSettings {
  std::string client;           ///< may be empty; any bytes: shown as text, never as markup
  std::string date;             ///< YYYY-MM-DD; may be empty
  std::string language = "en";  ///< one of report_languages()
};

std::string_view tool_version();
/// Languages of the built-in catalogues (reports/words.*.xml), the first is the default.
std::vector<std::string> report_languages();

/// The contract's result.json. Lengths are rounded to 0.0001 mm; the two matrices are not.
std::string result_json(const Fitting& fitting);
/// The posed skin in the last frame as worn, with a colour and the clearance on every vertex.
std::string clearance_ply(const Fitting& fitting);
/// One self-contained page: no script, nothing fetched. Same fitting and settings, same bytes.
/// Throws std::invalid_argument when the language is not one of report_languages().
std::string report_html(const Fitting& fitting, const ReportSettings& settings);

}  // namespace lastroom
