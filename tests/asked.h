#pragma once

#include <CLI/CLI.hpp>
#include <map>

#include "standing_cases.h"

namespace lastroom::test {

/// What every program that prints a table is asked for.
inline void add_cases(CLI::App& app, unsigned& cases, unsigned& seed) {
  app.add_option("--cases", cases)->capture_default_str();
  app.add_option("--seed", seed, "of the first case; the others follow")->capture_default_str();
}

/// a: lofted around the foot, b: from tape numbers alone, c: stock lasts, graded.
inline void add_family(CLI::App& app, LastFamily& family) {
  static const std::map<std::string, LastFamily> names = {
      {"a", LastFamily::around_the_foot}, {"b", LastFamily::from_numbers}, {"c", LastFamily::graded}};
  app.add_option("--family", family)->transform(CLI::CheckedTransformer(names));
}

}  // namespace lastroom::test
