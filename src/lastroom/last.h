#pragma once

#include "lastroom/foot.h"

namespace lastroom_v0 {

struct LastOptions {
  std::optional<Unit> unit = {};  ///< else told from the size
  int threads = 0;                ///< as in FootOptions
};

struct LastInside;

/// A shoe last, cleaned, stood on its tread, measured: to be tried with many feet. Can't be changed; copies share it.
class Last {
 public:
  /// Throws Refused when it can't be a last (a cube, a shoe, a flat sheet ...). A foot may pass: see `repairs`.
  explicit Last(const GivenMesh& file, const LastOptions& options = {});
  /// Of a straight last, which fits either foot, a guess: `fit` takes it for the foot's side.
  Side side() const;
  double chance_of_wrong_side() const;  ///< 0 .. 0.5; 0.5 for a straight last
  std::vector<Measure> measures() const;
  std::vector<std::string> repairs() const;              ///< first, where there is one, a doubt that it is a last
  const LastInside& inside() const { return *inside_; }  ///< for the library itself

 private:
  std::shared_ptr<const LastInside> inside_;
};

}  // namespace lastroom_v0
