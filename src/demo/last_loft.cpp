#include "demo/last_loft.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "demo/last_profile.h"
#include "demo/toe_style.h"

namespace lastroom {
namespace {

constexpr double kFollowsHeel_ratio = 0.22;  // height over the seat, in foot lengths, up to which the heel is followed
constexpr double kFollowsWaist = 0.35, kFollowsRise = 0.8;  // from here forward that height rises to the instep
constexpr double kConeHalfWidth_ratio = 0.062;              // of the cut top, in foot lengths
constexpr double kClipLean_ratio = 0.02;  // the back leans forward by this from where it leaves the heel to the cut
constexpr double kWallFoot_mm = 3.5;      // a styled wall's foot inside its widest line
constexpr int kFairingRounds = 60;
constexpr int kRays = 48;                      // over a quarter turn
constexpr double kRayStart_mm = 8.0;           // above the bottom, on the spine
constexpr double kBridgeFrom_ratio = 0.05;     // before the joint line, in foot lengths
constexpr double kToeFairingFrom_ratio = 0.1;  // before the joint line, in foot lengths
constexpr double kToeFairing_mm2 = 150.0;      // the same for the toe end: 9 mm
constexpr double kFeatherFairing_mm2 = 190.0;  // twice the variance of the average that fairs the feather edge: 10 mm

class Lofter {
 public:
  Lofter(const LastSkin& skin, const LastBottom& bottom, const LoftShape& shape)
      : skin_(skin), bottom_(bottom), shape_(shape), style_(skin, bottom, shape.toe, shape.toe_end_x_mm) {
    heel_axis_x_ = skin.heel_x_mm + 0.11 * skin.length_mm;
    toe_axis_x_ = shape.toe_end_x_mm - 0.125 * skin.length_mm;
    find_cone_front();
    place_stations();
    find_feather_edge();
    build_profiles();
  }

  Loft result() {
    Loft made;
    number_vertices(made);
    triangulate(made);
    fair(made);
    return made;
  }

 private:
  void find_cone_front() {
    const double everything = 1e9;
    double x = toe_axis_x_, before = 0.0;
    for (; x > heel_axis_x_ + 0.1 * skin_.length_mm; x -= 1.0) {
      const HalfPlane station{x, Vec2::UnitY(), 0};
      const double top = top_of(outer_border(slice(skin_.mesh, station, everything), Vec2(20.0, 0.0)));
      if (top >= shape_.cone_z_mm) {
        cone_front_x_ = x + (top - shape_.cone_z_mm) / std::max(top - before, 1e-6);
        return;
      }
      before = top;
    }
    cone_front_x_ = x;
  }

  void place_stations() {
    const double edge = shape_.edge_mm;
    const auto pieces = [&](double length) {
      return std::max<std::size_t>(2, static_cast<std::size_t>(length / edge));
    };
    const std::size_t heel = pieces(0.5 * std::numbers::pi * 0.13 * skin_.length_mm);
    const std::size_t cone = pieces(cone_front_x_ - heel_axis_x_), fore = pieces(toe_axis_x_ - cone_front_x_);
    const std::size_t toe = pieces(0.5 * std::numbers::pi * 0.14 * skin_.length_mm);
    cone_front_base_ = cone;
    bases_ = cone + fore + 1;
    const auto base_x = [&](std::size_t b) {
      return b <= cone
                 ? heel_axis_x_ + (cone_front_x_ - heel_axis_x_) * static_cast<double>(b) / static_cast<double>(cone)
                 : cone_front_x_ +
                       (toe_axis_x_ - cone_front_x_) * static_cast<double>(b - cone) / static_cast<double>(fore);
    };
    const auto fan = [&](std::size_t base, double turn) {  // turn in quarters from straight ahead, to the inside
      const double angle = turn * 0.5 * std::numbers::pi;
      stations_.push_back({base_x(base), Vec2(std::cos(angle), std::sin(angle)), base});
    };
    for (std::size_t i = 0; i < heel; ++i) fan(0, 2.0 - static_cast<double>(i) / static_cast<double>(heel));
    for (std::size_t b = 0; b < bases_; ++b) stations_.push_back({base_x(b), Vec2::UnitY(), b});
    for (std::size_t i = 1; i < 2 * toe; ++i) fan(bases_ - 1, 1.0 - static_cast<double>(i) / static_cast<double>(toe));
    for (std::size_t b = bases_; b-- > 0;) stations_.push_back({base_x(b), -Vec2::UnitY(), b});
    for (std::size_t i = 1; i < heel; ++i) fan(0, -1.0 - static_cast<double>(i) / static_cast<double>(heel));
    bottom_intervals_ = pieces(0.19 * skin_.length_mm);
    side_intervals_ = pieces(0.42 * skin_.length_mm);
  }

  bool cut(const HalfPlane& s) const { return s.base < cone_front_base_; }
  bool in_toe_fan(const HalfPlane& s) const { return s.base + 1 == bases_ && s.direction.x() > 1e-9; }
  double ground(const HalfPlane& s, double q) const { return bottom_.height_mm(s.plan(q).x(), s.plan(q).y()); }

  /// Up to here a station follows the foot; above it the last is a cone.
  double follows_up_to(const HalfPlane& s) const {
    if (!cut(s)) return 1e9;
    const double along = (s.plan(25.0).x() - skin_.heel_x_mm) / skin_.length_mm;
    const double height = kFollowsHeel_ratio + kFollowsRise * std::max(0.0, along - kFollowsWaist);
    return std::min(ground(s, 0.0) + height * skin_.length_mm, shape_.cone_z_mm - 6.0);
  }

  /// The wall leaves the bottom at 45 degrees and touches the foot's rounded border: a visible edge, and room
  /// everywhere.
  void find_feather_edge() {
    for (const HalfPlane& s : stations_) {
      slices_.push_back(slice(skin_.mesh, s, follows_up_to(s)));
      const double style = style_.reach_mm(s.x, s.direction);
      double widest = std::max(style, 10.0);
      for (const Vec2& p : slices_.back()) widest = std::max(widest, p.x());
      const double rise = (ground(s, 0.8 * widest) - ground(s, 0.8 * widest - 8.0)) / 8.0;
      const double wall = std::clamp((1.0 + rise) / std::max(1.0 - rise, 0.1), 0.5, 4.0);  // tan(45 + slope)
      double touch = style > 0.0 ? wall * (style - kWallFoot_mm) - ground(s, style - kWallFoot_mm) : -1e9;
      for (const Vec2& p : slices_.back())
        if (p.x() > 0.0) touch = std::max(touch, wall * p.x() - p.y());
      double q = 4.0;
      while (q < widest && wall * q - ground(s, q) < touch) q += 0.05;
      feather_q_.push_back(q);
    }
    const std::size_t n = feather_q_.size();
    const int rounds = std::clamp(static_cast<int>(kFeatherFairing_mm2 / (shape_.edge_mm * shape_.edge_mm)), 4, 400);
    for (int round = 0; round < rounds; ++round) {
      const std::vector<double> old = feather_q_;
      for (std::size_t k = 0; k < n; ++k)
        feather_q_[k] = 0.25 * old[(k + n - 1) % n] + 0.5 * old[k] + 0.25 * old[(k + 1) % n];
    }
  }

  void build_profiles() {
    // The ridge first: every half plane that meets it must know its height.
    std::vector<double> ridge(bases_, 0.0);
    std::vector<Profile> border(stations_.size());
    for (std::size_t k = 0; k < stations_.size(); ++k) {
      const HalfPlane& s = stations_[k];
      if (cut(s) || in_toe_fan(s)) continue;
      Profile points = slices_[k];
      const double top = top_of(outer_border(points, feather(k)));
      style_.add_points(points, s.x, s.direction, ground(s, 0.0), top);
      style_.add_points(points, s.x, -s.direction, ground(s, 0.0), top, true);
      border[k] = outer_border(points, feather(k));
      ridge[s.base] = std::max(ridge[s.base], top_of(border[k]));
    }
    bridge_fore_hollows(border);
    for (std::size_t k = 0; k < stations_.size(); ++k)
      if (!border[k].empty()) ridge[stations_[k].base] = std::max(ridge[stations_[k].base], top_of(border[k]));
    const double rear_x = rear_rim_x();
    for (std::size_t k = 0; k < stations_.size(); ++k) {
      const HalfPlane& s = stations_[k];
      if (in_toe_fan(s)) {
        Profile points = slices_[k];
        std::erase_if(points, [](const Vec2& p) { return p.x() < 0.5; });
        style_.add_points(points, s.x, s.direction, ground(s, feather_q_[k]), ridge[s.base]);
        points.emplace_back(0.0, ridge[s.base]);
        points.emplace_back(-feather_q_[k], 0.0);
        border[k] = outer_border(points, feather(k));
      } else if (cut(s)) {
        border[k] = outer_border(slices_[k], feather(k), true);
        const double reach = rim_reach(s, rear_x, cone_front_x_, kConeHalfWidth_ratio * skin_.length_mm);
        bend_to_rim(border[k], Vec2(reach, shape_.cone_z_mm));
      }
      if (!cut(s)) border[k].back() = Vec2(0.0, ridge[s.base]);
    }
    fair_toe_end(border);
    for (const Profile& line : border) profiles_.push_back(resampled(line, side_intervals_));
  }

  /// In front of the joint a last bridges the hollows between the toes along as well as across: every ray from the
  /// spine is lifted to the concave hull of its lengths from the joint to the toe axis.
  void bridge_fore_hollows(std::vector<Profile>& border) {
    for (const double side : {1.0, -1.0}) {
      std::vector<std::size_t> fore;
      for (std::size_t k = 0; k < stations_.size(); ++k)
        if (stations_[k].direction.y() * side > 0.0 && !in_toe_fan(stations_[k]) &&
            stations_[k].x > skin_.joint_middle.x() + kBridgeFrom_ratio * skin_.length_mm)
          fore.push_back(k);
      std::sort(fore.begin(), fore.end(),
                [&](std::size_t a, std::size_t b) { return stations_[a].x < stations_[b].x; });
      if (fore.size() < 3) continue;
      const auto lift = [&](std::vector<double>& values) {
        std::vector<std::size_t> hull;
        const auto x = [&](std::size_t i) { return stations_[fore[i]].x; };
        for (std::size_t i = 0; i < values.size(); ++i) {
          while (hull.size() > 1) {
            const std::size_t a = hull[hull.size() - 2], b = hull.back();
            if ((values[b] - values[a]) * (x(i) - x(a)) > (values[i] - values[a]) * (x(b) - x(a))) break;
            hull.pop_back();
          }
          hull.push_back(i);
        }
        for (std::size_t h = 1; h < hull.size(); ++h)
          for (std::size_t i = hull[h - 1]; i < hull[h]; ++i) {
            const double share = (x(i) - x(hull[h - 1])) / (x(hull[h]) - x(hull[h - 1]));
            values[i] = values[hull[h - 1]] + share * (values[hull[h]] - values[hull[h - 1]]);
          }
      };
      std::vector<double> reach;
      for (const std::size_t k : fore) reach.push_back(feather_q_[k]);
      lift(reach);
      for (std::size_t i = 0; i < fore.size(); ++i) feather_q_[fore[i]] = reach[i];
      std::vector<Profile> rays(fore.size());
      for (int r = 0; r <= kRays; ++r) {
        const double angle = 0.5 * std::numbers::pi * r / kRays;
        const Vec2 direction(std::cos(angle), std::sin(angle));
        std::vector<double> lengths;
        for (const std::size_t k : fore) lengths.push_back(ray_length(border[k], ray_start(k), direction));
        lift(lengths);
        for (std::size_t i = 0; i < fore.size(); ++i) rays[i].push_back(ray_start(fore[i]) + lengths[i] * direction);
      }
      for (std::size_t i = 0; i < fore.size(); ++i) {
        rays[i].insert(rays[i].begin(), feather(fore[i]));
        border[fore[i]] = std::move(rays[i]);
      }
    }
  }

  /// Around the toe end the toes' hull and the style's shape are averaged from station to station, most at the wall and
  /// not at all at the ridge, which all stations of the toe share.
  void fair_toe_end(std::vector<Profile>& border) const {
    std::vector<std::size_t> fore;
    for (std::size_t k = 0; k < stations_.size(); ++k)
      if (in_toe_fan(stations_[k]) || stations_[k].x > skin_.joint_middle.x() + kToeFairingFrom_ratio * skin_.length_mm)
        fore.push_back(k);
    std::vector<std::vector<double>> lengths(fore.size());
    const auto direction = [](int r) {
      const double angle = 0.5 * std::numbers::pi * r / kRays;
      return Vec2(std::cos(angle), std::sin(angle));
    };
    for (std::size_t i = 0; i < fore.size(); ++i)
      for (int r = 0; r <= kRays; ++r)
        lengths[i].push_back(ray_length(border[fore[i]], ray_start(fore[i]), direction(r)));
    const int rounds = std::clamp(static_cast<int>(kToeFairing_mm2 / (shape_.edge_mm * shape_.edge_mm)), 4, 400);
    for (int round = 0; round < rounds; ++round) {
      const auto old = lengths;
      for (std::size_t i = 1; i + 1 < fore.size(); ++i)
        for (std::size_t r = 0; r <= kRays; ++r) {
          const double share = 0.5 * (1.0 - std::pow(static_cast<double>(r) / kRays, 3.0));
          lengths[i][r] += share * (0.5 * (old[i - 1][r] + old[i + 1][r]) - old[i][r]);
        }
    }
    for (std::size_t i = 0; i < fore.size(); ++i) {
      Profile line = {feather(fore[i])};
      for (int r = 0; r <= kRays; ++r)
        line.push_back(ray_start(fore[i]) + lengths[i][static_cast<std::size_t>(r)] * direction(r));
      line.back().x() = 0.0;
      border[fore[i]] = std::move(line);
    }
  }

  Vec2 ray_start(std::size_t k) const { return {0.0, ground(stations_[k], 0.0) + kRayStart_mm}; }

  double rear_rim_x() const {
    double q = 0.0;
    const double top = follows_up_to(stations_[0]);
    for (const Vec2& p : slices_[0])
      if (p.y() > top - 4.0) q = std::max(q, p.x());
    return stations_[0].x - q + kClipLean_ratio * skin_.length_mm;
  }

  Vec2 feather(std::size_t k) const { return {feather_q_[k], ground(stations_[k], feather_q_[k])}; }

  void number_vertices(Loft& made) {
    constexpr auto kNone = std::numeric_limits<std::uint32_t>::max();
    std::vector<std::uint32_t> spine(bases_, kNone), top(bases_, kNone);
    const std::size_t rows = bottom_intervals_ + side_intervals_ + 1;
    const auto add = [&](const HalfPlane& s, double q, double z) {
      const Vec2 plan = s.plan(q);
      made.mesh.vertices.emplace_back(plan.x(), plan.y(), z);
      return static_cast<std::uint32_t>(made.mesh.vertices.size() - 1);
    };
    grid_.assign(stations_.size(), std::vector<std::uint32_t>(rows));
    for (std::size_t k = 0; k < stations_.size(); ++k) {
      const HalfPlane& s = stations_[k];
      if (spine[s.base] == kNone) spine[s.base] = add(s, 0.0, ground(s, 0.0));
      grid_[k][0] = spine[s.base];
      for (std::size_t j = 1; j < bottom_intervals_; ++j) {
        const double q = feather_q_[k] * static_cast<double>(j) / static_cast<double>(bottom_intervals_);
        grid_[k][j] = add(s, q, ground(s, q));
      }
      for (std::size_t j = 0; j <= side_intervals_; ++j) {
        const bool on_ridge = j == side_intervals_ && !cut(s);
        std::uint32_t& id = grid_[k][bottom_intervals_ + j];
        if (on_ridge && top[s.base] != kNone) {
          id = top[s.base];
          continue;
        }
        id = add(s, profiles_[k][j].x(), profiles_[k][j].y());
        if (on_ridge) top[s.base] = id;
      }
    }
    for (const auto& column : grid_) made.feather_edge.push_back(column[bottom_intervals_]);
    for (std::size_t j = bottom_intervals_ + 1; j-- > 0;) made.centre_line.push_back(grid_[0][j]);
    for (std::size_t b = 1; b < bases_; ++b) made.centre_line.push_back(spine[b]);
    std::size_t foremost = 0;
    for (std::size_t k = 0; k < stations_.size(); ++k)
      if (in_toe_fan(stations_[k]) && stations_[k].direction.x() > stations_[foremost].direction.x()) foremost = k;
    for (std::size_t j = 1; j <= bottom_intervals_; ++j) made.centre_line.push_back(grid_[foremost][j]);
  }

  void triangulate(Loft& made) {
    const auto add = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c, bool on_bottom) {
      if (a == b || b == c || c == a) return;
      made.mesh.triangles.push_back({a, b, c});
      made.bottom.push_back(on_bottom);
    };
    const std::size_t n = grid_.size(), rows = grid_[0].size();
    for (std::size_t k = 0; k < n; ++k) {
      const auto& here = grid_[k];
      const auto& next = grid_[(k + 1) % n];
      for (std::size_t j = 0; j + 1 < rows; ++j) {
        const bool on_bottom = j < bottom_intervals_;
        add(here[j], here[j + 1], next[j + 1], on_bottom);
        add(here[j], next[j + 1], next[j], on_bottom);
      }
    }
    for (std::size_t k = 0; k < n; ++k)
      if (cut(stations_[k]) || cut(stations_[(k + n - 1) % n]) || cut(stations_[(k + 1) % n])) rim_.push_back(k);
    if (!shape_.open_at_top) close_top(made, add);
  }

  /// Strips across the cut top between opposite half planes; station 0 is the rearmost, k and n - k face each other.
  template <typename Add>
  void close_top(Loft&, const Add& add) {
    const std::size_t n = grid_.size();
    for (std::size_t k = 0; k + 1 < n / 2; ++k) {
      if (!cut(stations_[k])) break;
      const std::uint32_t a = grid_[k].back(), b = grid_[k + 1].back();
      const std::uint32_t c = grid_[(n - k) % n].back(), d = grid_[n - k - 1].back();
      add(a, d, b, false);
      add(a, c, d, false);
    }
  }

  /// Taubin's smoothing without shrinking (1995) over the side; the feather edge stays, the rim moves along itself.
  void fair(Loft& made) const {
    auto& v = made.mesh.vertices;
    std::vector<std::vector<std::uint32_t>> around(v.size());
    const std::size_t n = grid_.size(), rows = grid_[0].size();
    for (std::size_t k = 0; k < n; ++k)
      for (std::size_t j = bottom_intervals_ + 1; j < rows; ++j) {
        const std::uint32_t here = grid_[k][j];
        const bool at_end = j + 1 == rows;
        const bool on_rim = at_end && (cut(stations_[k]) || stations_[k].base == cone_front_base_);
        for (const std::size_t m : {(k + 1) % n, (k + n - 1) % n})
          if (grid_[m][j] != here && (!on_rim || cut(stations_[m]))) around[here].push_back(grid_[m][j]);
        if (on_rim) continue;
        around[here].push_back(grid_[k][j - 1]);
        if (!at_end) around[here].push_back(grid_[k][j + 1]);
      }
    for (int round = 0; round < 2 * kFairingRounds; ++round) {
      const double step = round % 2 == 0 ? 0.5 : -0.52;
      const std::vector<Vec3> old = v;
      for (std::size_t i = 0; i < v.size(); ++i) {
        if (around[i].empty()) continue;
        Vec3 mean = Vec3::Zero();
        for (const std::uint32_t other : around[i]) mean += old[other];
        v[i] = old[i] + step * (mean / static_cast<double>(around[i].size()) - old[i]);
      }
    }
  }

  const LastSkin& skin_;
  const LastBottom& bottom_;
  LoftShape shape_;
  ToeCap style_;
  double heel_axis_x_ = 0.0, toe_axis_x_ = 0.0, cone_front_x_ = 0.0;
  std::size_t bases_ = 0, cone_front_base_ = 0, bottom_intervals_ = 0, side_intervals_ = 0;
  std::vector<HalfPlane> stations_;
  std::vector<Profile> slices_, profiles_;
  std::vector<double> feather_q_;
  std::vector<std::size_t> rim_;
  std::vector<std::vector<std::uint32_t>> grid_;  ///< vertex at [station][row from the spine up]
};

}  // namespace

Loft loft(const LastSkin& skin, const LastBottom& bottom, const LoftShape& shape) {
  return Lofter(skin, bottom, shape).result();
}

}  // namespace lastroom
