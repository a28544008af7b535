#include "report/found_body.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "preparation/landmark_names.h"

namespace lastroom {
namespace {

Mesh worn(Side side, const Mesh& right_form) { return side == Side::left ? mirrored_y(right_form) : right_form; }

std::vector<Vec3> worn(Side side, std::vector<Vec3> points) {
  for (Vec3& p : points) p = as_worn(side, p);
  return points;
}

/// The four tapes, in the order in which a foot and a last both have them.
template <class Measures>
std::vector<FoundLine> tapes(const Measures& measures, Side side, const Words& words) {
  return {{words("found.joint_girth"), worn(side, measures.joint_girth.loop_mm), true, false},
          {words("found.waist_girth"), worn(side, measures.waist_girth.loop_mm), false, false},
          {words("found.instep_girth"), worn(side, measures.instep_girth.loop_mm), false, false},
          {words("found.heel_girth"), worn(side, measures.heel_girth.loop_mm), false, true}};
}

/// As the file wants it, to a tenth of a millimetre or finer.
std::string place_in_file(const Foot& foot, const Vec3& right_form_mm) {
  const double unit_mm = mm_per(foot.facts.units);
  const Vec3 p = foot.foot_from_scan.inverse() * as_worn(foot.side, right_form_mm) / unit_mm;
  const int decimals = 1 + static_cast<int>(std::ceil(std::log10(unit_mm)));
  const auto number = [&](double value) {
    const std::string text = fmt::format("{:.{}f}", value, decimals);
    return text.find_first_not_of("-0.") == std::string::npos && text[0] == '-' ? text.substr(1) : text;
  };
  return fmt::format("[{}, {}, {}]", number(p.x()), number(p.y()), number(p.z()));
}

std::string toe_numbers(const ToeGroup& group, bool there) {
  const std::string numbers = group.first == group.last ? std::to_string(group.first + 1)
                                                        : fmt::format("{}–{}", group.first + 1, group.last + 1);
  return there ? numbers : "(" + numbers + ")";
}

/// Bare points, each a speck that is seen from all sides.
Mesh specks(const std::vector<Vec3>& points, double size_mm) {
  Mesh mesh;
  for (const Vec3& p : points) {
    const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
    mesh.vertices.push_back(p);
    for (int k = 0; k < 3; ++k) mesh.vertices.push_back(p + size_mm * Vec3::Unit(k));
    for (const Triangle& t : {Triangle{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}})
      mesh.triangles.push_back({first + t[0], first + t[1], first + t[2]});
  }
  return mesh;
}

}  // namespace

FoundBody found_on(const Foot& foot, const FootMeasures& measures, const Words& words) {
  const FootLandmarks& marks = foot.landmarks;
  const auto at = [&](const Vec3& p) { return as_worn(foot.side, p); };
  FoundBody body;
  body.mesh = worn(foot.side, foot.mesh);
  body.side = foot.side;
  body.points = {{"heel", at(marks.heel)},
                 {"first_joint", at(marks.first_joint), marks.first_joint_sigma_mm, true, false},
                 {"fifth_joint", at(marks.fifth_joint), marks.fifth_joint_sigma_mm, false, true}};
  body.lines = tapes(measures, foot.side, words);
  for (const ToeGroup& group : toe_groups(marks)) {
    Vec3 middle = Vec3::Zero();
    bool there = false;
    for (std::size_t toe = group.first; toe <= group.last; ++toe)
      middle += at(marks.toe_tips[toe]), there = there || marks.toe_there[toe];
    middle /= static_cast<double>(group.last - group.first + 1);
    body.toes.push_back({toe_numbers(group, there), middle});
  }
  for (const ToeBorder& border : marks.toe_borders)
    if (border.seen)
      body.toe_borders.push_back(
          {at(Vec3(border.root.x(), border.root.y(), 0.0)), at(Vec3(border.tip.x(), border.tip.y(), 0.0))});
  return body;
}

FoundBody found_on(const Last& last, const LastMeasures& measures, const Words& words) {
  const auto at = [&](const Vec3& p) { return as_worn(last.side, p); };
  FoundBody body;
  body.mesh = worn(last.side, last.mesh);
  body.side = last.side;
  body.points = {{words("found.last_heel"), at(last.heel_back)},
                 {words("found.inside_joint"), at(last.first_joint), 0.0, true, false},
                 {words("found.outside_joint"), at(last.fifth_joint), 0.0, false, true}};
  body.lines = tapes(measures, last.side, words);
  return body;
}

std::vector<FileLandmark> file_landmarks(const Foot& foot) {
  const FootLandmarks& marks = foot.landmarks;
  std::vector<FileLandmark> rows;
  const auto points = landmarks_by_name(marks);
  for (std::size_t i = 0; i < points.size(); ++i)
    rows.push_back({std::string(kLandmarkNames[i]), place_in_file(foot, *points[i]), marks.by_hand[i]});
  rows[1].sigma_along_mm = marks.first_joint_sigma_mm, rows[2].sigma_along_mm = marks.fifth_joint_sigma_mm;
  for (std::size_t toe = 0; toe < 5; ++toe) rows[3 + toe].missing = !marks.toe_there[toe];
  return rows;
}

std::optional<FoundBody> found_as_read(const Mesh& mesh, const std::optional<double>& mm_per_unit) {
  constexpr double kDrawn_mm = 250.0, kSpeck_ratio = 0.008;  // of its length
  Vec3 middle = Vec3::Zero();
  const Box box = bounds(mesh);
  const double reach = box.size().maxCoeff();
  if (!box.size().allFinite() || !(reach > 0.0)) return std::nullopt;
  for (const Vec3& p : mesh.vertices) middle += (p - box.low) / reach;
  middle /= static_cast<double>(mesh.vertices.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Vec3& p : mesh.vertices) {
    const Vec3 off = (p - box.low) / reach - middle;
    spread += off * off.transpose();
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> axes(spread);  // the longest is the last
  Eigen::Matrix3d turn;
  turn << axes.eigenvectors().col(2), axes.eigenvectors().col(1), axes.eigenvectors().col(0);
  if (turn.determinant() < 0.0) turn.col(2) *= -1.0;
  FoundBody body;
  body.in_mm = mm_per_unit.has_value();
  body.mesh.triangles = mesh.triangles;
  for (const Vec3& p : mesh.vertices)
    body.mesh.vertices.push_back(turn.transpose() * Vec3((p - box.low) / reach - middle));
  const Box turned = bounds(body.mesh);
  const double scale = mm_per_unit ? reach * *mm_per_unit : kDrawn_mm / turned.size().x();
  for (Vec3& p : body.mesh.vertices) p *= scale;
  if (body.mesh.triangles.empty()) body.mesh = specks(body.mesh.vertices, kSpeck_ratio * scale);
  return body;
}

}  // namespace lastroom
