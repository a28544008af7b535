#pragma once

#include <string_view>

#include "measurement/measure.h"

namespace lastroom {

/// A measure under the name that it has everywhere: NAME_mm in JSON, measure.NAME in the report's catalogues.
struct NamedMeasure {
  std::string_view name;
  double mm = 0.0;
};

/// What foot and last are compared by, in the order of every table.
template <class Measures>
std::vector<NamedMeasure> shared_measures(const Measures& m) {
  return {{"length", m.length_mm},
          {"joint_girth", m.joint_girth.mm},
          {"waist_girth", m.waist_girth.mm},
          {"instep_girth", m.instep_girth.mm},
          {"heel_girth", m.heel_girth.mm},
          {"joint_width", m.joint_width_mm},
          {"heel_width", m.heel_width_mm},
          {"heel_to_joint", m.heel_to_joint_mm},
          {"heel_to_fifth_joint", m.heel_to_fifth_joint_mm}};
}

inline std::vector<NamedMeasure> further_measures(const FootMeasures& m) {
  return {{"big_toe_height", m.big_toe_height_mm},
          {"fifth_toe_height", m.fifth_toe_height_mm},
          {"instep_height", m.instep_height_mm}};
}

inline std::vector<NamedMeasure> further_measures(const LastMeasures& m) {
  return {{"stick_length", m.stick_length_mm}, {"heel_height", m.heel_height_mm}, {"toe_spring", m.toe_spring_mm}};
}

}  // namespace lastroom
