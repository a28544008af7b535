// client SCAN LAST HELPERS: zones of a foot in a last, one a line; then the foot again from its bare points alone, which
// needs the Open3D module.
#include <lastroom/fit.h>

#include <cstdio>

int main(int, char** words) {
  try {
    const lastroom::GivenMesh scan = lastroom::read_mesh(words[1]);
    const lastroom::Foot foot(scan);
    const lastroom::Last last(lastroom::read_mesh(words[2]));
    for (const lastroom::ZoneResult& zone : lastroom::fit(foot, last).result().zones)
      std::printf("%s %s %.4f\n", zone.zone.c_str(), lastroom::verdict_name(zone.verdict).data(), zone.p05_mm);
    lastroom::look_for_helpers_in(words[3]);
    const lastroom::Foot from_points(lastroom::given_mesh({scan.mesh().vertices, {}}, "points"));
    const std::string count = std::to_string(from_points.repairs().size());  // the library has its own of these inside
    std::printf("%s: %s\n", count.c_str(), from_points.repairs().front().c_str());
  } catch (const lastroom::Refused& refused) {
    std::printf("%s\n", refused.what());
    return 1;
  }
}
