#pragma once

// Private to commands: options that several commands share.

#include <CLI/CLI.hpp>
#include <map>

#include "commands/options.h"

namespace lastroom {

/// An option that takes one of the words of `choices`; `auto` (where allowed) leaves `target` empty.
template <class T>
CLI::Option* choice(CLI::App& app, const std::string& name, std::optional<T>& target,
                    const std::map<std::string, T>& choices, bool with_auto, const std::string& help) {
  std::vector<std::string> words;
  if (with_auto) words.push_back("auto");
  for (const auto& [word, value] : choices) words.push_back(word);
  return app
      .add_option_function<std::string>(
          name,
          [&target, &choices](const std::string& word) {
            if (word != "auto") target = choices.at(word);
          },
          help)
      ->check(CLI::IsMember(words));
}

extern const std::map<std::string, LengthUnit> kUnits;

void add_scan_options(CLI::App& app, CommonOptions& options);
void add_limit_options(CLI::App& app, CommonOptions& options);
void add_thread_options(CLI::App& app, CommonOptions& options);
/// What stands in the head of a page, its language, and whether it may replace another.
void add_page_options(CLI::App& app, CommonOptions& options);
/// The joint girths as taped on each of two feet.
void add_tapes_of_both(CLI::App& app, CommonOptions& options);
/// All of the above, and what a fitting needs beside them.
void add_fitting_options(CLI::App& app, CommonOptions& options);

}  // namespace lastroom
