#pragma once

#include "commands/options.h"
#include "files/output_folder.h"

namespace lastroom {

/// The page of a pair that could not be judged; empty when not even its files can be read again, or memory is out.
std::string refusal_page(const std::filesystem::path& scan, const std::filesystem::path& last,
                         const FittingSettings& settings, const CommonOptions& options);

/// Leaves that page in the folder in place of a result. What keeps it from being written is not told: the reason of the
/// refusal is what the user must hear.
void leave_refusal(OutputFolder& folder, const std::filesystem::path& shown_as, const std::string& page, bool quiet);

}  // namespace lastroom
