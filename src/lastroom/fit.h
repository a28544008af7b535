#pragma once

#include <utility>

#include "lastroom/result.h"

namespace lastroom_v0 {

/// lastroom compares two shapes. It is no diagnosis and cannot feel pain, warmth or numbness: the fit of feet at risk,
/// or of which nothing is known, is checked by a podiatrist, orthotist or other licensed professional.

/// How much of the body's weight the foot bore when it was scanned.
enum class ScanLoad { full, half, none };

struct FitOptions {
  Wearer wearer = Wearer::unknown;
  double sock_mm = 0.0;  ///< 0 .. 20
  ScanLoad scan_load = ScanLoad::full;
  double scan_error_mm = 1.0;                ///< 0.1 .. 10: one standard deviation of the scanner's repeat error
  std::optional<double> tape_joint_mm = {};  ///< 100 .. 400: the joint girth as taped by hand, held against the scan
  bool day = true;                           ///< whether the foot is judged through a day, and in other socks, too
  int threads = 0;                           ///< as in FootOptions
};

struct PageOptions {
  std::string client = {}, date = {};  ///< shown as they are; may be empty
  std::string language = "en";         ///< one of `languages()`, else std::invalid_argument
  bool inches = false;                 ///< never in result.json
  bool letter = false;                 ///< paper: Letter instead of A4
};
std::vector<std::string> languages();

struct FitInside;

/// A foot judged in a last. Can't be changed; copies share it.
class Fit {
 public:
  explicit Fit(std::shared_ptr<const FitInside> inside);
  const Result& result() const& { return *result_; }
  Result result() && { return *result_; }  ///< `for (const ZoneResult& zone : fit(foot, last).result().zones)` is safe
  PosedSkin skin() const;
  /// Strict JSON, as `lastroom check` writes it but for the times, which are null.
  std::string result_json() const;
  /// By file name: report.html, client.html, referral.html (unless the wearer is standard), clearance.ply, result.json.
  std::vector<std::pair<std::string, std::string>> pages(const PageOptions& options = {}) const;

 private:
  std::shared_ptr<const FitInside> inside_;
  std::shared_ptr<const Result> result_;
};

/// Stands the foot in the last and judges it. The same input gives the same bytes, with any number of threads; several
/// calls may run at once. No file is read or written, no process started, no environment read or set. Throws Refused
/// when the two can't be judged, std::invalid_argument when an option is out of its range.
Fit fit(const Foot& foot, const Last& last, const Rules& rules = default_rules(), const FitOptions& options = {});

}  // namespace lastroom_v0
