#include <fmt/format.h>

#include <cctype>
#include <nlohmann/json.hpp>

#include "commands/commands.h"
#include "commands/kept_apart.h"
#include "commands/landmarks_file.h"
#include "commands/refusal.h"
#include "error.h"
#include "geometry/parallel.h"
#include "measurement/named_measures.h"
#include "preparation/other_body.h"
#include "report/message_json.h"
#include "report/outputs.h"
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

/// What is told of a foot or a last.
struct Findings {
  const InputFacts& facts;
  Side side;
  Message likeness;
  std::vector<NamedMeasure> rows;
  std::vector<Message> remarks;
};

void print_json(const MeasureOptions& options, const Findings& told) {
  const InputFacts& facts = told.facts;
  const Message* doubt = first_doubt(facts);
  nlohmann::ordered_json json = {{"file", facts.file},
                                 {"as", options.as_last ? "last" : "foot"},
                                 {"side", side_name(told.side)},
                                 {"units", unit_name(facts.units)},
                                 {"units_from", facts.units_from == Told::by_option ? "option" : "guess"}};
  json["doubt"] = doubt ? nlohmann::ordered_json(english(*doubt)) : nlohmann::ordered_json();
  json["likeness"] = english(told.likeness);
  for (const NamedMeasure& row : told.rows) json[fmt::format("{}_mm", row.name)] = row.mm;
  json["repairs"] = sentences(facts.repairs);
  json["remarks"] = sentences(told.remarks);
  fmt::print("{}\n", json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
}

void print_table(const MeasureOptions& options, const Findings& told) {
  const InputFacts& facts = told.facts;
  const Message* doubt = first_doubt(facts);
  fmt::print("{}: {}a {} {}, file in {}{}\n", facts.file, doubt ? "taken as " : "", side_name(told.side),
             options.as_last ? "last" : "foot", unit_name(facts.units), doubt ? ". " + english(*doubt) : "");
  fmt::print("  {}\n", english(told.likeness));
  for (const NamedMeasure& row : told.rows) fmt::print("  {:<34}{:>8.1f} mm\n", label_of(row.name), row.mm);
  for (const Message& repair : facts.repairs)
    if (&repair != doubt) fmt::print("  repaired: {}\n", english(repair));
  for (const Message& remark : told.remarks) fmt::print("  look at: {}\n", english(remark));
  if (options.output.empty())
    fmt::print("  to see what was found where, name a folder for a page with pictures: -o DIR\n");
  else
    fmt::print("  what was found where: {}\n", (options.output / "measures.html").string());
  if (!options.as_last) fmt::print("  {}\n", english({"found.if_wrong"}));
}

template <class Ready>
void tell(const MeasureOptions& options, OutputFolder* folder, const Ready& ready, const Findings& told) {
  const CommonOptions& common = options.common;
  if (folder) {
    folder->write("measures.html", measure_html(ready, report_settings(common)));
    folder->publish();
  }
  options.json ? print_json(options, told) : print_table(options, told);
}

/// Tells what was measured, or leaves the page of a refusal and throws it.
template <class Ready>
void tell(const MeasureOptions& options, OutputFolder* folder, const std::variant<Ready, Refused>& given) {
  const CommonOptions& common = options.common;
  if (const auto* refused = std::get_if<Refused>(&given)) {
    if (folder) leave_refusal(*folder, options.output, refusal_html(*refused, report_settings(common)), common.quiet);
    throw InputError(refused->why);
  }
  const Ready& ready = std::get<Ready>(given);
  if constexpr (std::is_same_v<Ready, ReadyFoot>)
    tell(options, folder, ready,
         {ready.foot.facts, ready.foot.side, likeness_of(ready.foot), rows_of(ready.measures),
          ready.measures.outside_population});
  else
    tell(options, folder, ready,
         {ready.last.facts, ready.last.side, likeness_of(ready.last), rows_of(ready.measures), {}});
}

}  // namespace

int run_measure(const MeasureOptions& options) {
  const CommonOptions& common = options.common;
  set_thread_limit(common.threads);
  std::optional<OutputFolder> folder;
  if (!options.output.empty()) {
    keep_apart({options.mesh, common.landmarks}, {options.output});
    folder.emplace(options.output, common.overwrite);
  }
  OutputFolder* const to = folder ? &*folder : nullptr;
  const MeshFile file = read_mesh(options.mesh, common.limits);
  FittingSettings settings;
  settings.foot.side = settings.last.wearer_side = common.side;
  settings.foot.units = common.scan_units;
  settings.last.units = common.last_units;
  if (!common.landmarks.empty()) settings.foot.landmarks = read_landmarks(common.landmarks);
  if (options.as_last)
    tell(options, to, given_last(file, settings));
  else
    tell(options, to, given_foot(file, settings));
  return 0;
}

}  // namespace lastroom
