#pragma once

#include <string_view>

#include "known_foot.h"

namespace lastroom::test {

/// On what constants of the preparation may be set. Everything of MakeHuman's body is kept apart too.
enum class Use { may_set, kept_apart };

/// A kind of foot as clinics see them. It changes the skin and its truth, at random within the kind.
struct FootKind {
  std::string_view name;
  Use use;
  void (*make)(KnownFoot&, Dice&);
  BodyAge age = BodyAge::grown_up;
};
/// A kind of scan: what a scanner makes of the skin.
struct ScanKind {
  std::string_view name;
  Use use;
  Mesh (*take)(KnownFoot&, Dice&);  ///< may move the skin (a foot that bears weight); truth goes along
};

const std::vector<FootKind>& foot_kinds();
const std::vector<ScanKind>& scan_kinds();

}  // namespace lastroom::test
