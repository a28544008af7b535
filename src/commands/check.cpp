#include <fmt/format.h>

#include <algorithm>
#include <cstdio>

#include "check_bytes.h"
#include "commands/commands.h"
#include "commands/kept_apart.h"
#include "commands/landmarks_file.h"
#include "commands/letterhead_file.h"
#include "commands/pdf.h"
#include "commands/refusal.h"
#include "commands/stopwatch.h"
#include "error.h"
#include "files/output_folder.h"
#include "geometry/parallel.h"
#include "mesh_io/write_mesh.h"
#include "preparation/other_body.h"
#include "report/outputs.h"
#include "report/plain_words.h"

namespace lastroom {
namespace {

/// The last as corrected, where the user's own file lies, in mm.
Mesh corrected_in_file_place(const Fitting& fitting) {
  const Last& last = fitting.last;
  const Mesh& right_form = fitting.assessment.corrections.corrected_last.mesh;
  return moved(last.side == Side::left ? mirrored_y(right_form) : right_form, last.last_from_file.inverse());
}

/// In the format that the file's name ends with: STL unless it is OBJ, GLB, or PLY, which carries the depth as colours.
std::string corrected_bytes(const Fitting& fitting, const Mesh& mesh, const std::filesystem::path& file) {
  const std::string format = file.extension().string();
  if (format == ".obj") return obj_text(mesh);
  if (format == ".glb") return glb(mesh);
  if (format == ".ply") return change_ply(fitting, mesh);
  return stl_binary(mesh);
}

/// Writes it, reads it back and tells by how much what stands in the file is off.
void write_corrected_last(const Fitting& fitting, const std::filesystem::path& file, bool overwrite) {
  const std::string name = file.filename().string();
  const Mesh mesh = corrected_in_file_place(fitting);
  write_file(file, corrected_bytes(fitting, mesh, file), overwrite);
  const MeshFile written = read_mesh(file);
  const double to_mm = file.extension() == ".glb" ? 1000.0 : 1.0;
  std::vector<Vec3> vertices = written.mesh.vertices;
  // As the format wants it: y up.
  for (Vec3& v : vertices) v = to_mm == 1.0 ? v : Vec3(to_mm * Vec3(v.x(), -v.z(), v.y()));
  double off_mm = 0.0;
  for (const SurfacePoint& point : SignedDistance(mesh).at(vertices))
    off_mm = std::max(off_mm, std::abs(point.distance_mm));
  fmt::print(stderr, "{}: read back, no vertex further than {:.4f} mm from the last as corrected\n", name, off_mm);
}

const std::string& bytes_of(const NamedFiles& files, std::string_view name) {
  return std::ranges::find(files, name, [](const auto& file) { return std::string_view(file.first); })->second;
}

}  // namespace

void write_for_the_bench(const Fitting& fitting, const CheckOptions& options,
                         const std::function<std::filesystem::path(const std::filesystem::path&)>& named) {
  const bool overwrite = options.common.overwrite;
  const ReportSettings settings = report_settings(options.common);
  if (!options.toe_template.empty())
    write_file(named(options.toe_template), template_svg(fitting, settings), overwrite);
  const bool changed = !fitting.assessment.corrections.changes.empty();
  for (const std::filesystem::path& file : {options.changes, options.corrected_last})
    if (!file.empty() && !changed)
      fmt::print(stderr, "{}: not written, as no change of the last is proposed\n", named(file).filename().string());
  if (!changed) return;
  if (!options.changes.empty()) write_file(named(options.changes), bench_sheet_html(fitting, settings), overwrite);
  if (!options.corrected_last.empty()) write_corrected_last(fitting, named(options.corrected_last), overwrite);
}

namespace {

void write_further_files(const CheckOptions& options, const Fitting& fitting, const ReportSettings& settings,
                         const NamedFiles& files) {
  const CommonOptions& common = options.common;
  if (!options.mail.empty())
    write_file(options.mail,
               options.mail_whole
                   ? mail_draft(fitting, settings, Attached::whole_report, bytes_of(files, "report.html"))
                   : mail_draft(fitting, settings, Attached::client_page, bytes_of(files, "client.html")),
               common.overwrite);
  write_for_the_bench(fitting, options, [](const std::filesystem::path& file) { return file; });
  if (!options.pdf.empty()) print_pdf(options.output / "report.html", options.pdf, common.overwrite);
  if (!options.client_pdf.empty()) print_pdf(options.output / "client.html", options.client_pdf, common.overwrite);
}

}  // namespace

std::vector<std::filesystem::path> inputs_of(const CheckOptions& options) {
  std::vector<std::filesystem::path> inputs = {options.scan, options.last, options.common.landmarks,
                                               options.common.rules};
  for (const std::filesystem::path& file : letterhead_files(options.common.letterhead)) inputs.push_back(file);
  inputs.insert(inputs.end(), options.left.begin(), options.left.end());
  inputs.insert(inputs.end(), options.right.begin(), options.right.end());
  return inputs;
}

std::filesystem::path of_side(std::filesystem::path file, Side side) {
  const std::string name = fmt::format("{}.{}{}", file.stem().string(), side_name(side), file.extension().string());
  return file.replace_filename(name);
}

std::vector<std::filesystem::path> outputs_of(const CheckOptions& options) {
  std::vector<std::filesystem::path> outputs = {options.output,       options.pdf,     options.mail,
                                                options.toe_template, options.changes, options.corrected_last,
                                                options.client_pdf};
  for (const char* name :
       {"report.html", "client.html", "result.json", "clearance.ply", "refusal.html", "referral.html"})
    outputs.push_back(options.output / name);
  if (options.left.empty()) return outputs;
  for (const Side side : {Side::left, Side::right})
    for (const auto* file : {&options.toe_template, &options.changes, &options.corrected_last})
      if (!file->empty()) outputs.push_back(of_side(*file, side));
  return outputs;
}

FittingSettings settings_from(const CommonOptions& options, std::optional<Side> of_two_feet) {
  FittingSettings settings;
  settings.foot.side = of_two_feet ? of_two_feet : options.side;
  settings.foot.units = options.scan_units;
  if (!options.landmarks.empty())
    settings.foot.landmarks =
        of_two_feet ? read_landmarks(options.landmarks, *of_two_feet) : read_landmarks(options.landmarks);
  settings.last.units = options.last_units;
  settings.registration.sock_mm = options.sock_mm;
  settings.registration.scan_error_mm = scan_error_mm(options.scan_load, options.scan_error_mm.value_or(1.0));
  settings.assessment.scan_load = options.scan_load;
  settings.assessment.wearer = options.wearer;
  settings.assessment.tape_joint_mm = !of_two_feet                 ? options.tape_joint_mm
                                      : *of_two_feet == Side::left ? options.tape_joint_left_mm
                                                                   : options.tape_joint_right_mm;
  settings.day = !options.no_day;
  settings.assessment = in_force(settings.assessment, settings.foot.landmarks.never_press);
  if (of_two_feet && !options.landmarks.empty()) {  // a wound on one foot is the wearer's, so the other foot's too
    const Side other = *of_two_feet == Side::left ? Side::right : Side::left;
    settings.assessment = in_force(settings.assessment, read_landmarks(options.landmarks, other).never_press);
  }
  return settings;
}

ReportSettings report_settings(const CommonOptions& options) {
  ReportSettings settings{options.client, options.date, options.language, {}, options.lengths, options.paper};
  if (!options.letterhead.empty()) settings.letterhead = read_letterhead(options.letterhead);
  return settings;
}

Fitting check_and_write(const CheckOptions& options) {
  const CommonOptions& common = options.common;
  set_thread_limit(common.threads);
  Stopwatch stopwatch(common.quiet, "");
  keep_apart(inputs_of(options), outputs_of(options));
  OutputFolder folder(options.output, common.overwrite);  // first: no long work for a folder that can't be written
  const FittingSettings settings = settings_from(common);
  const ReportSettings page_settings = report_settings(common);
  const Rules rules = common.rules.empty() ? default_rules() : read_rules(common.rules);
  stopwatch.begin(Stage::read);
  MeshFile scan = read_mesh(options.scan, common.limits);
  MeshFile last = read_mesh(options.last, common.limits);

  Fitting fitting;
  try {
    fitting = fit_foot_in_last(std::move(scan), std::move(last), rules, settings,
                               [&](Stage stage) { stopwatch.begin(stage); });
  } catch (const InputError&) {
    leave_refusal(folder, options.output, refusal_page(options.scan, options.last, settings, common), common.quiet);
    throw;
  }

  stopwatch.begin(Stage::write);
  const NamedFiles files = files_of(fitting, page_settings, [&] { return stopwatch.timing(); });
  for (const auto& [name, bytes] : files) folder.write(name, bytes);
  folder.publish();
  write_further_files(options, fitting, page_settings, files);
  return fitting;
}

std::string write_result(OutputFolder& folder, const std::string& inside, const Fitting& fitting,
                         const CommonOptions& options) {
  const NamedFiles files = files_of(fitting, report_settings(options));
  for (const auto& [name, bytes] : files) folder.write(inside + name, bytes);
  return bytes_of(files, "report.html");
}

std::string summary_text(const Fitting& fitting) {
  const Assessment& assessment = fitting.assessment;
  const AssessmentSettings& judged = fitting.settings.assessment;
  std::string text;
  for (const InputFacts* facts : {&fitting.foot.facts, &fitting.last.facts})
    if (const Message* doubt = first_doubt(*facts)) text += fmt::format("{}: {}\n", facts->file, english(*doubt));
  text += fmt::format("verdict: {}\n", verdict_name(assessment.verdict));
  if (!fitting.rules.built_in) text += fmt::format("  rules: {}\n", english(own_rules(fitting.rules)));
  if (const Message told = about_wearer(judged.wearer, judged.wearer_reason); !told.empty())
    text += fmt::format("  wearer: {}\n", english(told));
  constexpr std::size_t kReasons = 3;
  for (std::size_t i = 0; i < std::min(kReasons, assessment.findings.size()); ++i) {
    const Finding& finding = assessment.findings[i];
    text += fmt::format("  {}: {}", verdict_name(finding.verdict), rule_name(finding.rule));
    if (finding.zone && rule_of(*finding.zone) != finding.rule) text += fmt::format(" ({})", zone_name(*finding.zone));
    if (finding.measured_mm) text += fmt::format(", {:.1f} mm", *finding.measured_mm);
    if (finding.sigma_mm) text += fmt::format(" +- {:.1f}", *finding.sigma_mm);
    const bool either_way = traits_of(finding.rule).two_sided;
    if (finding.limit_mm) text += fmt::format(" (limit {:.1f}{})", *finding.limit_mm, either_way ? " either way" : "");
    text += fmt::format(". {}\n", english(finding.advice));
  }
  return text;
}

int run_check(const CheckOptions& options) {
  if (!options.left.empty()) return run_check_pair(options);
  const Fitting fitting = check_and_write(options);
  fmt::print("{}report: {}\n", summary_text(fitting), (options.output / "report.html").string());
  if (fitting.assessment.verdict == Verdict::none) {
    const std::vector<Finding>& findings = fitting.assessment.findings;
    fmt::print(stderr, "lastroom: no verdict. {}\n", findings.empty() ? "" : english(findings.front().advice));
    return 4;
  }
  return options.fail_on && fitting.assessment.verdict >= *options.fail_on ? 1 : 0;
}

}  // namespace lastroom
