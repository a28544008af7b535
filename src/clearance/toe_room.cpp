#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "clearance/toe_box.h"
#include "registration/contact_samples.h"

namespace lastroom {
namespace {

using Members = std::vector<std::uint32_t>;

/// The toes' skin alone, in the fore part's own directions.
struct ForePart {
  /// Of a place in the foot's frame, in these directions.
  Eigen::Matrix3d covariance_mm2(const Vec3& at_mm) const {
    return last_from_fore.transpose() * lastroom::covariance_mm2(field, at_mm) * last_from_fore;
  }

  ClearanceField field;
  std::vector<Vec3> foot_mm;  ///< the same skin in the foot's frame
  std::array<Members, 5> toes;
  Eigen::Matrix3d last_from_fore;
  double floor_mm = 0.0;  ///< height of the floor that the toes stood on
  bool sole_missing = false;
};

ForePart fore_part(const Foot& foot, const SkinMap& skin, const ClearanceField& field) {
  ForePart fore;
  fore.last_from_fore = field.last_from_fore;
  fore.sole_missing = skin.sole_missing;
  const Eigen::Matrix3d fore_from_last = field.last_from_fore.transpose();
  fore.field.sock_mm = field.sock_mm;
  fore.field.scan_error_mm = field.scan_error_mm;
  for (std::uint32_t i = 0; i < skin.toe.size(); ++i) {
    if (skin.toe[i] == 0) continue;
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

/// The toe's upper border from `tip` kToeTop_mm back, a place a millimetre: the highest that a window, sliding across,
/// finds in the mean. So neither a scan's noise nor where a grid of windows begins decides. With its Gaussian of 1.5 mm
/// it lies 1.5^2 / r under the top of a ball of radius r.
std::vector<Vec3> crest_behind(const ClearanceField& field, const Members& toe, const Vec3& tip) {
  constexpr double kWindow_mm = 1.5, kReach_mm = 4.0, kStep_mm = 1.0, kAcross_mm = 8.0;
  constexpr double kLooksUp = 0.3, kFewest_mm2 = 3.0;
  struct Window {
    double weight_mm2 = 0.0, moment = 0.0;
  };
  constexpr auto kColumns = static_cast<std::size_t>(2.0 * kAcross_mm / kStep_mm) + 1;
  constexpr auto kRows = static_cast<std::size_t>(kToeTop_mm / kStep_mm);
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
    if (field.skin_normal[i].z() < kLooksUp || p.x() < tip.x() - kToeTop_mm - kReach_mm) continue;
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
  std::vector<Vec3> top;         ///< its upper border from the tip kToeTop_mm back
  double pad_level_mm = 0;       ///< height that it rests at
  double height_sigma_mm = 0.0;  ///< one standard deviation of the border's height over that

  bool is_end(const Vec3& p) const { return p.x() >= tip.x() - kToeEnd_mm; }
};

/// A toe's height is read to so much: root mean square over feet and lasts of family a, seeds 101 to 111, scanned with
/// an error of 0.3 mm.
constexpr double kToeHeightRead_mm = 0.3;

/// One standard deviation of a toe's height; it is a dimension of the scan, too: half of its repeat error.
double toe_height_sigma_mm(double scan_error_mm) {
  constexpr double kOfScan_ratio = 0.5;
  return std::hypot(kToeHeightRead_mm, kOfScan_ratio * scan_error_mm);
}

std::optional<ToeEnd> toe_end(const ForePart& fore, const Members& toe) {
  constexpr double kPadHalfStrip_mm = 6.0, kPadReach_mm = 20.0;  // the pad lies behind the tip; our choice
  const ClearanceField& field = fore.field;
  const std::vector<Vec3> front = columns_along(field, toe, Vec3::UnitX(), 0.5);
  if (front.empty()) return std::nullopt;
  ToeEnd end;
  end.tip = *std::max_element(front.begin(), front.end(), [](const Vec3& a, const Vec3& b) { return a.x() < b.x(); });
  end.top = crest_behind(field, toe, end.tip);
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
  for (const Vec3& p : toe.top) {
    if (!toe.is_end(p)) continue;
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

/// A place of a toe's top, and the vertical room over it.
struct Headroom {
  double mm;
  Vec3 at;
  std::uint32_t vertex;  ///< of the fore part's skin, near it
};

/// The least over the toe's upper border; where it is beside the last in plan, the (negative) distance to it stands in
/// for a roof that is not there. What is lower than half of the toe is its front, or a rag of the floor, and no top.
std::optional<Headroom> headroom_over(const ForePart& fore, const Members& toe, const ToeEnd& end, const ToeBox& box) {
  if (end.top.empty()) return std::nullopt;
  const double highest_mm = std::ranges::max(end.top, {}, [](const Vec3& p) { return p.z(); }).z();
  std::optional<Headroom> least;
  for (const Vec3& p : end.top) {
    if (p.z() < 0.5 * (highest_mm + end.pad_level_mm)) continue;
    const std::optional<ToeBox::Span> span = box.at(p.x(), p.y());
    const double under_roof_mm = span ? span->roof_mm - p.z() - fore.field.sock_mm : 0.0;
    if (span && least && under_roof_mm >= least->mm) continue;
    const std::uint32_t vertex =
        *std::ranges::min_element(toe, {}, [&](std::uint32_t k) { return (fore.field.skin_mm[k] - p).squaredNorm(); });
    if (fore.field.on_rim[vertex]) continue;
    const double mm = span ? under_roof_mm : fore.field.clearance_mm[vertex];
    if (!least || mm < least->mm) least = {mm, p, vertex};
  }
  return least;
}

/// One standard deviation of the vertical room at a place of a toe's top: under a roof that slopes, also by where it
/// lies. Along that is as the tip is known, across as a flat top is: within the 0.3 mm to which its height is read, a
/// top of 6 mm radius spreads over 2 mm either way, which is 1.1 mm.
double headroom_sigma_mm(const Vec3& at, const Eigen::Matrix3d& place_mm2, const ToeBox& box) {
  constexpr double kAcross_mm = 1.1;
  constexpr double kAside = 2.0;  // mm; about the edge of a last's triangle
  const auto slope = [&](double dx, double dy) {
    const std::optional<ToeBox::Span> there = box.at(at.x() + dx, at.y() + dy), back = box.at(at.x() - dx, at.y() - dy);
    return there && back ? (there->roof_mm - back->roof_mm) / (2.0 * kAside) : 0.0;
  };
  const Vec3 by_place(slope(kAside, 0.0), slope(0.0, kAside), -1.0);
  const Vec3 read_mm(kTipSigma_mm, kAcross_mm, kToeHeightRead_mm);
  return std::hypot(std::sqrt(by_place.dot(place_mm2 * by_place)), by_place.cwiseProduct(read_mm).norm());
}

/// What the last lets the toes go forward: in its profile, as a stick and the recede are read, and of each toe under
/// the roof that lies straight before it.
void ways_forward(const ForePart& fore, const ToeBox& box, const std::array<std::optional<ToeEnd>, 5>& ends,
                  ToeRoom& result) {
  const double sock_mm = fore.field.sock_mm;
  const auto under_the_roof = [&](double x, double y) -> std::optional<double> {
    const std::optional<ToeBox::Span> span = box.at(x, y);
    return span ? std::optional(span->roof_mm - span->bottom_mm) : std::nullopt;
  };
  const auto in_profile = [&](double x, double) { return box.inner_mm(x); };
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

void headroom(const Foot& foot, const ForePart& fore, const ToeBox& box,
              const std::array<std::optional<ToeEnd>, 5>& ends, ToeRoom& result) {
  for (const ToeGroup& group : toe_groups(foot.landmarks)) {
    std::optional<Headroom> least;  // of its toes', wherever one ends
    for (std::size_t k = group.first; k <= group.last; ++k) {
      if (!ends[k]) continue;
      if (const std::optional<Headroom> own = headroom_over(fore, fore.toes[k], *ends[k], box);
          own && (!least || own->mm < least->mm))
        least = own;
    }
    if (!least) continue;
    const double sigma_mm = headroom_sigma_mm(least->at, fore.covariance_mm2(fore.foot_mm[least->vertex]), box);
    for (std::size_t k = group.first; k <= group.last; ++k) {
      result.headroom_mm[k] = least->mm;
      result.headroom_at_mm[k] = fore.last_from_fore * least->at;
      result.headroom_sigma_mm[k] = sigma_mm;
    }
  }
}

}  // namespace

ToeRoom toe_room(const Foot& foot, const SkinMap& skin, const ClearanceField& field, const Last& last) {
  return toe_room(foot, skin, field, ToeBox(last, field, skin));
}

ToeRoom toe_room(const Foot& foot, const SkinMap& skin, const ClearanceField& field, const ToeBox& box) {
  ToeRoom result;
  const ForePart fore = fore_part(foot, skin, field);
  if (fore.field.skin_mm.empty()) return result;
  std::array<std::optional<ToeEnd>, 5> ends;
  std::optional<std::size_t> longest;
  for (std::size_t k = 0; k < 5; ++k) {
    ends[k] = toe_end(fore, fore.toes[k]);
    if (ends[k] && (!longest || ends[k]->tip.x() > ends[*longest]->tip.x())) longest = k;
  }
  if (!longest) return result;
  result.tip_at_mm = ends[*longest]->tip;
  result.allowance_mm = box.end_x_mm() - result.tip_at_mm.x();
  result.allowance_sigma_mm =
      std::hypot(std::sqrt(fore.covariance_mm2(foot.landmarks.toe_tips[*longest])(0, 0)), kTipSigma_mm);
  ways_forward(fore, box, ends, result);
  headroom(foot, fore, box, ends, result);
  result.tip_at_mm = fore.last_from_fore * result.tip_at_mm;
  result.usable_end_mm = fore.last_from_fore * result.usable_end_mm;
  return result;
}

}  // namespace lastroom
