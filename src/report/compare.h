#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "mesh_io/read_clearance.h"
#include "report/outputs.h"

namespace lastroom {

/// A result folder that was read: result.json and clearance.ply.
struct FittedResult {
  std::string name;  ///< of its folder
  std::string json;
  ClearanceMesh skin;
};

enum class ZoneChange { better, worse, roomier, tighter, same };
std::string_view change_name(ZoneChange change);

/// The same thing in both results; missing where one of them has not measured it.
struct ZonePair {
  Zone zone = Zone::none;
  struct Of {
    Verdict verdict = Verdict::none;
    double p05_mm = 0.0, limit_mm = 0.0, sigma_mm = 0.0;
  };
  std::array<std::optional<Of>, 2> of;
  std::optional<double> difference_mm;  ///< second less first: positive is more room
  double sigma_mm = 0.0;                ///< of the difference, one standard deviation
  ZoneChange change = ZoneChange::same;
};
struct MeasurePair {
  std::string name;  ///< key in result.json, and "compare.NAME" in the catalogue
  std::array<std::optional<double>, 2> mm;
};

struct Comparison {
  struct One {
    std::string name, scan_file, scan_sha256, last_file, last_sha256;
    Side side = Side::right;
    Wearer wearer = Wearer::unknown;
    Verdict verdict = Verdict::none;
    RulesHead rules;
    double scan_error_mm = 0.0;
    std::optional<double> sock_mm;  ///< taken off; older results may not tell
    ClearanceMesh skin;             ///< as worn
  };
  std::array<One, 2> results;
  bool same_scan = false;
  bool same_rules = false;

  /// Whether both feet were stood in their lasts with confidence: else no room of the two is held against the other.
  bool both_judged() const { return results[0].verdict != Verdict::none && results[1].verdict != Verdict::none; }

  std::vector<ZonePair> zones;
  std::vector<MeasurePair> measures;
  std::vector<double> difference_mm;  ///< per vertex of the second skin; not finite where one of them is not known
};

/// Throws InputError when one of them is no result of lastroom.
Comparison compare(FittedResult first, FittedResult second);

std::string compare_json(const Comparison& comparison);
std::string compare_html(const Comparison& comparison, const ReportSettings& settings);

}  // namespace lastroom
