#pragma once

#include "commands/options.h"

namespace lastroom {

/// Each runs one command and returns its exit status (contract: 0, 1 or 4); input and output errors are thrown.
int run_check(const CheckOptions& options);
int run_measure(const MeasureOptions& options);
int run_screen(const ScreenOptions& options);
int run_demo(const DemoOptions& options);

/// The same for both feet of a client: one report, and a result and a clearance of each foot.
int run_check_pair(const CheckOptions& options);

/// The options as the stages want them; reads the landmarks file.
FittingSettings settings_from(const CommonOptions& options);

/// One whole check, shared by the commands: reads, fits, writes report.html, result.json and clearance.ply.
Fitting check_and_write(const CheckOptions& options);

/// The verdict and its three gravest reasons, for stdout.
std::string summary_text(const Fitting& fitting);

}  // namespace lastroom
