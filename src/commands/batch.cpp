#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>

#include "build_name.h"
#include "commands/commands.h"
#include "commands/file_lock.h"
#include "commands/jobs_file.h"
#include "commands/kept_apart.h"
#include "commands/letterhead_file.h"
#include "commands/progress_bar.h"
#include "commands/refusal.h"
#include "commands/shelf_files.h"
#include "commands/shelf_table.h"
#include "digest/digest.h"
#include "error.h"
#include "files/input_file.h"
#include "files/output_folder.h"
#include "geometry/parallel.h"
#include "preparation/other_body.h"
#include "report/csv.h"
#include "report/message_json.h"
#include "report/overview.h"
#include "report/text.h"
#include "words/words.h"

namespace lastroom {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

struct FootFiles {
  fs::path scan, last;  ///< no last: the job has a shelf
};

/// One job with its files and options put together.
struct Work {
  const Job& job;
  CommonOptions common;
  std::vector<FootFiles> feet;  ///< one, or left and right
  fs::path shelf, folder;
  std::string key;  ///< names everything that the job's result depends on

  bool is_pair() const { return feet.size() > 1; }
  FittingSettings settings_of(std::size_t foot) const {
    return is_pair() ? settings_from(common, foot == 0 ? Side::left : Side::right) : settings_from(common);
  }
  /// "left.ply, right.ply"; empty when the job has a shelf.
  std::string shown(fs::path FootFiles::*file) const {
    std::string names;
    for (const FootFiles& foot : feet)
      if (!(foot.*file).empty()) names += (names.empty() ? "" : ", ") + shown_name(foot.*file);
    return names;
  }
};

/// The hash of a file's content, or why it has none.
std::string content_of(const fs::path& file, const ReadLimits& limits) {
  try {
    return sha256_of(read_bytes(file, limits.largest_file_bytes).bytes());
  } catch (const InputError& error) {
    return error.what();
  }
}

/// The hash of a shelf: the names and contents of its files. Taken once for all jobs that use it.
class ShelfHashes {
 public:
  explicit ShelfHashes(fs::path index) : index_(std::move(index)) {}

  std::string of(const fs::path& shelf, const ReadLimits& limits) {
    const std::scoped_lock lock(mutex_);
    std::string& hash = hashes_[shelf];
    if (!hash.empty()) return hash;
    std::string all;
    try {
      for (const fs::path& file : files_of_shelf(shelf, index_))
        all += fmt::format("{} {}\n", content_of(file, limits), shown_name(file));
      if (fs::exists(shelf / kShelfTable)) all += content_of(shelf / kShelfTable, limits);
    } catch (const InputError& error) {
      all = error.what();
    }
    return hash = sha256_of(all);
  }

 private:
  fs::path index_;
  std::mutex mutex_;
  std::map<fs::path, std::string> hashes_;
};

std::string key_of(const Work& work, const Rules& rules, const BatchOptions& options, ShelfHashes& shelves) {
  const ReadLimits& limits = work.common.limits;
  std::string scans, lasts, names;
  for (const FootFiles& foot : work.feet) {
    scans += content_of(foot.scan, limits);
    if (!foot.last.empty()) lasts += content_of(foot.last, limits);
    names += shown_name(foot.scan) + "\n" + shown_name(foot.last.empty() ? work.shelf : foot.last) + "\n";
  }
  if (!work.shelf.empty()) lasts = shelves.of(work.shelf, limits);
  CommonOptions common = work.common;
  const std::string landmarks = common.landmarks.empty() ? "" : content_of(common.landmarks, limits);
  common.landmarks.clear();  // a file that can't be read is this job's failure alone
  return sha256_of(run_name(common, scans, rules) + lasts + names + landmarks + common.client + "\n" + common.date +
                   "\n" + common.language +
                   fmt::format("\n{} {} {} {}", options.best, static_cast<int>(common.lengths),
                               static_cast<int>(common.paper), work.feet.size()));
}

Json job_json(const Work& work) {
  return {{"schema", "lastroom.job/1"},
          {"key", work.key},
          {"job", work.job.number},
          {"scan", plain_text(work.shown(&FootFiles::scan))},
          {"last", plain_text(work.shown(&FootFiles::last))},
          {"shelf", plain_text(work.shelf.empty() ? "" : shown_name(work.shelf))},
          {"client", plain_text(work.job.client)},
          {"state", "done"},
          {"side", nullptr},
          {"wearer", wearer_name(work.common.wearer)},
          {"verdict", nullptr},
          {"left_verdict", nullptr},
          {"right_verdict", nullptr},
          {"best_last", nullptr},
          {"doubt", nullptr},
          {"problem", nullptr},
          {"told", nullptr}};
}

/// What is to be looked at first: that one of the two may not be what it was given as.
void tell_doubt(const Fitting& fitting, Json& outcome) {
  for (const InputFacts* facts : {&fitting.last.facts, &fitting.foot.facts})
    if (const Message* doubt = first_doubt(*facts)) {
      outcome["doubt"] = plain_text(facts->file + ": " + english(*doubt), 1000);
      outcome["told"] = message_json(*doubt);
    }
}

void check_one(const Work& work, const Rules& rules, Json& outcome, std::size_t& foot) {
  OutputFolder folder(work.folder, true);
  std::vector<Fitting> fittings;
  for (; foot < work.feet.size(); ++foot) {
    const FootFiles& files = work.feet[foot];
    fittings.push_back(fit_foot_in_last(read_mesh(files.scan, work.common.limits),
                                        read_mesh(files.last, work.common.limits), rules, work.settings_of(foot)));
    tell_doubt(fittings.back(), outcome);
  }
  Verdict worst = Verdict::clear;
  Wearer wearer = Wearer::standard;
  for (const Fitting& fitting : fittings) {
    const Verdict verdict = fitting.assessment.verdict;
    worst = std::max(worst, verdict);
    wearer = graver(wearer, fitting.settings.assessment.wearer);  // a mark may tell of a wound
    if (work.is_pair()) outcome[fmt::format("{}_verdict", side_name(fitting.foot.side))] = verdict_name(verdict);
  }
  if (work.is_pair())
    write_pair_result(folder, "", fittings[0], fittings[1], work.common);
  else
    write_result(folder, "", fittings[0], work.common);
  outcome["side"] = work.is_pair() ? "both" : side_name(fittings[0].foot.side);
  outcome["wearer"] = wearer_name(wearer);
  outcome["verdict"] = verdict_name(worst);
  folder.publish();
}

void screen_one(const Work& work, const BatchOptions& options, Json& outcome) {
  ScreenOptions screen;
  screen.common = work.common;
  (work.is_pair() ? screen.left : screen.scan) = work.feet.front().scan;
  if (work.is_pair()) screen.right = work.feet.back().scan;
  screen.shelf = work.shelf;
  screen.index = options.index;
  screen.output = work.folder;
  screen.best = options.best;
  const ScreenResult result = work.is_pair() ? screen_pair_and_write(screen) : screen_and_write(screen);
  const ShelfRow& best = result.rows.front();
  const bool judged = best.fate == Fate::judged;
  outcome["side"] = work.is_pair() ? "both" : side_name(result.head.side);
  outcome["wearer"] = wearer_name(result.head.wearer);
  outcome["verdict"] = verdict_name(judged ? best.verdict : Verdict::none);
  if (!judged) return;
  outcome["best_last"] = plain_text(best.file);
  for (std::size_t i = 0; i < best.feet.size(); ++i)
    outcome[i == 0 ? "left_verdict" : "right_verdict"] = verdict_name(best.feet[i].verdict);
}

/// What the job's folder tells of it; "waiting" while what lies there is of other files, names or options.
Json outcome_of(const Work& work) {
  try {
    const FileBytes bytes = read_bytes(work.folder / "job.json", 1'000'000);
    Json outcome = Json::parse(bytes.bytes().begin(), bytes.bytes().end(), nullptr, false);
    if (outcome.is_object() && outcome["key"] == work.key) return outcome;
  } catch (const InputError&) {  // none yet
  }
  Json outcome = job_json(work);
  outcome["state"] = "waiting";
  return outcome;
}

/// The page of a foot that could not be judged; empty when there is nothing to draw.
std::string refusal_of(const Work& work, std::size_t foot) try {
  const FootFiles& files = work.feet[foot];
  return files.last.empty() ? "" : refusal_page(files.scan, files.last, work.settings_of(foot), work.common);
} catch (const InputError&) {  // its landmarks
  return {};
}

/// Does the job unless its folder holds its result already. Its job.json comes last, so that a job with one is done;
/// one that failed is tried again.
void do_job(const Work& work, const Rules& rules, const BatchOptions& options, ShelfHashes& shelves) {
  if (outcome_of(work)["state"] == "done") return;
  const FileLock lock(work.folder.string() + ".lock");  // another batch on this folder takes turns with this one
  if (outcome_of(work)["state"] == "done") return;
  Json outcome = job_json(work);
  std::size_t foot = 0;
  try {
    if (!work.shelf.empty())
      screen_one(work, options, outcome);
    else
      check_one(work, rules, outcome, foot);
    if (key_of(work, rules, options, shelves) != work.key)  // taken when the batch began, maybe hours ago
      throw InputError(work.shown(&FootFiles::scan) +
                       ": it or its last was changed during the batch; run the batch again");
  } catch (const InputError& error) {
    outcome = job_json(work);
    outcome["state"] = "failed";
    outcome["problem"] = plain_text(error.what(), 1000);
    outcome["told"] = message_json(error.message);
    OutputFolder folder(work.folder, true);  // nothing of an earlier result may stand beside it
    if (const std::string page = refusal_of(work, std::min(foot, work.feet.size() - 1)); !page.empty())
      folder.write("refusal.html", page);
    folder.publish();
  }
  write_file(work.folder / "job.json", outcome.dump(2) + "\n", true);
}

struct Counts {
  std::size_t done = 0, failed = 0, waiting = 0;
};

/// What a job.json holds as a message; empty when it is none that has words.
Message told_in(const Json& outcome) try {
  const Message told = outcome.contains("told") ? message_from_json(outcome["told"]) : Message{};
  return told.empty() || can_be_told(told) ? told : Message{};
} catch (const Json::exception&) {
  return {};
}

Verdict verdict_called(std::string_view name) {
  for (const Verdict verdict : {Verdict::clear, Verdict::slack, Verdict::watch, Verdict::pinch})
    if (name == verdict_name(verdict)) return verdict;
  return Verdict::none;
}

OverviewLine overview_line(const fs::path& output, const Work& work, const Json& outcome) {
  const auto text = [&](const char* name) {
    return outcome.contains(name) && outcome[name].is_string() ? outcome[name].get<std::string>() : std::string();
  };
  OverviewLine line{work.job.number, work.job.client, work.shown(&FootFiles::scan),
                    work.shelf.empty() ? work.shown(&FootFiles::last) : shown_name(work.shelf)};
  for (const Wearer wearer : {Wearer::standard, Wearer::unknown, Wearer::at_risk})
    if (text("wearer") == wearer_name(wearer)) line.wearer = wearer;
  if (const std::string best = text("best_last"); !best.empty()) line.last = best;
  if (text("state") == "waiting") return line;
  const bool done = text("state") == "done";
  line.state = done ? OverviewLine::State::done : OverviewLine::State::failed;
  line.verdict = verdict_called(text("verdict"));
  if (work.is_pair() && done)
    line.of_feet = {verdict_called(text("left_verdict")), verdict_called(text("right_verdict"))};
  (done ? line.doubt : line.problem) = told_in(outcome);
  const std::string folder = "jobs/" + work.folder.filename().string() + "/";
  for (const char* page : {"report.html", "shelf.html", "refusal.html"})
    if (line.page.empty() && fs::exists(output / folder / page)) line.page = folder + page;
  return line;
}

Counts write_summary(const BatchOptions& options, const std::vector<Work>& works, const RulesHead& rules) {
  const fs::path& output = options.output;
  const FileLock lock(output / "batch.lock");  // the last of several programs to do this has seen all jobs
  Counts counts;
  Json all = Json::array();
  std::vector<OverviewLine> lines;
  std::string csv;
  for (const Work& work : works) {
    Json row = outcome_of(work);
    ++(row["state"] == "done" ? counts.done : row["state"] == "failed" ? counts.failed : counts.waiting);
    lines.push_back(overview_line(output, work, row));
    for (const char* of_the_job_alone : {"schema", "key", "told"}) row.erase(of_the_job_alone);
    row["folder"] = row["state"] == "done" ? Json("jobs/" + work.folder.filename().string()) : Json();
    std::vector<std::string> names, values;
    for (const auto& [name, value] : row.items()) {
      names.push_back(name);
      values.push_back(value.is_null() ? "" : value.is_string() ? csv_field(value.get<std::string>()) : value.dump());
    }
    if (csv.empty()) csv = fmt::format("{}\r\n", fmt::join(names, ","));
    csv += fmt::format("{}\r\n", fmt::join(values, ","));
    all.push_back(std::move(row));
  }
  const Json summary = {{"schema", "lastroom.batch/1"}, {"jobs", std::move(all)}};
  write_file(output / "batch.csv", csv, true);
  write_file(output / "batch.json", summary.dump(2) + "\n", true);
  write_file(output / "overview.html", overview_html(lines, rules, report_settings(options.common)), true);
  return counts;
}

std::vector<Work> works_of(const std::vector<Job>& jobs, const BatchOptions& options) {
  const fs::path base = fs::absolute(options.jobs).parent_path();  // names in the list are relative to it
  const auto found = [&](const std::string& name) { return name.empty() ? fs::path() : base / name; };
  std::vector<Work> works;
  for (const Job& job : jobs) {
    Work work{job, options.common, {}, found(job.shelf), options.output / "jobs" / fmt::format("{:04}", job.number),
              {}};
    for (const JobFoot& foot : job.feet) work.feet.push_back({found(foot.scan), found(foot.last)});
    work.common.landmarks = found(job.landmarks);
    work.common.quiet = true;
    work.common.overwrite = true;
    if (job.side) work.common.side = job.side;
    if (job.wearer) work.common.wearer = *job.wearer;
    if (!job.client.empty()) work.common.client = job.client;
    works.push_back(std::move(work));
  }
  return works;
}

std::vector<fs::path> inputs_of(const BatchOptions& options, const std::vector<Work>& works) {
  std::vector<fs::path> inputs = {options.jobs, options.index, options.common.rules};
  for (const fs::path& file : letterhead_files(options.common.letterhead)) inputs.push_back(file);
  for (const Work& work : works) {
    for (const fs::path& input : {work.shelf, work.common.landmarks}) inputs.push_back(input);
    for (const FootFiles& foot : work.feet)
      for (const fs::path& input : {foot.scan, foot.last}) inputs.push_back(input);
  }
  std::ranges::sort(inputs);
  inputs.erase(std::ranges::unique(inputs).begin(), inputs.end());
  return inputs;
}

}  // namespace

int run_batch(const BatchOptions& options) {
  const CommonOptions& common = options.common;
  set_thread_limit(common.threads);
  const std::vector<Job> jobs = read_jobs(options.jobs);
  std::vector<Work> works = works_of(jobs, options);
  const Rules rules = common.rules.empty() ? default_rules() : read_rules(common.rules);
  keep_apart(inputs_of(options, works), {options.output / "batch.csv", options.output / "batch.json",
                                         options.output / "overview.html", options.output / "jobs"});
  std::error_code error;
  fs::create_directories(options.output / "jobs", error);
  if (error)
    throw OutputError(
        fmt::format("{}: can't be written ({}); choose another folder", options.output.string(), error.message()));

  ShelfHashes shelves(options.index);
  for_blocks(works.size(), 1,
             [&](std::size_t i, std::size_t) { works[i].key = key_of(works[i], rules, options, shelves); });
  write_summary(options, works, rules);  // an older one must not speak for results that are replaced from now on

  std::vector<const Work*> mine;
  for (const Work& work : works)
    if ((work.job.number - 1) % options.shards == options.shard - 1) mine.push_back(&work);
  {
    ProgressBar bar("jobs done:", common.quiet);
    std::mutex mutex;
    std::size_t done = 0;
    for_blocks(mine.size(), 1, [&](std::size_t i, std::size_t) {
      do_job(*mine[i], rules, options, shelves);
      const std::scoped_lock lock(mutex);
      ++done;
      bar.show(done, mine.size() - done);
    });
  }
  const Counts counts = write_summary(options, works, rules);
  fmt::print("{} of {} jobs done, {} failed, {} waiting. overview: {}\n", counts.done, works.size(), counts.failed,
             counts.waiting, (options.output / "overview.html").string());
  if (counts.failed == 0) return 0;
  throw InputError(fmt::format("{} of {} jobs could not be done; {} tells why for each", counts.failed, works.size(),
                               (options.output / "batch.csv").string()));
}

}  // namespace lastroom
