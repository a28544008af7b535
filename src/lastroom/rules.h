#pragma once

#include "lastroom/mesh.h"

namespace lastroom_v0 {

/// Standard must be said of a wearer (no diabetes, reduced feeling, poor circulation, earlier ulcer or amputation,
/// kidney failure, changed shape); unknown is judged like at risk.
enum class Wearer { standard, at_risk, unknown };

struct RulesInside;

/// The limits of every zone and measure, each with its source. Can't be changed; copies share it.
class Rules {
 public:
  explicit Rules(std::shared_ptr<const RulesInside> inside) : inside_(std::move(inside)) {}
  const std::string& name() const;
  const std::string& sha256() const;  ///< of the XML's bytes
  bool built_in() const;
  std::size_t loosened()
      const;  ///< how many limits are laxer than the built-in ones; those of at-risk wearers can't be
  const RulesInside& inside() const { return *inside_; }  ///< for the library itself

 private:
  std::shared_ptr<const RulesInside> inside_;
};

Rules default_rules();  ///< built in; installed as share/lastroom/rules.xml too, to be copied and edited
/// Throws Refused with the line and the reason.
Rules read_rules(const std::filesystem::path& file);
/// The same from the XML; `name` stands before ", line 12: ..." in an error.
Rules parse_rules(std::string_view xml, const std::string& name);

}  // namespace lastroom_v0
