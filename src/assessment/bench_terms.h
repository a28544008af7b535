#pragma once

#include <array>
#include <string_view>

#include "geometry/signed_distance.h"
#include "measurement/measure.h"
#include "preparation/last.h"

namespace lastroom {

/// Along the bottom's centre line from the heel to the place nearest to `p` in plan.
double from_heel_mm(const Last& last, const Vec3& p);

/// Of the bottom's centre line, at the x of `p`.
double centre_y_mm(const Last& last, const Vec3& p);

/// The feather edge as a pencil and a tape follow it, from the heel point: last.feather_edge is the border of whole
/// triangles and runs to and fro by half of one, which makes it up to a sixth longer. Closed, places 2 mm apart, each
/// the mean of 8 mm on both sides, twice: a heel's round of 25 mm radius is cut by under 1 mm.
std::vector<Vec3> smooth_feather_edge(const Last& last);

/// Where a place lies as a tape and a pencil find it on the last, and how far a change reaches across there.
struct BenchPlace {
  double along_mm = 0.0;   ///< from the heel point: along the feather edge on its own side; of a bottom the centre line
  double up_mm = 0.0;      ///< along the skin from the feather edge; of a bottom across from the centre line
  double across_mm = 0.0;  ///< breadth of the change along the skin there
  double side_mm = 0.0;    ///< of the last there: from the feather edge to the middle of the top; of a bottom all of it
  bool inside = false;     ///< which half of the last
  bool on_bottom = false;
};
/// `height_mm`: of the change, one per vertex, 0 beside it. `surface` is the last's.
BenchPlace bench_place(const Last& last, const SignedDistance& surface, const std::vector<double>& height_mm,
                       std::uint32_t peak, bool on_bottom);

/// The places at which a last is taped.
enum class Station { seat, instep, waist, joint, toes };
inline constexpr std::size_t kStationCount = 5;
std::string_view station_name(Station station);
/// Where they are along the last, x.
std::array<double, kStationCount> stations_mm(const Last& last, const LastMeasures& measures);
struct NearestStation {
  Station station = Station::joint;
  double before_mm = 0.0;  ///< the place lies so far towards the toes of it, along x; negative: behind it
};
NearestStation nearest_station(const Last& last, const LastMeasures& measures, const Vec3& p);

}  // namespace lastroom
