#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "commands/commands.h"
#include "commands/progress_bar.h"
#include "commands/shelf_files.h"
#include "digest/digest.h"
#include "error.h"
#include "files/input_file.h"
#include "geometry/parallel.h"
#include "preparation/other_body.h"
#include "shelf_index/packed_last.h"

namespace lastroom {
namespace {

namespace fs = std::filesystem;

/// One file of the shelf as `shelf` tells of it.
struct Line {
  std::string file, state, sha256, problem, doubt;
  KeptLast last;
};

void print(const Line& line) {
  if (!line.problem.empty()) {
    fmt::print("{:<12}{}\n", "unusable", line.problem);
    return;
  }
  if (line.last.measures.length_mm <= 0.0) {
    fmt::print("{:<12}{}\n", line.state, line.file);
    return;
  }
  fmt::print("{:<12}{:<6} length {:>6.1f}  joint girth {:>6.1f}  heel {:>5.1f} mm  {}\n", line.state,
             side_name(line.last.side), line.last.measures.length_mm, line.last.measures.joint_girth.mm,
             line.last.measures.heel_height_mm, line.file + (line.doubt.empty() ? "" : ". " + line.doubt));
}

void tell_same_files(std::vector<Line>& lines) {
  std::map<std::string, std::string> first;
  for (Line& line : lines) {
    if (line.sha256.empty()) continue;
    const auto [it, is_first] = first.emplace(line.sha256, line.file);
    if (!is_first) line.state = "same file as " + it->second + ": ";
  }
}

const char* state_word(IndexState state) {
  constexpr const char* kWords[] = {"new", "stale", "damaged", "ready"};  // as IndexState
  return kWords[static_cast<std::size_t>(state)];
}

/// Whether the index holds for this file what preparing it again gives.
std::string verified(ShelfFiles& shelf, const fs::path& file, const std::string& sha256,
                     const FittingSettings& settings, const ReadLimits& limits) {
  ReadyLast kept;
  if (!shelf.index()->load(shelf.key_of(sha256), kept)) return "damaged";
  const ReadyLast again = ready_last(read_mesh(file, limits), settings);
  kept.last.facts.file = again.last.facts.file;
  const std::optional<KeptLast> numbers = shelf.index()->find(shelf.key_of(sha256));
  const bool same = packed(kept) == packed(again) && numbers && numbers->side == again.last.side &&
                    numbers->units == again.last.facts.units &&
                    numbers->chance_of_wrong_side == again.last.chance_of_wrong_side &&
                    packed_numbers(numbers->measures) == packed_numbers(again.measures);
  return same ? "good" : "differs";
}

Line line_of(ShelfFiles& shelf, const fs::path& file, const ShelfOptions& options, const FittingSettings& settings) {
  Line line;
  line.file = shown_name(file);
  try {
    line.sha256 = sha256_of(read_bytes(file, options.common.limits.largest_file_bytes).bytes());
    const IndexState before = shelf.index()->state(shelf.key_of(line.sha256));
    line.state = state_word(before);
    if (options.what == ShelfOptions::What::add) {
      line.last = shelf.know(file).last;
      constexpr const char* kDone[] = {"added", "rebuilt", "mended", "kept"};  // as IndexState
      line.state = kDone[static_cast<std::size_t>(before)];
      if (ReadyLast kept; shelf.index()->load(shelf.key_of(line.sha256), kept))
        if (const Message* doubt = first_doubt(kept.last.facts)) line.doubt = english(*doubt);
    } else if (before == IndexState::ready) {
      line.last = shelf.index()->find(shelf.key_of(line.sha256)).value_or(KeptLast{});
      if (options.what == ShelfOptions::What::verify)
        line.state = verified(shelf, file, line.sha256, settings, options.common.limits);
    }
  } catch (const InputError& error) {
    line.problem = error.what();
  }
  return line;
}

}  // namespace

int run_shelf(const ShelfOptions& options) {
  set_thread_limit(options.common.threads);
  const FittingSettings settings = settings_from(options.common);
  const std::vector<fs::path> files = files_of_shelf(options.shelf, options.index);
  const fs::path index = options.index.empty() ? options.shelf / kIndexName : options.index;
  const bool add = options.what == ShelfOptions::What::add;
  if (!add && !fs::exists(index))
    throw InputError(fmt::format("{}: there is no such index; make it with: lastroom shelf add {}", shown_name(index),
                                 options.shelf.string()));
  ShelfFiles shelf(index, settings, options.common.limits);
  if (!shelf.index()->is_sound())
    throw InputError(shown_name(index) + ": is damaged; remove it, and add the shelf again");

  std::vector<Line> lines(files.size());
  {
    ProgressBar bar(add ? "added" : "looked at", options.common.quiet);
    constexpr std::size_t kAtOnce = 16;
    for (std::size_t first = 0; first < files.size(); first += kAtOnce) {
      const std::size_t count = std::min(kAtOnce, files.size() - first);
      for_blocks(count, 1, [&](std::size_t i, std::size_t) {
        lines[first + i] = line_of(shelf, files[first + i], options, settings);
      });
      bar.show(first + count, files.size() - first - count);
    }
  }
  tell_same_files(lines);
  for (const Line& line : lines) print(line);
  for (const std::string& doubt : shelf.doubts()) fmt::print(stderr, "lastroom: {}\n", doubt);
  fmt::print("index: {}\n", index.string());
  if (options.what != ShelfOptions::What::verify) return 0;
  const auto bad =
      std::ranges::count_if(lines, [](const Line& l) { return l.state == "damaged" || l.state == "differs"; });
  if (bad == 0) return 0;
  throw InputError(
      fmt::format("{}: {} of {} lasts are not what preparing them again gives; remove it, and add the shelf again",
                  shown_name(index), bad, lines.size()));
}

}  // namespace lastroom
