#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace lastroom {

/// Zones of the foot's skin, in the order of the contract; `none` is skin that no rule looks at (leg, ankle, webs).
enum class Zone : std::uint8_t {
  heel_back,
  heel_sides,
  seat,
  arch,
  waist,
  instep,
  inside_joint,
  outside_joint,
  joint_top,
  tread,
  big_toe_side,
  big_toe_tip,
  middle_toes_tip,
  fifth_toe_side,
  fifth_toe_tip,
  toe_tops,
  toe_pads,
  none
};
constexpr std::size_t kZoneCount = 17;

/// Where the skin of a zone is never pressed, whatever its limits say. Our choice.
enum class NeverPressed : std::uint8_t { no, yes, on_the_inside, where_bony };

/// All that is known of a zone beside its limits (rules file) and where on the foot it lies (`map_skin`).
struct ZoneTraits {
  Zone zone = Zone::none;
  std::string_view name;
  /// The least of it that was judged on 100 scans of made feet (seeds 1 to 100 of tests/truth_cases.cpp), scaled to a
  /// foot of 250 mm.
  double smallest_mm2 = 0.0;
  bool under_the_foot = false;
  bool two_sides = false;  ///< an inside and an outside part, each measured and changed by itself
  bool toe_end = false;    ///< measured against the last's walls and roof alone
  int pieces = 1;          ///< in which it lies, each with a border of its own
  NeverPressed never_pressed = NeverPressed::no;
  bool holds_by_tightness = false;  ///< may be made tighter for a wearer who feels a pinch
  bool moves_with_joint = false;    ///< has other room when the last's joint is pulled in
};

/// One row a zone, in the order of the enum, and one for `none`.
constexpr std::array<ZoneTraits, kZoneCount + 1> kZones = {{
    {.zone = Zone::heel_back, .name = "heel_back", .smallest_mm2 = 1600.0},
    {.zone = Zone::heel_sides, .name = "heel_sides", .smallest_mm2 = 5900.0, .two_sides = true},
    {.zone = Zone::seat, .name = "seat", .smallest_mm2 = 3600.0, .under_the_foot = true},
    {.zone = Zone::arch,
     .name = "arch",
     .smallest_mm2 = 5500.0,
     .under_the_foot = true,
     .never_pressed = NeverPressed::on_the_inside},
    {.zone = Zone::waist,
     .name = "waist",
     .smallest_mm2 = 5500.0,
     .two_sides = true,
     .holds_by_tightness = true,
     .moves_with_joint = true},
    {.zone = Zone::instep,
     .name = "instep",
     .smallest_mm2 = 2400.0,
     .two_sides = true,
     .holds_by_tightness = true,
     .moves_with_joint = true},
    {.zone = Zone::inside_joint,
     .name = "inside_joint",
     .smallest_mm2 = 510.0,
     .never_pressed = NeverPressed::where_bony,
     .holds_by_tightness = true,
     .moves_with_joint = true},
    {.zone = Zone::outside_joint,
     .name = "outside_joint",
     .smallest_mm2 = 360.0,
     .never_pressed = NeverPressed::where_bony,
     .holds_by_tightness = true,
     .moves_with_joint = true},
    {.zone = Zone::joint_top, .name = "joint_top", .smallest_mm2 = 2700.0, .moves_with_joint = true},
    {.zone = Zone::tread, .name = "tread", .smallest_mm2 = 3200.0, .under_the_foot = true, .moves_with_joint = true},
    {.zone = Zone::big_toe_side, .name = "big_toe_side", .smallest_mm2 = 500.0, .moves_with_joint = true},
    {.zone = Zone::big_toe_tip,
     .name = "big_toe_tip",
     .smallest_mm2 = 230.0,
     .toe_end = true,
     .never_pressed = NeverPressed::yes,
     .moves_with_joint = true},
    {.zone = Zone::middle_toes_tip,
     .name = "middle_toes_tip",
     .smallest_mm2 = 300.0,
     .toe_end = true,
     .pieces = 3,
     .never_pressed = NeverPressed::yes,
     .moves_with_joint = true},
    {.zone = Zone::fifth_toe_side,
     .name = "fifth_toe_side",
     .smallest_mm2 = 240.0,
     .never_pressed = NeverPressed::yes,
     .moves_with_joint = true},
    {.zone = Zone::fifth_toe_tip,
     .name = "fifth_toe_tip",
     .smallest_mm2 = 80.0,
     .toe_end = true,
     .never_pressed = NeverPressed::yes,
     .moves_with_joint = true},
    {.zone = Zone::toe_tops,
     .name = "toe_tops",
     .smallest_mm2 = 3200.0,
     .never_pressed = NeverPressed::yes,
     .moves_with_joint = true},
    {.zone = Zone::toe_pads, .name = "toe_pads", .smallest_mm2 = 3100.0, .under_the_foot = true},
    {.zone = Zone::none, .name = "none"},
}};

constexpr const ZoneTraits& traits_of(Zone zone) { return kZones.at(static_cast<std::size_t>(zone)); }
constexpr std::string_view zone_name(Zone zone) { return traits_of(zone).name; }
constexpr bool is_under_the_foot(Zone zone) { return traits_of(zone).under_the_foot; }
constexpr bool has_two_sides(Zone zone) { return traits_of(zone).two_sides; }
constexpr bool is_toe_end(Zone zone) { return traits_of(zone).toe_end; }

}  // namespace lastroom
