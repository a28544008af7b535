#include "preparation/foot.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "error.h"
#include "geometry/nearest_point.h"
#include "geometry/pieces.h"
#include "open3d_adapter/open3d_adapter.h"
#include "preparation/foot_cleaning.h"
#include "preparation/foot_doubts.h"
#include "preparation/foot_landmarks.h"
#include "preparation/foot_pose.h"
#include "preparation/foot_template.h"

namespace lastroom {
namespace {

constexpr double kReference_mm = 250.0;  ///< likeness is told for a foot of this length

/// Grown-ups: 198 to 323 mm (A1). The margin lets in children's and very large feet, which are then told.
constexpr double kShortest_mm = 118.0, kLongest_mm = 360.0;
/// Shorter feet are small children's: where another unit makes a larger foot, that is believed.
constexpr double kSmallChild_mm = 145.0;

struct Unit {
  LengthUnit unit = LengthUnit::millimetre;
  Told told = Told::by_guess;
};

constexpr std::array kUnits = {LengthUnit::millimetre, LengthUnit::centimetre, LengthUnit::metre, LengthUnit::inch};

bool plausible(double length_mm) { return length_mm >= kShortest_mm && length_mm <= kLongest_mm; }

/// At most one fits a foot that is no small child's: neighbouring units differ by 2.54 and more, the longest and the
/// shortest foot by 360 / 145 = 2.48.
std::optional<LengthUnit> plausible_unit(double length_in_file) {
  for (const double shortest_mm : {kSmallChild_mm, kShortest_mm})
    for (const LengthUnit unit : kUnits)
      if (const double length_mm = length_in_file * mm_per(unit); plausible(length_mm) && length_mm >= shortest_mm)
        return unit;
  return std::nullopt;
}

Unit unit_of(const MeshFile& scan, double length_in_file, const std::optional<LengthUnit>& given) {
  if (given) {
    const double length_mm = length_in_file * mm_per(*given);
    if (!plausible(length_mm))
      throw InputError(about_file("scan.length", scan.name,
                                  {{"length_mm", in_digits(length_mm, 4)}, {"unit", unit_message(*given)}}));
    return {*given, Told::by_option};
  }
  // A format that has a unit of its own (glTF: metres) is believed where that makes a foot; many exporters ignore it.
  if (scan.mm_per_unit)
    for (const LengthUnit unit : kUnits)
      if (mm_per(unit) == *scan.mm_per_unit && plausible(length_in_file * mm_per(unit))) return {unit, Told::by_guess};
  const std::optional<LengthUnit> unit = plausible_unit(length_in_file);
  if (!unit) throw InputError(about_file("scan.no_size", scan.name, {{"units", in_digits(length_in_file, 4)}}));
  // A foot of 305 to 360 mm in inches is a small child's in cm. Few are either, and a guess would be 2.54 times off.
  const double in_cm_mm = length_in_file * mm_per(LengthUnit::centimetre);
  if (*unit == LengthUnit::inch && plausible(in_cm_mm))
    throw InputError(about_file(
        "scan.two_units", scan.name,
        {{"inch_mm", Quantity{length_in_file * mm_per(LengthUnit::inch), 0}}, {"cm_mm", Quantity{in_cm_mm, 0}}}));
  return {*unit, Told::by_guess};
}

HandLandmarks moved(const HandLandmarks& given, const std::function<Vec3(const Vec3&)>& move) {
  HandLandmarks result;
  const auto apply = [&](const std::optional<Vec3>& p) { return p ? std::optional<Vec3>(move(*p)) : std::nullopt; };
  result.heel = apply(given.heel);
  result.first_joint = apply(given.first_joint);
  result.fifth_joint = apply(given.fifth_joint);
  for (std::size_t toe = 0; toe < 5; ++toe) result.toe_tips[toe] = apply(given.toe_tips[toe]);
  for (const MarkedSpot& spot : given.never_press) result.never_press.push_back({move(spot.at), spot.what});
  return result;
}

/// A point that the maker may give, and where a generic foot has it, in parts of its length.
struct UsualPlace {
  std::string which;
  std::optional<Vec3> given;
  Vec3 usual;
};

std::vector<UsualPlace> usual_places(const HandLandmarks& given) {
  const FootTemplateLandmarks& usual = foot_template_landmarks();
  std::vector<UsualPlace> places = {{"point.heel", given.heel, Vec3(0.0, 0.0, 0.08)},
                                    {"point.first_joint", given.first_joint, usual.first_joint},
                                    {"point.fifth_joint", given.fifth_joint, usual.fifth_joint}};
  for (std::size_t toe = 0; toe < 5; ++toe)
    places.push_back({fmt::format("point.toe_tip.{}", toe + 1), given.toe_tips[toe], usual.toe_tips[toe]});
  std::erase_if(places, [](const UsualPlace& place) { return !place.given; });
  return places;
}

/// A point typed in the wrong unit or frame, or in another's place, would turn the foot. Our choices, in parts of its
/// length: on the skin to 10 %; to 20 % where a generic foot has it, which is half of the way from joint to joint; and
/// two points together not nearer by 10 % to each other's places, as toes that cross are not.
void refuse_stray(const HandLandmarks& given, const FootCloud& skin, const FootPose& pose, const std::string& name) {
  constexpr double kOffSkin = 0.1, kOffPlace = 0.2, kExchanged = 0.1, kFar = 10.0;
  const NearestPoint nearest(skin.points);
  const auto in_template = [&](const Vec3& p) {
    return Vec3((pose.turn.transpose() * (p - pose.shift)).cwiseQuotient(pose.size));
  };
  const auto check_skin = [&](const Vec3& point, const Message& which) {
    const bool far = !(in_template(point).norm() < kFar);  // a tree can't square 1e300
    const double off = far ? kFar : nearest(point).second / pose.size.x();
    if (off > kOffSkin)
      throw InputError(about_file(far ? "scan.point_far_off" : "scan.point_off_skin", name,
                                  {{"point", which}, {"off_percent", Quantity{100.0 * off, 0}}}));
  };
  for (std::size_t k = 0; k < given.never_press.size(); ++k)
    check_skin(given.never_press[k].at, Message{"point.never_press", {{"number", std::uint64_t{k + 1}}}});
  const std::vector<UsualPlace> places = usual_places(given);
  for (const UsualPlace& a : places) check_skin(*a.given, Message{a.which});
  const auto off = [&](const UsualPlace& point, const UsualPlace& place) {
    return (in_template(*point.given) - place.usual).norm();
  };
  for (const UsualPlace& a : places)
    for (const UsualPlace& b : places)
      if (off(a, a) + off(b, b) > off(a, b) + off(b, a) + kExchanged)
        throw InputError(
            about_file("scan.points_exchanged", name, {{"point", Message{a.which}}, {"other", Message{b.which}}}));
  for (const UsualPlace& a : places)
    if (off(a, a) > kOffPlace)
      throw InputError(about_file("scan.point_misplaced", name,
                                  {{"point", Message{a.which}}, {"off_percent", Quantity{100.0 * off(a, a), 0}}}));
}

/// What was not told apart and what is missing, or may be.
void tell_toes(const StandingFoot& foot, std::vector<Message>& repairs) {
  const FootLandmarks& marks = foot.landmarks;
  for (const ToeGroup& group : toe_groups(marks))
    if (group.first < group.last) repairs.push_back({"repair.toes_as_one", {{"toe", toe_message(group)}}});
  if (const auto found = std::count(marks.toe_there.begin(), marks.toe_there.end(), true); found < 5)
    repairs.push_back({found == 4 ? "repair.four_toes" : "repair.three_toes"});
  for (std::size_t toe = 0; toe < 5; ++toe)
    if (foot.toe_shortened[toe]) repairs.push_back({"repair.short_toe", {{"toe", toe_message({toe, toe})}}});
}

/// The spots as they were marked, each moved to the nearest vertex of the skin.
std::vector<MarkedSpot> on_skin(std::vector<MarkedSpot> spots, const Mesh& skin) {
  for (MarkedSpot& spot : spots)
    spot.at = *std::min_element(skin.vertices.begin(), skin.vertices.end(), [&](const Vec3& a, const Vec3& b) {
      return (a - spot.at).squaredNorm() < (b - spot.at).squaredNorm();
    });
  return spots;
}

/// Leaves out what lies further from most of the points than most of them reach: a stray point would else set how
/// finely the others are seen. Our choice: most are all but a hundredth, which a foot with its floor never loses.
std::size_t drop_stray(std::vector<Vec3>& points) {
  constexpr double kEachEnd_ratio = 0.005;
  const auto cut = static_cast<std::ptrdiff_t>(kEachEnd_ratio * static_cast<double>(points.size()));
  Box most;
  std::vector<double> values(points.size());
  for (int k = 0; k < 3; ++k) {
    std::transform(points.begin(), points.end(), values.begin(), [k](const Vec3& p) { return p[k]; });
    std::nth_element(values.begin(), values.begin() + cut, values.end());
    most.low[k] = values[static_cast<std::size_t>(cut)];
    std::nth_element(values.begin(), values.end() - 1 - cut, values.end());
    most.high[k] = *(values.end() - 1 - cut);
  }
  const double reach = most.size().maxCoeff();
  return std::erase_if(points, [&](const Vec3& p) {
    return ((most.low - p).array() > reach).any() || ((p - most.high).array() > reach).any();
  });
}

Mesh surface_of(MeshFile& scan, std::vector<Message>& repairs) {
  if (!scan.mesh.triangles.empty() || scan.mesh.vertices.size() < 100) return std::move(scan.mesh);
  if (const std::size_t stray = drop_stray(scan.mesh.vertices); stray > 0)
    repairs.push_back({"repair.stray_points", {{"count", std::uint64_t{stray}}}});
  // The door wants millimetres; a scan of unknown unit is brought to a foot's size on the way.
  const double to_size = 350.0 / bounds(scan.mesh).size().norm();
  std::vector<Vec3> points = scan.mesh.vertices;
  for (Vec3& p : points) p *= to_size;
  const NearestPoint nearest(points);
  std::vector<double> spacing;
  for (std::size_t i = 0; i < points.size(); i += 1 + points.size() / 1000) spacing.push_back(nearest.spacing_at(i));
  std::nth_element(spacing.begin(), spacing.begin() + static_cast<std::ptrdiff_t>(spacing.size() / 2), spacing.end());
  const double spacing_mm = spacing[spacing.size() / 2];
  // Few thousand random points leave holes of many millimetres in places; a toe's surface is then that far off. A grid
  // of as many would do better, but a scan has no grid. Our choice.
  constexpr double kCoarsest_mm = 1.5;
  constexpr std::size_t kFewest = 8'000, kMany = 10'000;
  if (spacing_mm > kCoarsest_mm && points.size() < kFewest)
    throw InputError(about_file("scan.too_few_points", scan.name, {{"count", points.size()}}));
  Mesh mesh = open3d_adapter::surface_from_points(points, spacing_mm);
  for (Vec3& p : mesh.vertices) p /= to_size;
  repairs.push_back({"repair.surface_of_points", {{"count", points.size()}}});
  if (spacing_mm > kCoarsest_mm && points.size() < kMany) repairs.push_back({"repair.few_points"});
  return mesh;
}

/// Roughly upright, as worn.
Motion rough_from_file_of(const FootPose& pose) {
  Motion rough_from_file = Motion::Identity();
  rough_from_file.linear() = pose.turn.transpose();
  rough_from_file.translation() = -(pose.turn.transpose() * pose.shift);
  return rough_from_file;
}

/// The same in right form.
RoughFoot roughly_standing(CleanScan clean, const FootPose& pose, const Motion& rough_from_file,
                           const HandLandmarks& given) {
  const Side side = pose.side();
  const auto to_right_form = [&](const Vec3& in_file) { return as_worn(side, Vec3(rough_from_file * in_file)); };
  RoughFoot rough;
  rough.mesh = moved(std::move(clean.mesh), rough_from_file);
  if (side == Side::left) rough.mesh = mirrored_y(std::move(rough.mesh));
  rough.size = pose.size.cwiseAbs();
  rough.sole_missing = pose.sole_missing() || clean.floor;  // what touched a floor went with it
  if (clean.floor) {
    const Vec3 up = rough_from_file.linear() * clean.floor->normal;
    rough.floor = Plane{to_right_form(clean.floor->point_mm), as_worn(side, up)};
  }
  rough.given = moved(given, to_right_form);
  return rough;
}

FootLandmarks in_millimetres(FootLandmarks marks, double scale) {
  for (Vec3* p : {&marks.heel, &marks.first_joint, &marks.fifth_joint, &marks.instep}) *p *= scale;
  for (Vec3& tip : marks.toe_tips) tip *= scale;
  for (ToeBorder& border : marks.toe_borders) border.root *= scale, border.tip *= scale;
  constexpr double kByHand_mm = 1.5;  // our choice: about what a marked point on the skin repeats to
  double &first_mm = marks.first_joint_sigma_mm, &fifth_mm = marks.fifth_joint_sigma_mm;
  first_mm = marks.by_hand[1] ? kByHand_mm : first_mm * scale;
  fifth_mm = marks.by_hand[2] ? kByHand_mm : fifth_mm * scale;
  return marks;
}

void tell_what_was_guessed(Foot& foot, double length_mm) {
  InputFacts& facts = foot.facts;
  if (foot.side_from == Told::by_guess)
    facts.repairs.push_back({fmt::format("repair.taken_for_{}", side_name(foot.side))});
  if (facts.units_from == Told::by_guess)
    facts.repairs.push_back(
        {"repair.unit_taken", {{"unit", unit_message(facts.units)}, {"length_mm", Quantity{length_mm, 0}}}});
}

}  // namespace

double foot_length_mm(const FootLandmarks& landmarks) {
  double longest = 0.0;
  for (const Vec3& tip : landmarks.toe_tips) longest = std::max(longest, tip.x() - landmarks.heel.x());
  return longest;
}

Foot prepare_foot(MeshFile scan, const FootPreparation& settings) {
  Foot foot;
  foot.facts = {scan.name, scan.sha256, scan.vertices_in_file, scan.triangles_in_file, {}, {}, scan.repairs};

  CleanScan clean = clean_scan(surface_of(scan, foot.facts.repairs), scan.name);
  foot.facts.repairs.insert(foot.facts.repairs.end(), clean.repairs.begin(), clean.repairs.end());

  // Still in the file's unit: roughly upright as worn, then right form, then exactly.
  const FootCloud cloud = std::move(clean.cloud);
  const FootPoses poses = find_foot_poses(cloud, clean.floor ? std::optional<Vec3>(clean.floor->normal) : std::nullopt);
  refuse_unless_foot(poses, settings.side, clean.inside_out, scan.name);
  const FootPose& pose = settings.side && *settings.side != poses.best.side() ? poses.other_side : poses.best;
  refuse_stray(settings.landmarks, cloud, pose, scan.name);
  foot.side = pose.side();
  foot.side_from = settings.side ? Told::by_option : Told::by_guess;
  foot.chance_of_wrong_side = settings.side ? 0.0 : poses.chance_of_wrong_side();
  foot.likeness_mm = kReference_mm * pose.misfit;
  const Motion rough_from_file = rough_from_file_of(pose);
  RoughFoot rough = roughly_standing(std::move(clean), pose, rough_from_file, settings.landmarks);
  foot.sole_missing = rough.sole_missing;
  const StandingFoot standing = stand_foot(rough);
  refuse_without_toes(standing, pose.misfit, scan.name);

  const Unit unit = unit_of(scan, standing.length, settings.units);
  foot.facts.units = unit.unit;
  foot.facts.units_from = unit.told;
  const double scale = mm_per(unit.unit);
  foot.mesh = moved(std::move(rough.mesh), standing.foot_from_rough);
  for (Vec3& p : foot.mesh.vertices) p *= scale;
  foot.foot_from_scan = as_worn(foot.side, standing.foot_from_rough) * rough_from_file;
  foot.foot_from_scan.translation() *= scale;
  foot.landmarks = in_millimetres(standing.landmarks, scale);
  for (const MarkedSpot& spot : rough.given.never_press)
    foot.landmarks.never_press.push_back({scale * (standing.foot_from_rough * spot.at), spot.what});
  foot.landmarks.never_press = on_skin(std::move(foot.landmarks.never_press), foot.mesh);

  tell_what_was_guessed(foot, standing.length * scale);
  tell_toes(standing, foot.facts.repairs);
  if (foot.sole_missing)
    foot.facts.repairs.push_back({rough.floor ? "repair.sole_not_scanned" : "repair.floor_guessed"});
  const double top_mm = 0.45 * standing.length * scale;
  if (bounds(foot.mesh).high.z() > top_mm) {
    foot.mesh = cut_above(foot.mesh, top_mm);
    foot.facts.repairs.push_back({"repair.leg_cut", {{"height_mm", Quantity{top_mm, 0}}}});
  }
  refuse_inner_wall(foot.mesh, scan.name);
  return foot;
}

}  // namespace lastroom
