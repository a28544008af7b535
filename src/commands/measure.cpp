#include <fmt/format.h>

#include <cctype>
#include <nlohmann/json.hpp>

#include "commands/commands.h"
#include "commands/landmarks_file.h"
#include "geometry/parallel.h"
#include "measurement/named_measures.h"
#include "preparation/other_body.h"
#include "report/message_json.h"
#include "words/words.h"

namespace lastroom {
namespace {

template <class Measures>
std::vector<NamedMeasure> rows_of(const Measures& measures) {
  std::vector<NamedMeasure> rows = shared_measures(measures);
  for (const NamedMeasure& further : further_measures(measures)) rows.push_back(further);
  return rows;
}

/// The report's word for it, as it stands within a line.
std::string label_of(std::string_view name) {
  static const Words words("en");
  std::string label = words(fmt::format("measure.{}", name));
  label[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(label[0])));
  return label;
}

void print(const MeasureOptions& options, const InputFacts& facts, Side side, const std::optional<Message>& doubt,
           const std::vector<NamedMeasure>& rows, const std::vector<Message>& remarks) {
  if (options.json) {
    nlohmann::ordered_json json = {{"file", facts.file},
                                   {"as", options.as_last ? "last" : "foot"},
                                   {"side", side_name(side)},
                                   {"units", unit_name(facts.units)},
                                   {"units_from", facts.units_from == Told::by_option ? "option" : "guess"}};
    json["doubt"] = doubt ? nlohmann::ordered_json(english(*doubt)) : nlohmann::ordered_json();
    for (const NamedMeasure& row : rows) json[fmt::format("{}_mm", row.name)] = row.mm;
    json["repairs"] = sentences(facts.repairs);
    json["remarks"] = sentences(remarks);
    fmt::print("{}\n", json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
    return;
  }
  fmt::print("{}: {}a {} {}, file in {}{}\n", facts.file, doubt ? "taken as " : "", side_name(side),
             options.as_last ? "last" : "foot", unit_name(facts.units), doubt ? "; BUT " + english(*doubt) : "");
  for (const NamedMeasure& row : rows) fmt::print("  {:<34}{:>8.1f} mm\n", label_of(row.name), row.mm);
  for (const Message& repair : facts.repairs) fmt::print("  repaired: {}\n", english(repair));
  for (const Message& remark : remarks) fmt::print("  look at: {}\n", english(remark));
}

}  // namespace

int run_measure(const MeasureOptions& options) {
  set_thread_limit(options.common.threads);
  const MeshFile file = read_mesh(options.mesh, options.common.limits);
  if (options.as_last) {
    const Last last = prepare_last(file, {options.common.last_units, options.common.side});
    print(options, last.facts, last.side, doubt_of_a_last(last), rows_of(measure_last(last)), {});
  } else {
    FootPreparation settings;
    settings.side = options.common.side;
    settings.units = options.common.scan_units;
    if (!options.common.landmarks.empty()) settings.landmarks = read_landmarks(options.common.landmarks);
    const Foot foot = prepare_foot(file, settings);
    const FootMeasures measures = measure_foot(foot);
    print(options, foot.facts, foot.side, doubt_of_a_foot(foot), rows_of(measures), measures.outside_population);
  }
  return 0;
}

}  // namespace lastroom
