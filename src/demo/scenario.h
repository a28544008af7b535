#pragma once

#include <string>
#include <vector>

#include "demo/make_last.h"

namespace lastroom {

constexpr std::string_view kDemoClient = "E. Brandt (invented)";

/// One foot in one last of the demo. Client and maker are invented.
struct DemoPair {
  std::string name;           ///< short, fit for a folder's name
  std::string what_it_shows;  ///< one sentence for the reader of the report
  std::string scan_file, last_file;
  FootShape foot;
  LastShape last;
  bool left = false;
  bool floor_left_in = false;  ///< the scan still shows some of the floor that the foot stood on
};

/// A pair that fits first; then what goes wrong, one thing at a time; then toe styles on the same rear part.
std::vector<DemoPair> demo_pairs();

struct DemoFile {
  std::string name, bytes;
};

/// The files of all pairs, each once: scans as PLY in a scanner's arbitrary pose with a scanner's roughness, lasts as
/// binary STL in a pose of their own. In mm. The same bytes every time.
std::vector<DemoFile> demo_files();
/// Scan and last of one pair.
std::vector<DemoFile> demo_files(const DemoPair& pair);

/// A made foot as a scanner would give it: roughness of `rms_mm` along the normals, smooth over neighbours, then turned
/// and shifted by a motion that depends on `seed` only.
Mesh as_scanned(const Mesh& skin, double rms_mm, unsigned seed);

}  // namespace lastroom
