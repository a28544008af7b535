#pragma once

#include "demo/make_last.h"
#include "preparation/foot.h"
#include "preparation/last.h"

namespace lastroom::test {

/// A made foot as if it had been scanned and prepared without error, so that later rooms are tested on their own.
inline Foot prepared(const MadeFoot& made) {
  Foot foot;
  foot.mesh = made.mesh;
  foot.landmarks.heel = made.heel;
  foot.landmarks.first_joint = made.first_joint;
  foot.landmarks.fifth_joint = made.fifth_joint;
  foot.landmarks.toe_tips = made.toe_tips;
  return foot;
}

inline Last prepared(const MadeLast& made) {
  Last last;
  last.mesh = made.mesh;
  last.bottom = made.bottom;
  last.feather_edge = made.feather_edge;
  last.centre_line = made.centre_line;
  last.heel_back = made.heel_back;
  last.toe_end = made.toe_end;
  last.first_joint = made.first_joint;
  last.fifth_joint = made.fifth_joint;
  last.tread = made.tread;
  return last;
}

}  // namespace lastroom::test
