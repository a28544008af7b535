#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "commands/commands.h"
#include "commands/landmarks_file.h"
#include "geometry/parallel.h"

namespace lastroom {
namespace {

struct Row {
  const char* key;  ///< as in result.json
  const char* label;
  double mm;
};

std::vector<Row> rows_of(const FootMeasures& m) {
  return {{"length_mm", "length, heel to longest toe", m.length_mm},
          {"heel_to_joint_mm", "heel to inside joint", m.heel_to_joint_mm},
          {"heel_to_fifth_joint_mm", "heel to outside joint", m.heel_to_fifth_joint_mm},
          {"joint_width_mm", "joint width", m.joint_width_mm},
          {"heel_width_mm", "heel width", m.heel_width_mm},
          {"joint_girth_mm", "joint girth", m.joint_girth.mm},
          {"waist_girth_mm", "waist girth", m.waist_girth.mm},
          {"instep_girth_mm", "instep girth", m.instep_girth.mm},
          {"heel_girth_mm", "heel girth, heel edge to instep", m.heel_girth.mm},
          {"instep_height_mm", "instep height", m.instep_height_mm},
          {"big_toe_height_mm", "big toe height", m.big_toe_height_mm},
          {"fifth_toe_height_mm", "fifth toe height", m.fifth_toe_height_mm}};
}

std::vector<Row> rows_of(const LastMeasures& m) {
  return {{"length_mm", "length, tape along the bottom", m.length_mm},
          {"stick_length_mm", "stick length, along the ground", m.stick_length_mm},
          {"heel_to_joint_mm", "heel to inside joint", m.heel_to_joint_mm},
          {"heel_to_fifth_joint_mm", "heel to outside joint", m.heel_to_fifth_joint_mm},
          {"joint_width_mm", "joint width", m.joint_width_mm},
          {"heel_width_mm", "heel width", m.heel_width_mm},
          {"joint_girth_mm", "joint girth", m.joint_girth.mm},
          {"waist_girth_mm", "waist girth", m.waist_girth.mm},
          {"instep_girth_mm", "instep girth", m.instep_girth.mm},
          {"heel_girth_mm", "heel girth, heel edge to instep", m.heel_girth.mm},
          {"heel_height_mm", "heel height", m.heel_height_mm},
          {"toe_spring_mm", "toe spring", m.toe_spring_mm}};
}

void print(const MeasureOptions& options, const InputFacts& facts, Side side, const std::vector<Row>& rows,
           const std::vector<std::string>& remarks) {
  if (options.json) {
    nlohmann::ordered_json json = {{"file", facts.file},
                                   {"as", options.as_last ? "last" : "foot"},
                                   {"side", side_name(side)},
                                   {"units", unit_name(facts.units)},
                                   {"units_from", facts.units_from == Told::by_option ? "option" : "guess"}};
    for (const Row& row : rows) json[row.key] = row.mm;
    json["repairs"] = facts.repairs;
    json["remarks"] = remarks;
    fmt::print("{}\n", json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
    return;
  }
  fmt::print("{}: a {} {}, file in {}\n", facts.file, side_name(side), options.as_last ? "last" : "foot",
             unit_name(facts.units));
  for (const Row& row : rows) fmt::print("  {:<32}{:>8.1f} mm\n", row.label, row.mm);
  for (const std::string& sentence : facts.repairs) fmt::print("  repaired: {}\n", sentence);
  for (const std::string& sentence : remarks) fmt::print("  look at: {}\n", sentence);
}

}  // namespace

int run_measure(const MeasureOptions& options) {
  set_thread_limit(options.common.threads);
  const MeshFile file = read_mesh(options.mesh, options.common.limits);
  if (options.as_last) {
    const Last last = prepare_last(file, {options.common.last_units, options.common.side});
    print(options, last.facts, last.side, rows_of(measure_last(last)), {});
  } else {
    FootPreparation settings;
    settings.side = options.common.side;
    settings.units = options.common.scan_units;
    if (!options.common.landmarks.empty()) settings.landmarks = read_landmarks(options.common.landmarks);
    const Foot foot = prepare_foot(file, settings);
    const FootMeasures measures = measure_foot(foot);
    print(options, foot.facts, foot.side, rows_of(measures), measures.outside_population);
  }
  return 0;
}

}  // namespace lastroom
