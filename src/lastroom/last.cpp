#include "lastroom/last.h"

#include "lastroom/inside.h"
#include "lastroom/measures_of.h"

namespace lastroom_v0 {

Last::Last(const GivenMesh& file, const LastOptions& options)
    : inside_(made<LastInside>(options.threads, [&](LastInside& in) {
        in.settings.units = unit_of(options.unit);
        lastroom::FittingSettings settings;
        settings.last = in.settings;
        in.ready = lastroom::ready_last(file.inside().file, settings);
      })) {}

Side Last::side() const { return side_of(inside_->ready.last.side); }
double Last::chance_of_wrong_side() const { return inside_->ready.last.chance_of_wrong_side; }
std::vector<Measure> Last::measures() const { return measures_of(inside_->ready.measures); }
std::vector<std::string> Last::repairs() const { return in_english(inside_->ready.last.facts.repairs); }

}  // namespace lastroom_v0
