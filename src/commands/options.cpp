#include <fmt/format.h>

#include <ctime>
#include <iomanip>
#include <map>
#include <sstream>
#include <utility>

#include "commands/option_groups.h"

namespace lastroom {
namespace {

constexpr const char* kProgramHelp =
    "Does this foot fit this last? lastroom stands the 3D scan of a bare foot in the mesh of a last and says where\n"
    "the last holds, where it presses, what may be tightened and what to change, with the doubt of every number.";

constexpr const char* kFooter =
    "First steps:\n"
    "  lastroom demo -o demo                          make a scan and lasts to play with, and check them\n"
    "  lastroom check foot.ply last.stl -o fitting    then open fitting/report.html\n"
    "  lastroom check --help                          every option of the main job\n"
    "Without commands: lastroom.html, one file for a browser, which needs no network (README.md).\n\n"
    "Exit status: 0 done; 1 --fail-on was met; 2 wrong command line; 3 an input can't be used; 4 the scan could not\n"
    "be registered in this last with confidence; 5 an output could not be written.\n"
    "The report compares two shapes. It is no diagnosis: feet at risk are checked by a podiatrist or orthotist.";

constexpr const char* kScreenFooter =
    "Lasts whose measures rule them out are not checked in full; the best are certain all the same. A run that was\n"
    "stopped goes on where it was when it is started again (it keeps DIR.unfinished beside the output until then).\n"
    "A file that is no last does not stop the others. Exit status 4: no last of the shelf could be judged.";
constexpr const char* kShelfFooter =
    "  lastroom shelf add lasts                       once, and after every change of the folder\n"
    "  lastroom screen foot.ply --shelf lasts -o out  for each foot; adds what is missing by itself\n"
    "The index is one SQLite file and holds nothing about any foot. It may be removed at any time.";
constexpr const char* kBatchFooter =
    "scan,last,shelf,landmarks,side,wearer,client\n"
    "feet/brandt.ply,lasts/derby.stl,,brandt.json,right,standard,E. Brandt\n"
    "feet/arnold.ply,,lasts,,,at-risk,\"Arnold, M.\"\n"
    "A pair of feet has left_scan and right_scan instead of scan, and left_last and right_last or a shelf. Names are\n"
    "relative to the table; landmarks are as for check. A job whose result is there already is not done again, so the\n"
    "same command goes on after an interruption; a job whose files, line or options have changed is done again.\n"
    "Exit status 3: some jobs could not be done; batch.csv tells why.";
constexpr const char* kIndexHelp =
    "SQLite file that keeps the prepared lasts (default: lastroom-index.sqlite in the shelf's folder)";

/// What `batch` may not put on every foot of its table.
constexpr std::initializer_list<const char*> kOfOneFoot = {"--landmarks", "--tape-joint", "--client"};

const std::map<std::string, Verdict> kFailLevels = {{"watch", Verdict::watch}, {"pinch", Verdict::pinch}};

/// "2/8" as its two numbers; nothing when it isn't that.
std::optional<std::pair<std::size_t, std::size_t>> shard_numbers(const std::string& text) {
  std::size_t part = 0, of = 0;
  char slash = 0;
  std::istringstream in(text);
  in >> part >> slash >> of;
  if (in.fail() || in.peek() != std::char_traits<char>::eof() || slash != '/' || part < 1 || part > of || of > 100'000)
    return std::nullopt;
  return std::pair{part, of};
}

std::string shard_problem(const std::string& text) {
  return shard_numbers(text) ? "" : "'" + text + "' is no part; write it as I/N, with I from 1 to N";
}

std::string today() {
  const std::time_t now = std::time(nullptr);
  std::tm local{};
  localtime_r(&now, &local);
  std::ostringstream out;
  out << std::put_time(&local, "%Y-%m-%d");
  return out.str();
}

/// The first of these options that was given; empty when none was.
std::string first_given(const CLI::App& app, std::initializer_list<const char*> options) {
  for (const char* option : options)
    if (app.count(option) > 0) return option;
  return "";
}

std::string only_problem(const std::string& text) {
  for (const char* what : {"model=", "size=", "width="})
    if (text.starts_with(what) && text.size() > std::string_view(what).size()) return "";
  return "'" + text + "' asks for nothing that is known; write model=TEXT, size=TEXT or width=TEXT";
}

/// What is wrong with what `screen` was given; empty when nothing is.
std::string screening_problem(const ScreenOptions& options, const std::vector<double>& heel, const CLI::App& app) {
  if (options.left.empty() != options.right.empty()) return "--left and --right belong together: give both";
  if (options.scan.empty() && options.left.empty()) return "give SCAN, or both feet: --left SCAN --right SCAN";
  if (const std::string one = first_given(app, {"--side", "--tape-joint"}); !one.empty() && !options.left.empty())
    return one + " is for one foot: screen that foot on its own with SCAN";
  if (options.lasts.empty() == options.shelf.empty()) return "give either lasts or --shelf DIR";
  const bool in_order = heel.empty() || (heel[0] >= 0.0 && heel[0] <= heel[1] && heel[1] <= 250.0);
  return in_order ? "" : "--heel-height-mm takes the least and the most, from 0 to 250 mm";
}

/// Options of `measure` that say nothing of what is measured; empty when there is none.
std::string measuring_problem(bool as_last, const CLI::App& app) {
  const std::string of_the_other =
      as_last ? first_given(app, {"--scan-units", "--landmarks"}) : first_given(app, {"--last-units"});
  if (of_the_other.empty()) return "";
  if (of_the_other == "--landmarks") return "--landmarks is for a foot: leave it out to measure a last";
  return fmt::format("{} is for a {}; give {}", of_the_other, as_last ? "foot" : "last",
                     as_last ? "--last-units" : "--scan-units");
}

/// Options that belong to one foot and would be put on every foot of a table; empty when there is none.
std::string table_problem(const CLI::App& app) {
  const std::string of_one_foot = first_given(app, kOfOneFoot);
  if (of_one_foot.empty()) return "";
  if (of_one_foot != "--tape-joint")
    return fmt::format("{} is for one foot: write each foot's own into the table's column '{}'", of_one_foot,
                       of_one_foot.substr(2));
  return of_one_foot + " is for one foot: check that foot on its own with lastroom check SCAN LAST " + of_one_foot;
}

/// What is wrong with the files that `check` was given, and with options that belong to one foot; empty when nothing
/// is.
std::string pairing_problem(const CheckOptions& options, const CLI::App& app) {
  const bool two_feet = !options.left.empty() || !options.right.empty();
  if (!two_feet) {
    const std::string of_both = first_given(app, {"--tape-joint-left", "--tape-joint-right"});
    if (!of_both.empty()) return of_both + " is for both feet in one report; for one foot it is --tape-joint";
    return options.scan.empty() || options.last.empty()
               ? "give SCAN and LAST, or both feet: --left SCAN LAST --right SCAN LAST"
               : "";
  }
  if (options.left.empty() || options.right.empty()) return "--left and --right belong together: give both";
  if (!options.scan.empty()) return "give either SCAN LAST or --left and --right, not both";
  if (app.count("--tape-joint") > 0) return "of both feet the tapes are --tape-joint-left and --tape-joint-right";
  const std::string of_one_foot = first_given(app, {"--side"});
  return of_one_foot.empty() ? "" : of_one_foot + " is for one foot: check that foot on its own with SCAN LAST";
}

}  // namespace

Command read_command_line(int argc, const char* const* argv) {
  CLI::App app(kProgramHelp, "lastroom");
  app.footer(kFooter);
  app.set_version_flag("--version", std::string("lastroom ") + LASTROOM_VERSION);
  app.require_subcommand(1);

  CheckOptions check;
  CLI::App* check_app = app.add_subcommand("check", "the main job: one scan in one last, judged, with a report");
  check_app->add_option("SCAN", check.scan, "scan of a bare foot (.stl .ply .obj .off .glb .gltf; mesh or points)");
  check_app->add_option("LAST", check.last, "mesh of the last (same formats)");
  check_app
      ->add_option("--left", check.left,
                   "both feet in one report, with --right: scan and last of the left foot; files that are\n"
                   "each foot's own (--template toes.svg) are written as toes.left.svg and toes.right.svg")
      ->type_name("SCAN LAST")
      ->expected(2);
  check_app->add_option("--right", check.right, "scan and last of the right foot")->type_name("SCAN LAST")->expected(2);
  check_app
      ->add_option("-o,--output", check.output, "folder for report.html, client.html, result.json and clearance.ply")
      ->required();
  choice(*check_app, "--fail-on", check.fail_on, kFailLevels, false,
         "exit status 1 when the verdict is watch (or pinch) or worse");
  check_app->add_option("--pdf", check.pdf,
                        "also print the report to this PDF file (needs Chromium: apt install chromium)");
  check_app->add_option("--eml", check.mail,
                        "also write a mail draft with the client's page attached, ready to address and send");
  check_app->add_flag("--eml-whole", check.mail_whole, "attach the whole report to the mail draft instead")
      ->needs("--eml");
  check_app->add_option("--client-pdf", check.client_pdf, "also print the client's page to this PDF file");
  check_app->add_option("--template", check.toe_template,
                        "also write plan and profile of the toes' room at 1:1 (SVG, 100 mm scale bar), for the bench");
  check_app->add_option(
      "--changes", check.changes,
      "also write what to add to the last and take away at 1:1, a line a millimetre: a page (HTML) to\n"
      "print on several sheets and lay round the last");
  check_app->add_option(
      "--corrected-last", check.corrected_last,
      "also write the last with the proposed changes made (STL, OBJ, GLB, or PLY with the depth as colours, by "
      "the name's ending; mm, in the last file's own place)");
  add_fitting_options(*check_app, check.common);
  add_tapes_of_both(*check_app, check.common);

  MeasureOptions measure;
  std::string measure_as;
  CLI::App* measure_app = app.add_subcommand("measure", "lengths, widths and girths of a foot or a last");
  measure_app->add_option("MESH", measure.mesh, "the mesh to measure")->required();
  measure_app->add_option("--as", measure_as, "what it is: foot or last")
      ->required()
      ->check(CLI::IsMember(std::vector<std::string>{"foot", "last"}));
  measure_app->add_flag("--json", measure.json, "print JSON instead of a table");
  measure_app->add_option("-o,--output", measure.output,
                          "folder for measures.html: the measures, and pictures of what was found where");
  add_scan_options(*measure_app, measure.common);
  choice(*measure_app, "--last-units", measure.common.last_units, kUnits, true, "unit of a last's file");
  add_page_options(*measure_app, measure.common);
  add_limit_options(*measure_app, measure.common);
  add_thread_options(*measure_app, measure.common);

  ScreenOptions screen;
  std::vector<double> heel;
  std::vector<std::string> only;
  CLI::App* screen_app = app.add_subcommand("screen", "rank many lasts for one foot");
  screen_app->footer(kScreenFooter);
  screen_app->add_option("SCAN", screen.scan, "scan of a bare foot");
  screen_app->add_option("--left", screen.left,
                         "both feet at once, with --right, instead of SCAN: the scan of the left foot. Pairs of lasts\n"
                         "are ranked by the foot that is worse off");
  screen_app->add_option("--right", screen.right, "the scan of the right foot");
  screen_app->add_option("LAST", screen.lasts, "lasts to try");
  screen_app->add_option("--shelf", screen.shelf,
                         "a folder: every mesh in it is tried. What its lasts are called is read from its shelf.csv\n"
                         "(columns file, model, size, width, side, heel; all but file may be missing), or from names\n"
                         "such as derby-42-wide.stl");
  screen_app
      ->add_option("--heel-height-mm", heel, "only lasts whose heel (of shelf.csv, or else measured) is within these")
      ->type_name("MIN MAX")
      ->expected(2);
  screen_app
      ->add_option("--only", only, "only lasts of this model, size or width, e.g. --only model=Derby --only width=wide")
      ->type_name("WHAT=TEXT")
      ->check(CLI::Validator(only_problem, ""));
  screen_app->add_option("--index", screen.index, kIndexHelp);
  screen_app->add_option("-o,--output", screen.output, "folder for shelf.html, shelf.csv, shelf.json and best/")
      ->required();
  screen_app->add_option("--best", screen.best, "how many to find for certain and to report on in full (default 5)")
      ->check(CLI::Range(1, 99));
  screen_app->add_flag("--all", screen.all, "check every last in full, also those whose measures rule them out");
  screen_app->add_flag("!--no-mirror", screen.mirror,
                       "leave out lasts of the other side; without it they are mirrored where their fellow is missing");
  add_fitting_options(*screen_app, screen.common);

  ShelfOptions shelf;
  CLI::App* shelf_app = app.add_subcommand("shelf", "prepare a folder of lasts once, for many feet");
  shelf_app->footer(kShelfFooter);
  shelf_app->require_subcommand(1);
  const std::map<std::string, std::pair<ShelfOptions::What, const char*>> shelf_jobs = {
      {"add", {ShelfOptions::What::add, "prepare every last that is new or changed and keep it in the index"}},
      {"list", {ShelfOptions::What::list, "tell what the index knows of every file"}},
      {"verify", {ShelfOptions::What::verify, "prepare every last again and compare"}}};
  for (const auto& [name, job] : shelf_jobs) {
    CLI::App* job_app = shelf_app->add_subcommand(name, job.second);
    job_app->callback([&shelf, what = job.first] { shelf.what = what; });
    job_app->add_option("DIR", shelf.shelf, "the shelf: a folder of lasts")->required();
    job_app->add_option("--index", shelf.index, kIndexHelp);
    choice(*job_app, "--last-units", shelf.common.last_units, kUnits, true,
           "unit of the files: auto (default), mm, cm, m or in");
    add_limit_options(*job_app, shelf.common);
    add_thread_options(*job_app, shelf.common);
  }

  CompareOptions compare;
  CLI::App* compare_app =
      app.add_subcommand("compare", "two results side by side: before and after, two lasts, two feet");
  compare_app->footer(
      "A and B are output folders of check (or of screen: OUT/best/01-...). Writes compare.html and compare.json: what "
      "got\n"
      "better or worse in each zone, and the difference of the room at every point of the skin.");
  compare_app->add_option("A", compare.first, "a result folder (result.json and clearance.ply)")->required();
  compare_app->add_option("B", compare.second, "the one to hold against it")->required();
  compare_app->add_option("-o,--output", compare.output, "folder for compare.html and compare.json")->required();
  add_page_options(*compare_app, compare.common);
  add_limit_options(*compare_app, compare.common);

  BatchOptions batch;
  CLI::App* batch_app = app.add_subcommand("batch", "many jobs from a table: feet, each in a last or on a shelf");
  batch_app->footer(kBatchFooter);
  batch_app->add_option("JOBS", batch.jobs, "CSV with the columns scan, last or shelf, landmarks, side, wearer, client")
      ->required();
  batch_app
      ->add_option("-o,--output", batch.output, "folder for overview.html, jobs/0001 ..., batch.csv and batch.json")
      ->required();
  batch_app->add_option("--index", batch.index, kIndexHelp);
  batch_app->add_option("--best", batch.best, "of a job with a shelf: how many to find for certain (default 5)")
      ->check(CLI::Range(1, 99));
  std::string shard;
  batch_app
      ->add_option("--shard", shard, "do only part I of N of the list, e.g. 2/8; each part may run on another machine")
      ->check(CLI::Validator(shard_problem, "I/N"));
  add_fitting_options(*batch_app, batch.common);
  for (const char* of_one_foot : kOfOneFoot) batch_app->get_option(of_one_foot)->group("");  // not in the help
  batch_app->get_option("--date")->description(
      "date for the reports' heads, YYYY-MM-DD (default: none, so that the same jobs give the same bytes)");
  batch_app->get_option("--overwrite")->description("not needed: what has changed is done again in any case");

  DemoOptions demo;
  CLI::App* demo_app = app.add_subcommand("demo", "make a scan and lasts of our own, then check them");
  demo_app->add_option("-o,--output", demo.output, "folder for the files and their reports")->required();
  demo_app->add_flag("--overwrite", demo.common.overwrite, "replace an output folder that is there already");
  add_thread_options(*demo_app, demo.common);

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& problem) {
    std::ostringstream out, err;
    const bool wrong = app.exit(problem, out, err) != 0;
    return Answer{wrong ? err.str() : out.str(), wrong ? 2 : 0};
  }
  for (CommonOptions* common : {&check.common, &measure.common, &screen.common, &compare.common, &demo.common})
    if (common->date.empty()) common->date = today();
  if (*check_app) {
    const std::string problem = pairing_problem(check, *check_app);
    if (!problem.empty()) return Answer{"check: " + problem + "\nRun with --help for more information.\n", 2};
    return check;
  }
  if (*measure_app) {
    measure.as_last = measure_as == "last";
    const std::string problem = measuring_problem(measure.as_last, *measure_app);
    if (!problem.empty()) return Answer{"measure: " + problem + "\nRun with --help for more information.\n", 2};
    return measure;
  }
  if (*screen_app) {
    if (!screen.left.empty() && !screen.scan.empty())  // the first of the lasts
      screen.lasts.insert(screen.lasts.begin(), std::exchange(screen.scan, {}));
    const std::string problem = screening_problem(screen, heel, *screen_app);
    if (!problem.empty()) return Answer{"screen: " + problem + "\nRun with --help for more information.\n", 2};
    if (!heel.empty()) screen.heel_mm = {heel[0], heel[1]};
    for (const std::string& text : only)
      screen.only.emplace_back(text.substr(0, text.find('=')), text.substr(text.find('=') + 1));
    return screen;
  }
  if (*shelf_app) return shelf;
  if (*compare_app) return compare;
  if (*batch_app) {
    const std::string problem = table_problem(*batch_app);
    if (!problem.empty()) return Answer{"batch: " + problem + "\nRun with --help for more information.\n", 2};
    if (const auto part = shard_numbers(shard)) std::tie(batch.shard, batch.shards) = *part;
    return batch;
  }
  return demo;
}

}  // namespace lastroom
