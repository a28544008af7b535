#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <sstream>

#include "assessment/bench_terms.h"
#include "geometry/section.h"
#include "report/looks.h"
#include "report/page.h"
#include "report/plain_words.h"
#include "report/text.h"

namespace lastroom {
namespace {

/// The skin grown by the sock and by a room of its zone. Last frame, as worn.
Mesh grown_skin(const Fitting& fitting, const std::array<double, kZoneCount + 1>& room_mm) {
  Mesh grown = worn_skin(fitting).mesh.copy();
  const std::vector<Vec3> normals = vertex_normals(grown);
  for (std::size_t v = 0; v < grown.vertices.size(); ++v) {
    const double by_mm =
        room_mm[static_cast<std::size_t>(fitting.skin.zone[v])] + fitting.settings.registration.sock_mm;
    grown.vertices[v] += by_mm * normals[v];
  }
  return grown;
}

const Limits& limits_of(const Rule& rule, const Fitting& fitting) {
  return limits_for(rule, fitting.settings.assessment.wearer);
}

/// What goes forward when the foot slides, as the toe room is measured; empty when the skin has no toes.
Mesh end_of_longest_toe(const Fitting& fitting) {
  const Mesh skin = grown_skin(fitting, {});
  const std::vector<std::uint8_t>& toe = fitting.skin.toe;
  std::size_t tip = 0;
  for (std::size_t v = 0; v < toe.size(); ++v)
    if (toe[v] > 0 && (toe[tip] == 0 || skin.vertices[v].x() > skin.vertices[tip].x())) tip = v;
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : skin.triangles) {
    keep.push_back(toe[tip] > 0 && std::ranges::all_of(t, [&](std::uint32_t v) {
                     return toe[v] == toe[tip] && skin.vertices[v].x() > skin.vertices[tip].x() - kToeEnd_mm;
                   }));
  }
  return submesh(skin, keep);
}

/// The skin grown by its zone's watch limit and the sock, and the longest toe's end all the way that it must be able to
/// go forward: where no part of a toe box may come.
Mesh keep_out(const Fitting& fitting, const Mesh& toe_end, double toe_room_mm) {
  std::array<double, kZoneCount + 1> room_mm{};
  for (const Rule& rule : fitting.rules.rules) {
    if (zone_of(rule.id))
      room_mm[static_cast<std::size_t>(*zone_of(rule.id))] = std::max(0.0, limits_of(rule, fitting).watch_below_mm);
  }
  Mesh grown = grown_skin(fitting, room_mm);
  constexpr double kStep_mm = 1.0;  // between two places of a round end the outline falls back by hundredths
  for (double way_mm = 0.0; way_mm < toe_room_mm + kStep_mm; way_mm += kStep_mm) {
    const auto first = static_cast<std::uint32_t>(grown.vertices.size());
    for (const Vec3& p : toe_end.vertices) grown.vertices.push_back(p + std::min(way_mm, toe_room_mm) * Vec3::UnitX());
    for (const Triangle& t : toe_end.triangles) grown.triangles.push_back({t[0] + first, t[1] + first, t[2] + first});
  }
  return grown;
}

/// Everything in front of `x`, so that the leg does not hide the foot and the outline is that of the toes.
Mesh in_front_of(double x, const Mesh& mesh) {
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : mesh.triangles) {
    keep.push_back(std::all_of(t.begin(), t.end(), [&](std::uint32_t v) { return mesh.vertices[v].x() >= x; }));
  }
  return submesh(mesh, keep);
}

std::vector<Loop> outline(const Mesh& mesh, const View& view) {
  return simplified(superlevel_loops(outline_grid(look_at(mesh, view, 0.25)), 0.5), 0.05, 4.0);
}

Box flat_bounds(const std::vector<Loop>& loops) {
  Box box;
  for (const Loop& loop : loops) {
    for (const Vec2& p : loop) {
      box.low = box.low.cwiseMin(Vec3(p.x(), p.y(), 0.0));
      box.high = box.high.cwiseMax(Vec3(p.x(), p.y(), 0.0));
    }
  }
  return box;
}

double to_lines_mm(const std::vector<Loop>& loops, const Vec2& p) {
  double squared = std::numeric_limits<double>::infinity();
  for (const Loop& loop : loops)
    for (std::size_t i = 0; i < loop.size(); ++i) {
      const Vec2 a = loop[i], way = loop[(i + 1) % loop.size()] - a;
      const double along = std::clamp((p - a).dot(way) / std::max(way.squaredNorm(), 1e-12), 0.0, 1.0);
      squared = std::min(squared, (a + along * way - p).squaredNorm());
    }
  return std::sqrt(squared);
}

bool is_inside(const std::vector<Loop>& loops, const Vec2& p) {
  bool inside = false;
  for (const Loop& loop : loops)
    for (std::size_t i = 0; i < loop.size(); ++i) {
      const Vec2 &a = loop[i], &b = loop[(i + 1) % loop.size()];
      if ((a.y() > p.y()) != (b.y() > p.y()))
        inside = inside != (p.x() < a.x() + (p.y() - a.y()) / (b.y() - a.y()) * (b.x() - a.x()));
    }
  return inside;
}

/// Where the signed distance to the loops (positive: inside) is `level_mm`.
std::vector<Loop> level_line(const std::vector<Loop>& loops, double level_mm) {
  const Box box = flat_bounds(loops);
  const double border_mm = std::max(0.0, -level_mm) + 2.0;
  Grid grid;  // of 1 mm: between two nodes a circle of kHollow_mm strays by 0.004 mm
  grid.low = box.low.head<2>() - Vec2::Constant(border_mm);
  grid.columns = static_cast<int>(std::ceil(box.size().x() + 2.0 * border_mm));
  grid.rows = static_cast<int>(std::ceil(box.size().y() + 2.0 * border_mm));
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column) {
      const Vec2 p = grid.low + Vec2(column, row);
      grid.value.push_back(static_cast<float>((is_inside(loops, p) ? 1.0 : -1.0) * to_lines_mm(loops, p)));
    }
  return superlevel_loops(grid, level_mm);
}

/// With every hollow filled that a disc does not reach into: a toe box does not follow each toe, and a line that is to
/// be cut has no steps. Never inside of the given outline.
std::vector<Loop> filled_by_disc(const std::vector<Loop>& loops) {
  constexpr double kHollow_mm = 30.0;  // radius (our choice)
  return level_line(level_line(loops, -kHollow_mm), kHollow_mm);
}

/// A toe box goes round all toes together: in plan the gaps between them do not count.
Loop hull(const Mesh& mesh, const View& view) {
  std::vector<Vec2> points;
  for (const Vec3& p : mesh.vertices) points.push_back(view(p));
  return convex_hull(std::move(points));
}

std::vector<Loop> shifted(std::vector<Loop> loops, const Vec2& by) {
  for (Loop& loop : loops) {
    for (Vec2& p : loop) p += by;
  }
  return loops;
}

constexpr double kCut_mm = 4.0;  // a coarse triangle's edge: behind it the cut is ragged

void add_window(Drawing& drawing, const char* id, const Vec2& low, const Vec2& high) {
  pugi::xml_node window = drawing.ink.append_child("clipPath");
  window.append_attribute("id").set_value(id);
  window.append_child("path").append_attribute("d").set_value(
      path_data({low, {high.x(), low.y()}, high, {low.x(), high.y()}}, true).c_str());
}

void add_framed(Drawing& drawing, const char* window, std::string_view kind, const std::string& data) {
  add_path(drawing.ink, kind, data).append_attribute("clip-path").set_value(fmt::format("url(#{})", window).c_str());
}

/// What is to be added and taken away in front of `from_x`, as seen from there: its rim and a line a millimetre.
std::vector<std::string> change_lines(const Fitting& fitting, const View& view, double from_x, const Vec2& to_sheet) {
  const WornMesh whole = worn_last(fitting);
  std::vector<double> up = fitting.assessment.corrections.height_mm, down;
  if (up.size() != whole.mesh.vertices.size()) return {};
  for (std::size_t v = 0; v < up.size(); ++v)
    if (whole.mesh.vertices[v].x() < from_x) up[v] = 0.0;
  for (const double mm : up) down.push_back(-mm);
  const Raster seen = look_at(whole.mesh, view, 0.25);
  std::vector<std::string> lines;
  for (const std::vector<double>* height : {&up, &down}) {
    const Grid grid = value_grid(whole.mesh, seen, *height, {});
    const double most = std::ranges::max(*height);
    for (double mm = kChangeRim_mm; mm < most; mm = std::floor(mm) + 1.0)
      lines.push_back(path_data(shifted(simplified(superlevel_loops(grid, mm), 0.1, 4.0), to_sheet)));
  }
  std::erase(lines, "");
  return lines;
}

constexpr const char* kStyle =
    "path{fill:none;stroke:#000;stroke-width:3}.last-line{stroke-dasharray:20 12}.joint-line{stroke-dasharray:40 12 6 "
    "12}"
    ".change{stroke-width:1.5}.bar-filled{fill:#000}text{font:4px "
    "sans-serif}.warning{font-weight:700}.small{font-size:3.5px}";

/// Outlines in both drawings: where no part of a toe box may come, and the last.
struct Outlines {
  double joint_x = 0.0, toe_room_mm = 0.0;
  bool toe_goes_forward = false;
  std::vector<Loop> plan, plan_last, profile, profile_last;
};

Outlines outlines_of(const Fitting& fitting, const WornLandmarks& marks, const View& above, const View& from_side) {
  Outlines found;
  found.joint_x = std::min(marks.first_joint.x(), marks.fifth_joint.x());
  found.toe_room_mm = limits_of(rule_by(fitting.rules, RuleId::toe_room), fitting).watch_below_mm;
  const Mesh toe_end = end_of_longest_toe(fitting);
  found.toe_goes_forward = !toe_end.triangles.empty();
  const Mesh toes = in_front_of(found.joint_x, keep_out(fitting, toe_end, found.toe_room_mm)),
             last = in_front_of(found.joint_x, worn_last(fitting).mesh.copy());
  found.plan = {hull(toes, above)};
  found.plan_last = outline(last, above);
  found.profile = filled_by_disc(outline(toes, from_side));
  found.profile_last = outline(last, from_side);
  return found;
}

std::vector<std::string> warning_of(const Fitting& fitting, const Words& words) {
  if (fitting.assessment.verdict != Verdict::none) return {};
  return {words("template.no_verdict"), words("template.no_verdict_lines")};
}

std::vector<std::string> legend_of(const Fitting& fitting, const Words& words, const Outlines& found) {
  std::vector<std::string> legend = {words("template.lines")};
  if (!fitting.rules.built_in) legend.push_back(words(own_rules(fitting.rules)));
  legend.push_back(found.toe_goes_forward ? words("template.toe_room", {{"mm", words.number(found.toe_room_mm)}})
                                          : words("template.no_toe_room"));
  legend.push_back(words("template.last"));
  const double heel_mm = from_heel_mm(fitting.last, 0.5 * (fitting.last.first_joint + fitting.last.fifth_joint));
  legend.push_back(words("template.joint", {{"mm", words.number(heel_mm, 0)}}));
  if (!fitting.assessment.corrections.changes.empty()) legend.push_back(words("template.changes"));
  legend.push_back(words("template.print"));
  return legend;
}

constexpr double kLine_mm = 5.0, kBar_y = 8.0;

/// Where everything lies: plan above, profile below it, the bar at the bottom, words at the head.
struct Sheet {
  Vec2 to_plan, to_profile, low, high;
};

/// Nothing when there is nothing to be drawn.
std::optional<Sheet> sheet_for(const Outlines& found, std::size_t lines) {
  constexpr double kMargin_mm = 10.0;
  const auto both = [](std::vector<Loop> a, const std::vector<Loop>& b) {
    a.insert(a.end(), b.begin(), b.end());
    return flat_bounds(a);
  };
  const Box plan = both(found.plan, found.plan_last), profile = both(found.profile, found.profile_last);
  if (!(plan.low.x() <= plan.high.x()) || !(profile.low.x() <= profile.high.x())) return std::nullopt;
  const double profile_y = kBar_y + 22.0, plan_y = profile_y + profile.size().y() + 18.0;
  const double width = std::max({plan.size().x(), profile.size().x(), 100.0});
  const double head_mm = 12.0 + kLine_mm * static_cast<double>(lines);
  return Sheet{{-plan.low.x(), plan_y - plan.low.y()},
               {-profile.low.x(), profile_y - profile.low.y()},
               {-kMargin_mm, 0.0},
               {width + kMargin_mm, plan_y + plan.size().y() + head_mm}};
}

Drawing add_sheet(pugi::xml_document& document, const Sheet& sheet, const std::string& name) {
  Drawing drawing = add_drawing(document, "template", sheet.low, sheet.high, name);
  const Vec2 size = sheet.high - sheet.low;
  drawing.svg.append_attribute("xmlns").set_value("http://www.w3.org/2000/svg");
  drawing.svg.append_attribute("width").set_value(fmt::format("{}mm", coordinate(size.x())).c_str());
  drawing.svg.append_attribute("height").set_value(fmt::format("{}mm", coordinate(size.y())).c_str());
  drawing.svg.prepend_child("style").text().set(kStyle);
  drawing.svg.prepend_child("title").text().set(name.c_str());
  return drawing;
}

/// The cut through the joint is no outline: both drawings end a little before it, at `plan_cut`.
void add_outlines(Drawing& drawing, const Fitting& fitting, const WornLandmarks& marks, const View& above,
                  const View& from_side, const Outlines& found, const Sheet& sheet, double plan_cut) {
  const double side_cut = from_side(Vec3(plan_cut, 0.0, 0.0)).x() + sheet.to_profile.x();
  const bool toes_left = from_side.right().x() < 0.0;
  add_window(drawing, "plan", {sheet.low.x(), plan_cut + sheet.to_plan.y()}, sheet.high);
  add_window(drawing, "profile", {toes_left ? sheet.low.x() : side_cut, sheet.low.y()},
             {toes_left ? side_cut : sheet.high.x(), sheet.high.y()});
  add_framed(drawing, "plan", "keep-out", path_data(shifted(found.plan, sheet.to_plan)));
  add_framed(drawing, "plan", "last-line", path_data(shifted(found.plan_last, sheet.to_plan)));
  add_path(drawing.ink, "joint-line",
           path_data({above(marks.first_joint) + sheet.to_plan, above(marks.fifth_joint) + sheet.to_plan}, false));
  add_framed(drawing, "profile", "keep-out", path_data(shifted(found.profile, sheet.to_profile)));
  add_framed(drawing, "profile", "last-line", path_data(shifted(found.profile_last, sheet.to_profile)));
  for (const std::string& line : change_lines(fitting, above, plan_cut, sheet.to_plan))
    add_framed(drawing, "plan", "change", line);
  for (const std::string& line : change_lines(fitting, from_side, plan_cut, sheet.to_profile))
    add_framed(drawing, "profile", "change", line);
}

/// Looked at from above with the toes up, the wearer's left is on the left.
void add_sides(Drawing& drawing, const Words& words, Side side, const Sheet& sheet, double label_y) {
  const bool inside_left = side == Side::right;
  add_text(drawing, "small", {sheet.low.x() + 2.0, label_y}, "start",
           words(inside_left ? "sections.inside" : "sections.outside"));
  add_text(drawing, "small", {sheet.high.x() - 2.0, label_y}, "end",
           words(inside_left ? "sections.outside" : "sections.inside"));
}

std::string head_of(const Words& words, Side side, const ReportSettings& settings) {
  std::string head = words("template.name") + ", " + words(fmt::format("side.{}", side_name(side)));
  for (const std::string& part : {plain_text(settings.client, 60), plain_text(settings.date, 20)})
    if (!part.empty()) head += ", " + part;
  return head;
}

}  // namespace

std::string template_svg(const Fitting& fitting, const ReportSettings& settings) {
  const Words words(settings.language);
  const Side side = fitting.foot.side;
  const WornLandmarks marks = worn_landmarks(fitting);
  const View above = view_of(Look::above, side), from_side = view_of(Look::outside, side);
  const Outlines found = outlines_of(fitting, marks, above, from_side);
  const std::vector<std::string> warning = warning_of(fitting, words), legend = legend_of(fitting, words, found);
  const std::optional<Sheet> sheet = sheet_for(found, warning.size() + legend.size());
  if (!sheet) return {};

  pugi::xml_document document;
  Drawing drawing = add_sheet(document, *sheet, words("template.name"));
  const double plan_cut = found.joint_x + kCut_mm;
  add_outlines(drawing, fitting, marks, above, from_side, found, *sheet, plan_cut);
  add_sides(drawing, words, side, *sheet, plan_cut + sheet->to_plan.y() + 2.0);
  add_scale_bar(drawing, words, {0.0, kBar_y});
  double line_y = sheet->high.y() - 6.0;
  add_text(drawing, "", {0.0, line_y}, "start", head_of(words, side, settings));
  for (const std::string& line : warning) add_text(drawing, "warning", {0.0, line_y -= kLine_mm}, "start", line);
  for (const std::string& line : legend) add_text(drawing, "small", {0.0, line_y -= kLine_mm}, "start", line);
  std::ostringstream text;
  document.save(text, "", pugi::format_indent, pugi::encoding_utf8);
  return text.str();
}

}  // namespace lastroom
