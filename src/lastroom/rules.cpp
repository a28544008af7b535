#include "lastroom/rules.h"

#include "lastroom/inside.h"

namespace lastroom_v0 {
namespace {

template <class Read>
Rules rules_by(const Read& read) {
  return Rules(made<RulesInside>(0, [&](RulesInside& in) { in.rules = read(); }));
}

}  // namespace

const std::string& Rules::name() const { return inside_->rules.name; }
const std::string& Rules::sha256() const { return inside_->rules.sha256; }
bool Rules::built_in() const { return inside_->rules.built_in; }
std::size_t Rules::loosened() const { return inside_->rules.loosened; }

Rules default_rules() {
  return rules_by([] { return lastroom::default_rules(); });
}
Rules read_rules(const std::filesystem::path& file) {
  return rules_by([&] { return lastroom::read_rules(file); });
}
Rules parse_rules(std::string_view xml, const std::string& name) {
  return rules_by([&] { return lastroom::parse_rules(xml, name); });
}

}  // namespace lastroom_v0
