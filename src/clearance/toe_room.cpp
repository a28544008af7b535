#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>

#include "clearance/clearance.h"
#include "registration/contact_samples.h"

namespace lastroom {
namespace {

struct Span {
  double bottom_mm, roof_mm;  ///< lowest and highest crossing of a vertical line with the last
};

/// Vertical lines through the last's fore part: its triangles sorted into square cells of the plan.
class VerticalLines {
 public:
  VerticalLines(const Mesh& last, double from_x_mm) : mesh_(last) {
    Box box;
    std::vector<std::uint32_t> used;
    for (std::uint32_t i = 0; i < last.triangles.size(); ++i) {
      const Triangle& t = last.triangles[i];
      if (std::ranges::all_of(t, [&](std::uint32_t corner) { return last.vertices[corner].x() < from_x_mm; })) continue;
      used.push_back(i);
      for (std::uint32_t corner : t) {
        box.low = box.low.cwiseMin(last.vertices[corner]);
        box.high = box.high.cwiseMax(last.vertices[corner]);
      }
    }
    if (used.empty()) return;
    low_ = box.low.head<2>();
    columns_ = cell(box.high.x() - low_.x()) + 1;
    rows_ = cell(box.high.y() - low_.y()) + 1;
    // Counted first, then filled from the back: one array for all cells.
    first_.assign(columns_ * rows_ + 1, 0);
    for (std::uint32_t i : used) for_cells(last.triangles[i], [&](std::size_t c) { ++first_[c]; });
    std::partial_sum(first_.begin(), first_.end(), first_.begin());
    listed_.resize(first_.back());
    for (std::uint32_t i : used) for_cells(last.triangles[i], [&](std::size_t c) { listed_[--first_[c]] = i; });
  }

  std::optional<Span> at(double x_mm, double y_mm) const {
    const double dx = x_mm - low_.x(), dy = y_mm - low_.y();
    if (dx < 0.0 || dy < 0.0 || cell(dx) >= columns_ || cell(dy) >= rows_) return std::nullopt;
    std::optional<Span> span;
    const std::size_t c = cell(dx) * rows_ + cell(dy);
    for (std::size_t k = first_[c]; k < first_[c + 1]; ++k)
      if (const std::optional<double> z = height(mesh_.triangles[listed_[k]], {x_mm, y_mm}))
        span = span ? Span{std::min(span->bottom_mm, *z), std::max(span->roof_mm, *z)} : Span{*z, *z};
    return span;
  }

 private:
  static constexpr double kCell = 2.0;  // mm; about the edge of a last's triangle

  static std::size_t cell(double offset_mm) { return static_cast<std::size_t>(offset_mm / kCell); }

  template <class Visit>
  void for_cells(const Triangle& t, const Visit& visit) const {
    const Vec2 a = mesh_.vertices[t[0]].head<2>(), b = mesh_.vertices[t[1]].head<2>(),
               c = mesh_.vertices[t[2]].head<2>();
    const Vec2 low = a.cwiseMin(b).cwiseMin(c) - low_, high = a.cwiseMax(b).cwiseMax(c) - low_;
    for (std::size_t column = cell(low.x()); column <= cell(high.x()); ++column)
      for (std::size_t row = cell(low.y()); row <= cell(high.y()); ++row) visit(column * rows_ + row);
  }

  /// Height where the vertical line through `p` crosses the triangle; none when it passes beside it or runs in it.
  std::optional<double> height(const Triangle& t, const Vec2& p) const {
    const Vec3 &a = mesh_.vertices[t[0]], &b = mesh_.vertices[t[1]], &c = mesh_.vertices[t[2]];
    const auto cross = [](const Vec2& u, const Vec2& v) { return u.x() * v.y() - u.y() * v.x(); };
    const Vec2 ab = (b - a).head<2>(), ac = (c - a).head<2>(), ap = p - a.head<2>();
    const double twice_area = cross(ab, ac);
    if (twice_area == 0.0) return std::nullopt;
    const double v = cross(ap, ac) / twice_area, w = cross(ab, ap) / twice_area;
    constexpr double kEdge = 1e-9;  // a line through an edge must not slip between its two triangles
    if (v < -kEdge || w < -kEdge || v + w > 1.0 + kEdge) return std::nullopt;
    return a.z() + v * (b.z() - a.z()) + w * (c.z() - a.z());
  }

  const Mesh& mesh_;
  Vec2 low_ = Vec2::Zero();
  std::size_t columns_ = 0, rows_ = 0;
  std::vector<std::size_t> first_;     ///< per cell, its first entry of `listed_`; one more at the end
  std::vector<std::uint32_t> listed_;  ///< triangles
};

using Members = std::vector<std::uint32_t>;

/// The toes' skin alone and the last, in the fore part's own directions.
struct ForePart {
  /// Of a place in the foot's frame, in these directions.
  Eigen::Matrix3d covariance_mm2(const Vec3& at_mm) const {
    return last_from_fore.transpose() * lastroom::covariance_mm2(field, at_mm) * last_from_fore;
  }

  ClearanceField field;
  std::vector<Vec3> foot_mm;  ///< the same skin in the foot's frame
  std::array<Members, 5> toes;
  Mesh last;
  Eigen::Matrix3d last_from_fore;
  double floor_mm = 0.0;  ///< height of the floor that the toes stood on
  bool sole_missing = false;
};

ForePart fore_part(const Foot& foot, const SkinMap& skin, const ClearanceField& field, const Last& last) {
  ForePart fore;
  fore.last_from_fore = field.last_from_fore;
  fore.sole_missing = skin.sole_missing;
  const Eigen::Matrix3d fore_from_last = field.last_from_fore.transpose();
  fore.field.sock_mm = field.sock_mm;
  fore.field.scan_error_mm = field.scan_error_mm;
  for (std::uint32_t i = 0; i < skin.toe.size(); ++i) {
    if (skin.toe[i] < 1 || skin.toe[i] > 5) continue;
    fore.toes[skin.toe[i] - 1u].push_back(static_cast<std::uint32_t>(fore.field.skin_mm.size()));
    fore.foot_mm.push_back(foot.mesh.vertices[i]);
    fore.field.skin_mm.push_back(fore_from_last * field.skin_mm[i]);
    fore.field.skin_normal.push_back(fore_from_last * field.skin_normal[i]);
    fore.field.clearance_mm.push_back(field.clearance_mm[i]);
    fore.field.on_rim.push_back(field.on_rim[i]);
    fore.field.area_mm2.push_back(field.area_mm2[i]);
    fore.floor_mm += fore.field.skin_mm.back().z() - foot.mesh.vertices[i].z();
  }
  fore.floor_mm /= std::max(1.0, static_cast<double>(fore.field.skin_mm.size()));
  fore.field.posed = field.posed;
  fore.field.pose_covariance = field.pose_covariance;
  fore.last.triangles = last.mesh.triangles;
  for (const Vec3& v : last.mesh.vertices) fore.last.vertices.push_back(fore_from_last * v);
  return fore;
}

/// Skin that looks along an axis, evened against a scan's noise: means of columns of 4 mm along it. On a ball of 8 mm
/// (about a toe's end) they lie 0.2 mm under the skin.
std::vector<Vec3> columns_along(const ClearanceField& field, const Members& skin, const Vec3& axis, double looks) {
  constexpr double kColumn_mm = 4.0, kFewest_mm2 = 3.0;
  struct Column {
    Vec3 moment = Vec3::Zero();
    double area_mm2 = 0.0;
  };
  std::map<std::array<long, 3>, Column> columns;
  for (std::uint32_t i : skin) {
    if (field.skin_normal[i].dot(axis) < looks) continue;
    const Vec3& p = field.skin_mm[i];
    const Vec3 across = (p - p.dot(axis) * axis) / kColumn_mm;
    Column& column = columns[{std::lround(across.x()), std::lround(across.y()), std::lround(across.z())}];
    column.moment += field.area_mm2[i] * p;
    column.area_mm2 += field.area_mm2[i];
  }
  std::vector<Vec3> means;
  for (const auto& [key, column] : columns)
    if (column.area_mm2 >= kFewest_mm2) means.push_back(column.moment / column.area_mm2);
  return means;
}

/// The toe's upper border from `tip` kToeEnd_mm back, a place a millimetre: the highest that a window, sliding across,
/// finds in the mean. So neither a scan's noise nor where a grid of windows begins decides. With its Gaussian of 1.5 mm
/// it lies 1.5^2 / r under the top of a ball of radius r.
std::vector<Vec3> crest_behind(const ClearanceField& field, const Members& toe, const Vec3& tip) {
  constexpr double kWindow_mm = 1.5, kReach_mm = 4.0, kStep_mm = 1.0, kAcross_mm = 10.0;
  constexpr double kLooksUp = 0.3, kFewest_mm2 = 3.0;
  struct Window {
    double weight_mm2 = 0.0, moment = 0.0;
  };
  constexpr auto kColumns = static_cast<std::size_t>(2.0 * kAcross_mm / kStep_mm) + 1;
  constexpr auto kRows = static_cast<std::size_t>(kToeEnd_mm / kStep_mm);
  std::array<std::array<Window, kColumns>, kRows> windows = {};
  const auto place = [&](std::size_t row, std::size_t column) {
    return Vec2(tip.x() - kStep_mm * static_cast<double>(row + 1),
                tip.y() - kAcross_mm + kStep_mm * static_cast<double>(column));
  };
  const auto near = [](double way_mm, std::size_t places) {
    const double first = (way_mm - kReach_mm) / kStep_mm - 1.0, end = (way_mm + kReach_mm) / kStep_mm + 2.0;
    const double most = static_cast<double>(places);
    return std::pair(static_cast<std::size_t>(std::clamp(first, 0.0, most)),
                     static_cast<std::size_t>(std::clamp(end, 0.0, most)));
  };
  for (std::uint32_t i : toe) {
    const Vec3& p = field.skin_mm[i];
    if (field.skin_normal[i].z() < kLooksUp || p.x() < tip.x() - kToeEnd_mm - kReach_mm) continue;
    // Those that may be near: a step more either way than rounding could want.
    const auto [first_row, end_row] = near(tip.x() - p.x() - kStep_mm, kRows);
    const auto [first_column, end_column] = near(p.y() - tip.y() + kAcross_mm, kColumns);
    for (std::size_t row = first_row; row < end_row; ++row)
      for (std::size_t column = first_column; column < end_column; ++column) {
        const Vec2 apart = p.head<2>() - place(row, column);
        if (apart.cwiseAbs().maxCoeff() > kReach_mm) continue;
        const double near_mm2 = field.area_mm2[i] * field.skin_normal[i].z() *  // as it is seen from above
                                std::exp(-0.5 * apart.squaredNorm() / (kWindow_mm * kWindow_mm));
        windows[row][column].weight_mm2 += near_mm2;
        windows[row][column].moment += near_mm2 * p.z();
      }
  }
  std::vector<Vec3> crest;
  for (std::size_t row = 0; row < kRows; ++row) {
    std::optional<Vec3> highest;
    for (std::size_t column = 0; column < kColumns; ++column) {
      const Window& window = windows[row][column];
      if (window.weight_mm2 < kFewest_mm2) continue;
      const double z = window.moment / window.weight_mm2;
      if (!highest || z > highest->z()) highest = Vec3(place(row, column).x(), place(row, column).y(), z);
    }
    if (highest) crest.push_back(*highest);
  }
  return crest;
}

/// A toe's end as its room is measured by.
struct ToeEnd {
  Vec3 tip;                      ///< its foremost skin
  std::vector<Vec3> back;        ///< its upper border from the tip kToeEnd_mm back
  double pad_level_mm = 0;       ///< height that it rests at
  double height_sigma_mm = 0.0;  ///< one standard deviation of the border's height over that
};

/// One standard deviation of a toe's height. It is read to 0.3 mm (root mean square over feet and lasts of family a,
/// seeds 101 to 111, scanned with an error of 0.3 mm); and it is a dimension of the scan: half of its repeat error.
double toe_height_sigma_mm(double scan_error_mm) {
  constexpr double kRead_mm = 0.3, kOfScan_ratio = 0.5;
  return std::hypot(kRead_mm, kOfScan_ratio * scan_error_mm);
}

std::optional<ToeEnd> toe_end(const ForePart& fore, const Members& toe) {
  constexpr double kPadHalfStrip_mm = 6.0, kPadReach_mm = 20.0;  // the pad lies behind the tip; our choice
  const ClearanceField& field = fore.field;
  const std::vector<Vec3> front = columns_along(field, toe, Vec3::UnitX(), 0.5);
  if (front.empty()) return std::nullopt;
  ToeEnd end;
  end.tip = *std::max_element(front.begin(), front.end(), [](const Vec3& a, const Vec3& b) { return a.x() < b.x(); });
  end.back = crest_behind(field, toe, end.tip);
  std::optional<double> pad_mm;
  for (const Vec3& p : columns_along(field, toe, -Vec3::UnitZ(), 0.5))
    if (p.x() > end.tip.x() - kPadReach_mm && std::abs(p.y() - end.tip.y()) < kPadHalfStrip_mm)
      pad_mm = std::min(pad_mm.value_or(p.z()), p.z());
  const bool rag = pad_mm && fore.sole_missing, seen = pad_mm && !rag;
  // Of a sole that was not scanned the rest is higher than that was, which lay between it and the floor, anywhere.
  end.pad_level_mm = seen ? *pad_mm : rag ? 0.5 * (fore.floor_mm + *pad_mm) : fore.floor_mm + kUnseenToes_mm;
  const double unseen_sigma_mm = seen  ? 0.0
                                 : rag ? std::abs(*pad_mm - fore.floor_mm) / std::sqrt(12.0)
                                       : kUnseenToesSigma_mm;
  end.height_sigma_mm = std::hypot(toe_height_sigma_mm(field.scan_error_mm), unseen_sigma_mm);
  return end;
}

/// A blunt toe's tip is found to so much. Our choice.
constexpr double kTipSigma_mm = 0.5;

/// The last's inner height in its profile: at every station the highest that it is anywhere across.
class Profile {
 public:
  Profile(const VerticalLines& lines, const Box& last, double from_x_mm) : from_x_mm_(from_x_mm) {
    for (double x = from_x_mm; x < last.high.x(); x += kStep) {
      double most = 0.0;
      for (double y = last.low.y(); y < last.high.y(); y += kAcross)
        if (const std::optional<Span> span = lines.at(x, y)) most = std::max(most, span->roof_mm - span->bottom_mm);
      inner_mm_.push_back(most);
    }
    inner_mm_.push_back(0.0);
  }
  std::optional<double> inner_mm(double x_mm) const {
    const double place = (x_mm - from_x_mm_) / kStep;
    if (place < 0.0 || place >= static_cast<double>(inner_mm_.size() - 1)) return std::nullopt;
    const auto k = static_cast<std::size_t>(place);
    const double share = place - static_cast<double>(k);
    return (1.0 - share) * inner_mm_[k] + share * inner_mm_[k + 1];
  }

 private:
  static constexpr double kStep = 0.5, kAcross = 2.0;  // mm
  double from_x_mm_;
  std::vector<double> inner_mm_;
};

/// How far the toe's end, higher by `more_mm`, can go forward with its pad on the bottom before its top meets a roof
/// that comes down: the toe's own profile against the last's inner height, however high the foot is found to stand.
/// Negative when it is before the last's end as it stands. `inner_mm(x, y)` is that height, nothing beside the last.
template <class Inner>
std::optional<double> way_forward_mm(const ToeEnd& toe, double sock_mm, double more_mm, const Inner& inner_mm) {
  constexpr double kBack = 30.0, kMost = 100.0;  // mm; where the search begins and ends
  constexpr double kStep = 1.0;                  // mm; a crossing is then halved down to 0.01 mm
  constexpr double kHole = 1.0;                  // mm; less between bottom and roof is none
  // A roof that presses the toe where it stands is the headroom's business. This is about where the roof comes down
  // before it: by more than what gives, or under a level roof a tenth of a millimetre would decide on ten of length.
  constexpr double kGives = 1.0;  // mm; our choice
  std::optional<double> least;
  for (const Vec3& p : toe.back) {
    const auto inner_at_mm = [&](double way_mm) -> std::optional<double> { return inner_mm(p.x() + way_mm, p.y()); };
    const double height_mm =
        std::min(p.z() - toe.pad_level_mm + more_mm + 2.0 * sock_mm, inner_at_mm(0.0).value_or(1e9)) - kGives;
    const auto fits = [&](double way_mm) {
      const std::optional<double> there = inner_at_mm(way_mm);
      return there && height_mm <= *there;
    };
    double way = -kBack;
    if (inner_at_mm(way).value_or(0.0) < kHole) continue;  // no last there to begin with
    if (!fits(way)) return way;                            // before the end
    const double enough = least.value_or(kMost);
    while (way < enough && fits(way + kStep)) way += kStep;
    double stop = way + kStep;
    while (stop - way > 0.01) (fits((way + stop) / 2.0) ? way : stop) = (way + stop) / 2.0;
    least = std::min(enough, way);
  }
  return least;
}

struct Least {
  double mm;
  std::uint32_t vertex;  ///< of the fore part's skin
};

/// Vertical room over the skin that looks up, its 5th percentile by area; where the skin is beside the last in plan,
/// the (negative) distance to it stands in for a roof that is not there.
std::optional<Least> headroom_over(const ClearanceField& field, const Members& toe, const VerticalLines& lines) {
  constexpr double kLooksUp = 0.8;  // within 37 degrees of straight up: the toe's back, not its flanks. Our choice.
  struct Sample {
    double room_mm;
    std::uint32_t vertex;
  };
  std::vector<Sample> samples;
  double area = 0.0;
  for (std::uint32_t i : toe) {
    if (field.skin_normal[i].z() < kLooksUp || field.on_rim[i]) continue;
    const Vec3& p = field.skin_mm[i];
    const std::optional<Span> span = lines.at(p.x(), p.y());
    samples.push_back({span ? span->roof_mm - p.z() - field.sock_mm : field.clearance_mm[i], i});
    area += field.area_mm2[i];
  }
  if (samples.empty()) return std::nullopt;
  std::sort(samples.begin(), samples.end(), [](const Sample& a, const Sample& b) {
    return std::pair{a.room_mm, a.vertex} < std::pair{b.room_mm, b.vertex};
  });
  double covered = 0.0;
  for (const Sample& s : samples)
    if ((covered += field.area_mm2[s.vertex]) >= 0.05 * area) return Least{s.room_mm, s.vertex};
  return Least{samples.back().room_mm, samples.back().vertex};
}

/// One standard deviation of the vertical room at a place: under a roof that slopes, also by where the toe stands.
double headroom_sigma_mm(const Vec3& at, const Eigen::Matrix3d& covariance, const VerticalLines& lines) {
  constexpr double kAside = 2.0;  // mm; about the edge of a last's triangle
  const auto slope = [&](double dx, double dy) {
    const std::optional<Span> there = lines.at(at.x() + dx, at.y() + dy), back = lines.at(at.x() - dx, at.y() - dy);
    return there && back ? (there->roof_mm - back->roof_mm) / (2.0 * kAside) : 0.0;
  };
  const Vec3 by_place(slope(kAside, 0.0), slope(0.0, kAside), -1.0);
  return std::sqrt(by_place.dot(covariance * by_place));
}

/// What the last lets the toes go forward: in its profile, as a stick and the recede are read, and of each toe under
/// the roof that lies straight before it.
void ways_forward(const ForePart& fore, const VerticalLines& lines, const Profile& profile,
                  const std::array<std::optional<ToeEnd>, 5>& ends, ToeRoom& result) {
  const double sock_mm = fore.field.sock_mm;
  const auto under_the_roof = [&](double x, double y) -> std::optional<double> {
    const std::optional<Span> span = lines.at(x, y);
    return span ? std::optional(span->roof_mm - span->bottom_mm) : std::nullopt;
  };
  const auto in_profile = [&](double x, double) { return profile.inner_mm(x); };
  for (std::size_t k = 0; k < 5; ++k) {
    if (!ends[k]) continue;
    if (const std::optional<double> way = way_forward_mm(*ends[k], sock_mm, 0.0, under_the_roof))
      result.ahead_mm[k] = *way - sock_mm;
    const std::optional<double> way = way_forward_mm(*ends[k], sock_mm, 0.0, in_profile);
    if (!way || (result.tip_mm && *result.tip_mm <= *way - sock_mm)) continue;
    result.tip_mm = *way - sock_mm;
    result.usable_end_mm = Vec3(ends[k]->tip.x() + *way, result.tip_at_mm.y(), result.tip_at_mm.z());
    // Either way, for under a level roof one way may be nothing and the other the whole toe box.
    const auto off_by_mm = [&](double more_mm) {
      return way_forward_mm(*ends[k], sock_mm, more_mm, in_profile).value_or(*way) - *way;
    };
    const double by_height_mm =
        std::hypot(off_by_mm(ends[k]->height_sigma_mm), off_by_mm(-ends[k]->height_sigma_mm)) / std::numbers::sqrt2;
    result.tip_sigma_mm = std::hypot(by_height_mm, result.allowance_sigma_mm);
  }
}

void headroom(const Foot& foot, const ForePart& fore, const VerticalLines& lines, ToeRoom& result) {
  for (const ToeGroup& group : toe_groups(foot.landmarks)) {
    // The least of its toes', wherever one ends: a twentieth of them all would hide what presses one.
    std::optional<Least> least;
    for (std::size_t k = group.first; k <= group.last; ++k)
      if (const std::optional<Least> own = headroom_over(fore.field, fore.toes[k], lines);
          own && (!least || own->mm < least->mm))
        least = own;
    if (!least) continue;
    const Vec3& at = fore.field.skin_mm[least->vertex];
    const double sigma_mm = headroom_sigma_mm(at, fore.covariance_mm2(fore.foot_mm[least->vertex]), lines);
    for (std::size_t k = group.first; k <= group.last; ++k) {
      result.headroom_mm[k] = least->mm;
      result.headroom_at_mm[k] = fore.last_from_fore * at;
      result.headroom_sigma_mm[k] = sigma_mm;
    }
  }
}

}  // namespace

ToeRoom toe_room(const Foot& foot, const SkinMap& skin, const ClearanceField& field, const Last& last) {
  constexpr double kBefore_mm = 40.0;  // as far behind the toes' skin as a search may begin
  ToeRoom result;
  const ForePart fore = fore_part(foot, skin, field, last);
  if (fore.field.skin_mm.empty()) return result;
  const double from_x_mm =
      std::ranges::min(fore.field.skin_mm, {}, [](const Vec3& p) { return p.x(); }).x() - kBefore_mm;
  const Box box = bounds(fore.last);
  const VerticalLines lines(fore.last, from_x_mm);
  std::array<std::optional<ToeEnd>, 5> ends;
  std::optional<std::size_t> longest;
  for (std::size_t k = 0; k < 5; ++k) {
    ends[k] = toe_end(fore, fore.toes[k]);
    if (ends[k] && (!longest || ends[k]->tip.x() > ends[*longest]->tip.x())) longest = k;
  }
  if (!longest) return result;
  result.tip_at_mm = ends[*longest]->tip;
  result.allowance_mm = box.high.x() - result.tip_at_mm.x();
  result.allowance_sigma_mm =
      std::hypot(std::sqrt(fore.covariance_mm2(foot.landmarks.toe_tips[*longest])(0, 0)), kTipSigma_mm);
  ways_forward(fore, lines, Profile(lines, box, from_x_mm), ends, result);
  headroom(foot, fore, lines, result);
  result.tip_at_mm = fore.last_from_fore * result.tip_at_mm;
  result.usable_end_mm = fore.last_from_fore * result.usable_end_mm;
  return result;
}

}  // namespace lastroom
