#pragma once

#include <string>

#include "fitting.h"

namespace lastroom {

struct ReportSettings {
  std::string client;  ///< may be empty; escaped
  std::string date;    ///< YYYY-MM-DD
};

std::string result_json(const Fitting& fitting);
std::string clearance_ply(const Fitting& fitting);
std::string report_html(const Fitting& fitting, const ReportSettings& settings);

}  // namespace lastroom
