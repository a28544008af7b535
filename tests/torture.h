#pragma once

// One pair of files through the whole flow, and what may come of it.

#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <optional>
#include <string>

#include "error.h"
#include "fitting.h"
#include "mesh_io/write_mesh.h"
#include "mesh_io_shapes.h"
#include "report/outputs.h"
#include "torture_damage.h"
#include "wearers.h"

namespace lastroom::test {

/// A scan and a last as files. Meshes are written as PLY (scan) and STL (last) unless bytes are given.
struct Job {
  Mesh scan, last;
  std::string scan_name = "scan.ply", last_name = "last.stl", scan_bytes, last_bytes;
  FittingSettings settings = {{}, {}, {}, told(Wearer::standard)};
};

/// What came of a job: a fitting, or the sentence that refused it.
struct Outcome {
  std::optional<Fitting> fitting;
  std::string refusal;
};

inline Outcome outcome_of(const Job& job) {
  const TemporaryFolder folder;
  const auto put = [&](const std::string& name, const std::string& bytes) {
    const std::filesystem::path file = folder.path / name;
    std::ofstream(file, std::ios::binary) << bytes;
    return file;
  };
  try {
    const auto scan = put(job.scan_name, job.scan_bytes.empty() ? ply_binary(job.scan) : job.scan_bytes);
    const auto last = put(job.last_name, job.last_bytes.empty() ? stl_binary(job.last) : job.last_bytes);
    return {fit_foot_in_last(read_mesh(scan), read_mesh(last), default_rules(), job.settings), ""};
  } catch (const InputError& error) {
    return {std::nullopt, error.what()};
  }
}

/// A sentence names the file (or the scan, the last), says what is wrong, and what to do after a semicolon or full
/// stop.
inline bool is_sentence(const std::string& text) {
  return text.size() > 40 && text.size() < 500 && text.find('\n') == std::string::npos &&
         (text.find("; ") != std::string::npos || text.find(". ") != std::string::npos);
}

inline const ZoneVerdict* zone_of(const Fitting& fitting, Zone zone) {
  for (const ZoneVerdict& v : fitting.assessment.zones)
    if (v.clearance.zone == zone) return &v;
  return nullptr;
}

/// No number that is none, anywhere that is printed.
inline void check_finite(const Fitting& fitting) {
  for (const Vec3& v : fitting.foot.mesh.vertices) REQUIRE(v.allFinite());
  for (const Vec3& v : fitting.last.mesh.vertices) REQUIRE(v.allFinite());
  CHECK(fitting.registration.last_from_foot.matrix().allFinite());
  for (const ZoneVerdict& v : fitting.assessment.zones) {
    CHECK(std::isfinite(v.clearance.p05_mm));
    CHECK(std::isfinite(v.clearance.median_mm));
    CHECK(std::isfinite(v.clearance.sigma_mm));
    CHECK(std::isfinite(v.chance_of_pinch));
  }
  const std::string json = result_json(fitting);
  CHECK(json.find(": nan") == std::string::npos);
  CHECK(json.find(": inf") == std::string::npos);
}

/// Adds a row to the table that tests/robustness.sh prints.
inline void note_row(const char* table, const std::string& name, const Outcome& outcome) {
  const char* folder = std::getenv("LASTROOM_ROBUSTNESS");
  if (folder == nullptr) return;
  const std::string words =
      outcome.fitting ? std::string(verdict_name(outcome.fitting->assessment.verdict)) : "refused";
  std::string why = outcome.refusal;
  if (outcome.fitting && outcome.fitting->assessment.verdict == Verdict::none) {
    why = english(outcome.fitting->registration.doubt_reason);
    if (why.empty() && !outcome.fitting->assessment.findings.empty())
      why = english(outcome.fitting->assessment.findings.front().advice);
  }
  std::ofstream(std::string(folder) + "/" + table, std::ios::app)
      << "| " << name << " | " << words << " | " << why << " |\n";
}

}  // namespace lastroom::test
