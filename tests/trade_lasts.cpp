#include "trade_lasts.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "measurement/stations.h"
#include "measurement/tape.h"

namespace lastroom::test {
namespace {

constexpr double kBulgeHeight_mm = 20.0;  // where the heel's back stands out most
constexpr double kBulge_mm = 7.0;         // behind the bottom's rear edge

double smooth(double t) {
  t = std::clamp(t, 0.0, 1.0);
  return t * t * (3.0 - 2.0 * t);
}

/// A curve through knots that rises and falls only where they do (Fritsch and Carlson 1980, harmonic slopes).
class Curve {
 public:
  Curve(std::initializer_list<Vec2> knots) : knots_(knots), slopes_(knots_.size(), 0.0) {
    const auto secant = [&](std::size_t i) {
      return (knots_[i + 1].y() - knots_[i].y()) / (knots_[i + 1].x() - knots_[i].x());
    };
    const std::size_t n = knots_.size();
    slopes_.front() = secant(0);
    slopes_.back() = secant(n - 2);
    for (std::size_t i = 1; i + 1 < n; ++i) {
      const double a = secant(i - 1), b = secant(i);
      slopes_[i] = a * b > 0.0 ? 2.0 * a * b / (a + b) : 0.0;
    }
  }
  double operator()(double x) const {
    if (x <= knots_.front().x()) return knots_.front().y();
    if (x >= knots_.back().x()) return knots_.back().y();
    std::size_t i = 0;
    while (x > knots_[i + 1].x()) ++i;
    const double h = knots_[i + 1].x() - knots_[i].x(), t = (x - knots_[i].x()) / h, r = 1.0 - t;
    return knots_[i].y() * (1.0 + 2.0 * t) * r * r + slopes_[i] * h * t * r * r +
           knots_[i + 1].y() * t * t * (3.0 - 2.0 * t) - slopes_[i + 1] * h * t * t * r;
  }

 private:
  std::vector<Vec2> knots_;
  std::vector<double> slopes_;
};

/// The bottom's middle line seen from the side, by arc length from the seat's rear edge.
class SideLine {
 public:
  SideLine(double length_mm, double tread_s, const TradeNumbers& n) : steps_(static_cast<std::size_t>(length_mm) + 40) {
    const double seat_s = 0.30 * tread_s, middle_s = 0.12 * tread_s, bend_s = tread_s - n.bend_mm;
    const double seat_slope = n.seat_pitch_ratio * std::asin(std::min(0.8, n.heel_height_mm / (tread_s - middle_s)));
    double bump = 0.0, spring = 1e-3;
    const auto lay = [&] {
      const auto slope = [&](double s) {
        if (s < tread_s) {
          const double t = std::clamp((s - seat_s) / (tread_s - seat_s), 0.0, 1.0);
          return seat_slope * (1.0 - smooth((s - bend_s) / n.bend_mm)) +
                 bump * std::pow(std::sin(std::numbers::pi * t), 2.0);
        }
        return -spring * (s - tread_s) * smooth((s - tread_s) / 30.0);
      };
      slope_.clear();
      at_.assign(1, Vec2::Zero());
      for (std::size_t i = 0; i < steps_; ++i) {
        slope_.push_back(slope(static_cast<double>(i)));
        at_.push_back(at_.back() + Vec2(std::cos(slope_.back()), -std::sin(slope_.back())));
      }
    };
    for (int i = 0; i < 12; ++i) {
      lay();
      const double drop = -at(tread_s).y(), rise = at(length_mm).y() - at(tread_s).y();
      bump += (n.heel_height_mm - drop) / (0.5 * (tread_s - seat_s));
      spring *= std::clamp(n.toe_spring_mm / std::max(0.5, rise), 0.3, 3.0);
    }
    lay();
    // Sections lean by the slope evened out, so that they do not cross above the shank.
    lean_.resize(slope_.size());
    constexpr int kEven = 30;
    const int count = static_cast<int>(slope_.size());
    for (int i = 0; i < count; ++i) {
      double sum = 0.0;
      for (int j = i - kEven; j <= i + kEven; ++j) sum += slope_[static_cast<std::size_t>(std::clamp(j, 0, count - 1))];
      lean_[static_cast<std::size_t>(i)] = sum / (2 * kEven + 1);
    }
  }
  Vec2 at(double s) const {
    if (s <= 0.0) return s * Vec2(std::cos(slope_[0]), -std::sin(slope_[0]));
    const auto i = std::min(static_cast<std::size_t>(s), at_.size() - 2);
    return at_[i] + (s - static_cast<double>(i)) * (at_[i + 1] - at_[i]);
  }
  /// Unit, of the section's upright.
  Vec2 up(double s) const {
    const double t = std::clamp(s, 0.0, static_cast<double>(lean_.size()) - 1.001);
    const auto i = static_cast<std::size_t>(t);
    const double lean = lean_[i] + (t - static_cast<double>(i)) * (lean_[i + 1] - lean_[i]);
    return Vec2(std::sin(lean), std::cos(lean));
  }

 private:
  std::size_t steps_;  // of 1 mm
  std::vector<double> slope_, lean_;
  std::vector<Vec2> at_;
};

/// What is turned until the girths are met: the ridge's heights, over the waist within 3 mm of an even run, and beyond
/// that the waist's width by what lies between heel's and joint's.
struct Ridge {
  double instep_mm = 66.0, joint_mm = 44.0, waist_off_even_mm = 0.0, waist_ratio = 0.96;
};

struct CapStyle {
  double length_ratio, roundness;
};
CapStyle cap_of(ToeStyle toe) {
  switch (toe) {
    case ToeStyle::round:
      return {0.22, 2.1};
    case ToeStyle::almond:
      return {0.27, 1.8};
    case ToeStyle::squared:
      return {0.14, 3.0};
    case ToeStyle::high_and_bulky:
      return {0.20, 2.5};
  }
  return {};
}

/// The last as half widths over the straightened bottom: s along it, h square to it.
class Shape {
 public:
  Shape(const TradeNumbers& n, const Ridge& ridge, double cut_mm)
      : n_(n),
        cut_mm_(cut_mm),
        end_s_(n.length_mm - kBulge_mm),
        first_s_(n.heel_to_first_joint_mm - kBulge_mm),
        fifth_s_(n.heel_to_fifth_joint_mm - kBulge_mm),
        foot_mm_(n.heel_to_first_joint_mm / 0.74),  // A1
        middle_s_(0.5 * (first_s_ + fifth_s_)),
        line_(end_s_, middle_s_ + 12.0, n),
        inside_(side(n.heel_width_mm, n.joint_width_mm * (0.5 + n.joint_to_inside), first_s_, ridge.waist_ratio - 0.04,
                     0.95)),
        outside_(side(n.heel_width_mm, n.joint_width_mm * (0.5 - n.joint_to_inside), fifth_s_, ridge.waist_ratio + 0.05,
                      0.90)),
        bottom_inside_{
            {0.0, 0.82}, {0.2 * foot_mm_, 0.80}, {0.45 * foot_mm_, 0.62}, {middle_s_, n.bottom_ratio}, {end_s_, 0.9}},
        bottom_outside_{
            {0.0, 0.82}, {0.2 * foot_mm_, 0.82}, {0.45 * foot_mm_, 0.86}, {middle_s_, n.bottom_ratio}, {end_s_, 0.9}},
        ridge_{{0.2 * foot_mm_, std::max(165.0, ridge.instep_mm + 80.0)},
               {0.38 * foot_mm_, ridge.instep_mm + 26.0},
               {instep_s(), ridge.instep_mm},
               {waist_s(), 0.54 * ridge.joint_mm + 0.46 * ridge.instep_mm + ridge.waist_off_even_mm},
               {middle_s_ + 5.0, ridge.joint_mm},
               {0.8 * foot_mm_, 0.35 * ridge.joint_mm + 0.65 * n.toe_height_mm},
               {std::max(0.85 * foot_mm_, end_s_ - n.recede_mm - 10.0), n.toe_height_mm},
               {end_s_ - 4.0, 0.55 * n.toe_height_mm},
               {end_s_, 0.40 * n.toe_height_mm}},
        full_inside_{{0.15 * foot_mm_, 1.35}, {instep_s(), 1.8}, {middle_s_, 2.5}, {0.85 * foot_mm_, 2.8}},
        full_outside_{{0.15 * foot_mm_, 1.35}, {instep_s(), 1.3}, {middle_s_, 1.25}, {0.85 * foot_mm_, 2.0}},
        round_outside_{{0.3 * foot_mm_, 2.0}, {instep_s(), 1.8}, {middle_s_, 1.35}, {0.9 * foot_mm_, 1.7}} {}

  double end_s() const { return end_s_; }
  double instep_s() const { return kInstepStation * foot_mm_ - kBulge_mm; }
  double waist_s() const { return instep_s() + kWaistBetween * (middle_s_ - instep_s()); }
  double first_s() const { return first_s_; }
  double fifth_s() const { return fifth_s_; }
  const SideLine& line() const { return line_; }
  bool is_cut(double s) const { return ridge_(s) > cut_mm_; }

  /// Heights between which the last has any width at s.
  Vec2 heights(double s) const {
    const double top = std::min(ridge_(s), cut_mm_);
    if (s >= 0.0) return {0.0, s >= back_s(top) ? top : reach_up(s, top)};
    const double t = std::min(1.0, -s / kBulge_mm);
    return {kBulgeHeight_mm * (1.0 - std::sqrt(1.0 - t * t)), s >= back_s(top) ? top : reach_up(s, top)};
  }

  /// Of the feather edge, above the bottom's middle.
  double edge_height(double s, bool inside) const {
    const double arch = inside ? n_.arch_mm * smooth((s - 0.22 * foot_mm_) / (0.2 * foot_mm_)) *
                                     smooth((first_s_ - 8.0 - s) / (0.18 * foot_mm_))
                               : 0.0;
    return (n_.crown_mm + arch) * smooth(s / 25.0) * smooth((end_s_ - s) / 25.0);
  }

  /// Half width at h on the outside of the bottom, 0 at the ridge.
  double half_width(double s, double h, bool inside) const {
    const double low = s > 0.0 ? edge_height(s, inside) : 0.0, ridge = ridge_(s);
    const double forward = smooth((s - 0.15 * foot_mm_) / (0.3 * foot_mm_));
    const double wide = std::min(0.42 * ridge, (inside ? 20.0 - 4.0 * forward : 20.0 - 8.0 * forward) + 0.5 * low);
    double share = 1.0;
    if (h < wide) {
      const double t = std::clamp((wide - h) / std::max(1.0, wide - low), 0.0, 1.0);
      const double bottom = (inside ? bottom_inside_ : bottom_outside_)(s);
      share = bottom + (1.0 - bottom) * std::sqrt(1.0 - t * t);
    } else {
      const double up = std::min(1.0, (h - wide) / (ridge - wide)), full = (inside ? full_inside_ : full_outside_)(s);
      share = std::pow(std::max(0.0, 1.0 - std::pow(up, full)), inside ? 0.5 : 1.0 / round_outside_(s));
    }
    const CapStyle cap = cap_of(n_.toe);
    return (inside ? inside_ : outside_)(s)*share * round((s - back_s(h)) / (0.15 * foot_mm_), 2.2) *
           round((end_s_ - s) / (cap.length_ratio * foot_mm_), cap.roundness);
  }

  /// Of the section's middle at h: toes point to the inside, the ridge leans there.
  double sideways(double s, double h) const {
    const double ahead = std::max(0.0, s - middle_s_) / (end_s_ - middle_s_);
    const double lean =
        n_.ridge_lean_mm * smooth((s - 0.2 * foot_mm_) / (0.3 * foot_mm_)) * smooth((end_s_ - s) / 90.0);
    return n_.swing_mm * ahead * (0.4 + 0.6 * ahead) + lean * std::min(1.0, h / ridge_(s));
  }

  Vec3 place(double s, double y, double h) const {
    const Vec2 on_line = line_.at(s), up = line_.up(s);
    return {on_line.x() + h * up.x(), y + sideways(s, h), on_line.y() + h * up.y()};
  }
  Plane across(double s) const {
    const Vec2 up = line_.up(s);
    return {place(s, 0.0, 0.0), Vec3(up.y(), 0.0, -up.x())};
  }

 private:
  Curve side(double heel_width, double joint_half, double joint_s, double waist, double toes) const {
    const double heel = 0.5 * heel_width;
    return {{0.14 * foot_mm_, heel},
            {0.25 * foot_mm_, heel + 0.12 * (joint_half - heel)},
            {0.5 * foot_mm_, waist * (0.25 * heel + 0.75 * joint_half)},
            {joint_s, joint_half},
            {0.5 * (joint_s + 0.9 * foot_mm_), 0.5 * (1.0 + toes) * joint_half},
            {0.9 * foot_mm_, toes * 0.93 * joint_half},
            {end_s_, toes * 0.85 * joint_half}};
  }
  static double round(double t, double power) {
    if (t <= 0.0) return 0.0;
    return t >= 1.0 ? 1.0 : std::pow(1.0 - std::pow(1.0 - t, power), 1.0 / power);
  }
  /// The back's profile.
  double back_s(double h) const {
    if (h < kBulgeHeight_mm) {
      const double t = 1.0 - h / kBulgeHeight_mm;
      return -kBulge_mm * std::sqrt(std::max(0.0, 1.0 - t * t));
    }
    return -kBulge_mm + n_.clip_mm * smooth((h - kBulgeHeight_mm) / 45.0);
  }
  double reach_up(double s, double top) const {
    double low = kBulgeHeight_mm, high = top;
    for (int i = 0; i < 40; ++i) (back_s(0.5 * (low + high)) < s ? low : high) = 0.5 * (low + high);
    return low;
  }

  TradeNumbers n_;
  double cut_mm_, end_s_, first_s_, fifth_s_, foot_mm_, middle_s_;
  SideLine line_;
  Curve inside_, outside_, bottom_inside_, bottom_outside_, ridge_, full_inside_, full_outside_, round_outside_;
};

/// One ring around the last: bottom's middle, inside feather edge, up to the top, down the outside and back.
struct Ring {
  std::vector<Vec3> points;
  double s = 0.0;
  bool cut = false;
};

struct Grid {
  std::vector<double> stations;
  std::size_t across = 6, upward = 22;  ///< intervals of half a bottom, and of a side
};

Grid grid_for(double end_s, double edge_mm) {
  Grid grid;
  const auto count = static_cast<int>(std::lround(1.25 * (end_s + kBulge_mm) / edge_mm));
  for (int i = 0; i <= count; ++i) {  // denser at both ends, which are round
    const double t = static_cast<double>(i) / count;
    const double even = t, round = 0.5 - 0.5 * std::cos(std::numbers::pi * t);
    grid.stations.push_back(-kBulge_mm + (end_s + kBulge_mm) * (0.35 * even + 0.65 * round));
  }
  grid.across = static_cast<std::size_t>(std::max(4L, std::lround(16.0 / edge_mm)));
  grid.upward = static_cast<std::size_t>(std::max(10L, std::lround(55.0 / edge_mm)));
  return grid;
}

Ring ring_at(const Shape& shape, double s, const Grid& grid) {
  Ring ring;
  ring.s = s;
  ring.cut = shape.is_cut(s);
  const Vec2 span = shape.heights(s);
  std::vector<Vec3> half[2];
  for (const bool inside : {true, false}) {
    std::vector<Vec3>& line = half[inside ? 0 : 1];
    const double sign = inside ? 1.0 : -1.0;
    const double edge_h = std::clamp(s > 0.0 ? shape.edge_height(s, inside) : span.x(), span.x(), span.y());
    const double edge_y = shape.half_width(s, edge_h, inside);
    for (std::size_t i = 0; i < grid.across; ++i) {
      const double t = static_cast<double>(i) / static_cast<double>(grid.across);
      line.push_back(shape.place(s, sign * t * edge_y, span.x() + t * t * (edge_h - span.x())));
    }
    for (std::size_t i = 0; i <= grid.upward; ++i) {
      const double t = static_cast<double>(i) / static_cast<double>(grid.upward);
      const double h = edge_h + (span.y() - edge_h) * (0.3 * t + 0.7 * (0.5 - 0.5 * std::cos(std::numbers::pi * t)));
      line.push_back(shape.place(s, sign * shape.half_width(s, h, inside), h));
    }
  }
  ring.points = half[0];
  ring.points.insert(ring.points.end(), half[1].rbegin(), half[1].rend() - 1);
  return ring;
}

/// Vertices at one place become one; triangles without area go.
class Welder {
 public:
  std::uint32_t vertex(const Vec3& p) {
    const auto step = [](double mm) { return std::llround(mm * 2e3); };
    const auto [found, fresh] = places_.try_emplace({step(p.x()), step(p.y()), step(p.z())}, vertices.size());
    if (fresh) vertices.push_back(p);
    return found->second;
  }
  std::vector<Vec3> vertices;

 private:
  std::map<std::array<long long, 3>, std::uint32_t> places_;
};

TradeLast lofted(const TradeNumbers& n, const Shape& shape, const Grid& grid) {
  TradeLast result;
  MadeLast& last = result.made;
  Welder welder;
  std::vector<std::vector<std::uint32_t>> rings;
  std::vector<std::uint8_t> ring_cut;
  for (const double s : grid.stations) {
    const Ring ring = ring_at(shape, s, grid);
    rings.emplace_back();
    for (const Vec3& p : ring.points) rings.back().push_back(welder.vertex(p));
    ring_cut.push_back(ring.cut ? 1 : 0);
  }
  const std::size_t count = rings.front().size(), inside_top = grid.across + grid.upward, outside_top = inside_top + 1,
                    outside_edge = outside_top + grid.upward;
  const auto add = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c, bool bottom, bool cut) {
    if (a == b || b == c || c == a) return;
    last.mesh.triangles.push_back({a, b, c});
    last.bottom.push_back(bottom ? 1 : 0);
    result.cut.push_back(cut ? 1 : 0);
  };
  for (std::size_t i = 0; i + 1 < rings.size(); ++i)
    for (std::size_t j = 0; j < count; ++j) {
      const std::size_t k = (j + 1) % count;
      const bool top = j == inside_top, cut = top && ring_cut[i] != 0 && ring_cut[i + 1] != 0;
      if (cut && n.open_at_top) continue;
      const bool bottom = grid.stations[i] >= 0.0 && (j < grid.across || j >= outside_edge);
      add(rings[i][j], rings[i + 1][k], rings[i + 1][j], bottom, cut);
      add(rings[i][j], rings[i][k], rings[i + 1][k], bottom, cut);
    }
  last.mesh.vertices = welder.vertices;
  for (std::size_t i = 0; i < rings.size(); ++i)
    if (grid.stations[i] >= 0.0) last.centre_line.push_back(last.mesh.vertices[rings[i][0]]);
  for (std::size_t i = 0; i < rings.size(); ++i)
    if (grid.stations[i] >= 0.0) last.feather_edge.push_back(last.mesh.vertices[rings[i][grid.across]]);
  for (std::size_t i = rings.size() - 1; i > 0; --i)
    if (grid.stations[i] > 0.0) last.feather_edge.push_back(last.mesh.vertices[rings[i][outside_edge]]);
  return result;
}

/// Turns the last so that the bottom's middle line runs along x from the origin, and fills in what is known of it.
void stand(TradeLast& last, const Shape& shape) {
  MadeLast& made = last.made;
  const Vec3 origin = made.centre_line.front(), end = made.centre_line.back();
  Motion motion = Motion::Identity();
  motion.rotate(Eigen::AngleAxisd(-std::atan2(end.y() - origin.y(), end.x() - origin.x()), Vec3::UnitZ()));
  motion.translate(-origin);
  made.mesh = moved(std::move(made.mesh), motion);
  for (auto* line : {&made.centre_line, &made.feather_edge})
    for (Vec3& p : *line) p = motion * p;
  const auto joint = [&](double s, bool inside) {
    double most = 0.0, at_h = 0.0;
    for (double h = 0.0; h < 30.0; h += 0.5)
      if (shape.half_width(s, h, inside) > most) most = shape.half_width(s, h, inside), at_h = h;
    return Vec3(motion * shape.place(s, inside ? most : -most, at_h));
  };
  made.first_joint = joint(shape.first_s(), true);
  made.fifth_joint = joint(shape.fifth_s(), false);
  made.heel_back = made.toe_end = made.mesh.vertices.front();
  for (const Vec3& v : made.mesh.vertices) {
    if (v.x() < made.heel_back.x()) made.heel_back = v;
    if (v.x() > made.toe_end.x()) made.toe_end = v;
  }
  made.tread = *std::min_element(made.centre_line.begin(), made.centre_line.end(),
                                 [](const Vec3& a, const Vec3& b) { return a.z() < b.z(); });
}

constexpr double kUncut_mm = 1e3;

/// The girths rise with the ridge: a few steps of the secant kind meet them.
Ridge ridge_for(const TradeNumbers& n, const Grid& coarse) {
  Ridge ridge;
  for (int i = 0; i < 8; ++i) {
    const Shape shape(n, ridge, kUncut_mm);
    const TradeLast last = lofted(n, shape, coarse);
    const auto raise = [](double& height, double wanted, double is) {
      height = std::clamp(height + (wanted - is) / 1.5, 25.0, 110.0);
    };
    const Vec3 first = shape.place(shape.first_s(), 50.0, 0.0), fifth = shape.place(shape.fifth_s(), -50.0, 0.0);
    const Vec3 joints = first - fifth;
    raise(ridge.joint_mm, n.joint_girth_mm,
          taped(last.made.mesh, {first, Vec3(joints.y(), -joints.x(), 0.0).normalized()}).mm);
    const double short_mm = n.waist_girth_mm - taped(last.made.mesh, shape.across(shape.waist_s())).mm;
    ridge.waist_off_even_mm = std::clamp(ridge.waist_off_even_mm + short_mm / 2.0, -3.0, 3.0);
    ridge.waist_ratio = std::clamp(ridge.waist_ratio + 0.4 * short_mm / n.waist_girth_mm, 0.90, 1.05);
    raise(ridge.instep_mm, n.instep_girth_mm, taped(last.made.mesh, shape.across(shape.instep_s())).mm);
  }
  return ridge;
}

/// A foot's heel-to-joint is straight and taken at the joint's own height. On a raised heel the bottom goes round the
/// bend below it and is longer.
TradeNumbers longer_by_the_bend(TradeNumbers n) {
  const TradeNumbers flat = n;
  constexpr double kJointHeight_mm = 15.0;
  for (int i = 0; i < 4; ++i) {
    const Shape shape(n, {}, kUncut_mm);
    const auto at = [&](double s, double h) { return shape.place(s, 0.0, h); };
    const Vec3 reach = at(0.5 * (shape.first_s() + shape.fifth_s()), kJointHeight_mm) - at(-kBulge_mm, kBulgeHeight_mm);
    const double short_mm =
        0.5 * (flat.heel_to_first_joint_mm + flat.heel_to_fifth_joint_mm) - std::hypot(reach.x(), reach.z());
    for (double* length : {&n.heel_to_first_joint_mm, &n.heel_to_fifth_joint_mm, &n.length_mm}) *length += short_mm;
  }
  return n;
}

}  // namespace

TradeNumbers made_to_measure(const FootMeasures& foot, Dice& dice) {
  TradeNumbers n;
  n.toe = static_cast<ToeStyle>(dice.among(4));
  const double allowance = n.toe == ToeStyle::almond ? dice.uniform(20.0, 28.0) : dice.uniform(13.0, 24.0);
  n.length_mm = foot.length_mm + allowance;
  n.heel_to_first_joint_mm = foot.heel_to_joint_mm + dice.normal(0.0, 2.0);
  n.heel_to_fifth_joint_mm = foot.heel_to_fifth_joint_mm + dice.normal(0.0, 2.5);
  const double joint = dice.uniform(-6.0, 2.0);
  n.joint_girth_mm = foot.joint_girth.mm + joint;
  n.waist_girth_mm = foot.waist_girth.mm + dice.uniform(-4.0, 2.0);
  n.instep_girth_mm = foot.instep_girth.mm + dice.uniform(-4.0, 4.0);
  n.joint_width_mm = foot.joint_width_mm + joint / 2.48 + dice.normal(0.0, 1.0);  // A1: girth by width
  n.heel_width_mm = foot.heel_width_mm - dice.uniform(0.0, 3.0);
  // A heel is a slope: a child's, as steep as a grown wearer's, is lower. So is its cone.
  const double child_ratio = std::min(1.0, foot.length_mm / 250.0);
  n.heel_height_mm = child_ratio * (dice.chance(0.85) ? dice.uniform(0.0, 65.0) : dice.uniform(65.0, 100.0));
  n.toe_spring_mm = dice.uniform(3.0, 14.0);
  // Where the big toe is gone the tape finds the instep in its place: then what a mean foot has (A1).
  const bool toe_is_gone = foot.big_toe_height_mm > 0.12 * foot.length_mm;
  n.toe_height_mm = (toe_is_gone ? 0.084 * foot.length_mm : foot.big_toe_height_mm) + dice.uniform(3.0, 8.0);
  n.recede_mm = dice.uniform(20.0, 40.0);
  n.swing_mm = dice.uniform(2.0, 12.0);
  n.joint_to_inside = dice.uniform(-0.03, 0.03);
  n.arch_mm = dice.uniform(2.0, 12.0);
  n.crown_mm = dice.uniform(0.5, 2.5);
  n.bottom_ratio = dice.uniform(0.80, 0.90);
  n.bend_mm = dice.uniform(35.0, 60.0);
  n.ridge_lean_mm = dice.uniform(13.0, 20.0);
  n.clip_mm = dice.uniform(5.0, 11.0);
  n.seat_pitch_ratio = dice.uniform(0.85, 1.05);
  n.cone_height_mm = child_ratio * dice.uniform(60.0, 105.0);
  n.open_at_top = dice.chance(0.5);
  return n;
}

TradeNumbers graded(TradeNumbers n, const Grading& grading, int sizes, int fittings) {
  const double longer = sizes * grading.size_mm, ratio = (n.length_mm + longer) / n.length_mm;
  const double girth = sizes * grading.girth_per_size_mm + fittings * grading.fitting_mm;
  const double wider = girth / 2.48;  // A1: girth by width
  n.length_mm += longer;
  n.heel_to_first_joint_mm *= ratio;
  n.heel_to_fifth_joint_mm *= ratio;
  n.joint_girth_mm += girth;
  n.waist_girth_mm += girth;
  n.instep_girth_mm += girth;
  n.joint_width_mm += wider;
  n.heel_width_mm += 0.5 * wider;
  n.toe_height_mm += 0.05 * girth;
  return n;
}

TradeLast trade_last(const TradeNumbers& numbers, double edge_mm) {
  const TradeNumbers n = longer_by_the_bend(numbers);
  const Ridge ridge = ridge_for(n, grid_for(n.length_mm - kBulge_mm, 6.0));
  const Shape shape(n, ridge, n.cone_height_mm);
  TradeLast last = lofted(n, shape, grid_for(shape.end_s(), edge_mm));
  stand(last, shape);
  return last;
}

}  // namespace lastroom::test
