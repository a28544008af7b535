#include <fmt/format.h>

#include <algorithm>

#include "report/found_body.h"
#include "report/looks.h"
#include "report/relief.h"

namespace lastroom {
namespace {

// Lettering in mm of the picture, as report.css sets it; in profile that of a phone, where it is larger.
constexpr double kPlanLetters_mm = 6.0, kProfileLetters_mm = 9.0;
constexpr double kLetterWidth_ratio = 0.6;  ///< of a letter's height: what the widest usual faces take

/// Bytes but the first of a character apart.
double width_of(const std::string& text, double letters_mm) {
  const auto count = std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; });
  return kLetterWidth_ratio * letters_mm * static_cast<double>(count);
}

/// The name of something in the picture, and where that is.
struct Label {
  std::string text;
  Vec2 at;
  double y;              ///< of the lettering's base line
  bool on_left = false;  ///< in plan: the column that it stands in
};

/// One look at a body, and the picture of it while it is drawn.
struct Sight {
  const FoundBody& body;
  const Words& words;
  const std::vector<Vec3>& normals;
  View view;
  Raster seen;
  Vec2 low() const { return seen.low; }
  Vec2 high() const { return seen.low + seen.step_mm * Vec2(seen.columns, seen.rows); }
  bool is_seen(const Vec3& p) const {
    constexpr float kSkin_mm = 2.0F;  // a tape bridges hollows, and cuts corners of triangles by less than this
    return static_cast<float>(p.dot(view.to_eye)) > seen.depth_mm[seen.pixel(view(p))] - kSkin_mm;
  }
  /// Towards the foot's inside: +1 to the right of the picture, -1 to its left.
  double inside_is() const { return view(as_worn(body.side, Vec3(Vec3::UnitY()))).x() > 0.0 ? 1.0 : -1.0; }
};

/// The parts of a tape that one sees, in steps of about a millimetre.
std::vector<std::vector<Vec2>> seen_runs(const Sight& sight, const std::vector<Vec3>& loop) {
  std::vector<std::vector<Vec2>> runs;
  bool before = false;
  for (std::size_t i = 0; i < loop.size(); ++i) {
    const Vec3 &from = loop[i], &to = loop[(i + 1) % loop.size()];
    const int steps = 1 + static_cast<int>((to - from).norm());
    for (int k = 0; k < steps; ++k) {
      const Vec3 p = from + (to - from) * (static_cast<double>(k) / steps);
      const bool now = sight.is_seen(p);
      if (now && !before) runs.emplace_back();
      if (now) runs.back().push_back(sight.view(p));
      before = now;
    }
  }
  std::erase_if(runs, [](const std::vector<Vec2>& run) { return run.size() < 3; });
  return runs;
}

/// Of all that is seen of a tape, what lies furthest that way.
std::optional<Vec2> furthest(const std::vector<std::vector<Vec2>>& runs, const Vec2& way) {
  std::optional<Vec2> best;
  for (const std::vector<Vec2>& run : runs)
    for (const Vec2& p : run)
      if (!best || p.dot(way) > best->dot(way)) best = p;
  return best;
}

void add_point(Drawing& drawing, const Vec2& at) {
  pugi::xml_node dot = drawing.svg.append_child("circle");
  dot.append_attribute("class").set_value("found-point");
  dot.append_attribute("cx").set_value(coordinate(at.x()).c_str());
  dot.append_attribute("cy").set_value(coordinate(-at.y()).c_str());
  dot.append_attribute("r").set_value("1.7");
}

void add_body(Drawing& drawing, const Sight& sight) {
  add_relief(drawing, relief_of(sight.seen, light_on(sight.body.mesh, sight.normals, sight.seen, sight.view)));
  for (const FoundLine& line : sight.body.lines)
    for (const std::vector<Vec2>& run : seen_runs(sight, line.loop))
      add_path(drawing.ink, "tape-line", path_data(run, false));
}

void add_scale(Drawing& drawing, const Sight& sight) {
  if (sight.body.in_mm) add_scale_bar(drawing, sight.words, drawing.low + Vec2(4.0, 3.0));
}

/// Labels of one column pushed apart up and down until none covers another.
void spread(std::vector<Label>& labels, bool left, double apart_mm) {
  std::vector<Label*> column;
  for (Label& label : labels)
    if (label.on_left == left) column.push_back(&label);
  std::stable_sort(column.begin(), column.end(), [](const Label* a, const Label* b) { return a->y < b->y; });
  for (int round = 0; round < 50; ++round)
    for (std::size_t i = 1; i < column.size(); ++i) {
      const double lacking = apart_mm - (column[i]->y - column[i - 1]->y);
      if (lacking <= 0.01) continue;
      column[i - 1]->y -= 0.5 * lacking;
      column[i]->y += 0.5 * lacking;
    }
}

std::vector<Label> plan_labels(const Sight& sight) {
  std::vector<Label> labels;
  const double inside = sight.inside_is();
  for (const FoundPoint& point : sight.body.points) {
    const Vec2 at = sight.view(point.at);
    labels.push_back({point.label, at, at.y(), (point.outside ? -inside : inside) < 0.0});
  }
  for (const FoundLine& line : sight.body.lines) {
    const double way = line.named_outside ? -inside : inside;
    if (const auto at = furthest(seen_runs(sight, line.loop), Vec2(way, 0.0)))
      labels.push_back({line.label, *at, at->y(), way < 0.0});
  }
  for (const bool left : {false, true}) spread(labels, left, 1.4 * kPlanLetters_mm);
  return labels;
}

void add_toes(Drawing& drawing, const Sight& sight) {
  for (const auto& [root, tip] : sight.body.toe_borders)
    add_line(drawing, "toe-border", sight.view(root), sight.view(tip));
  constexpr double kBehindTip_mm = 11.0;  // on the nail, where toes are still apart
  for (const FoundPoint& toe : sight.body.toes)
    add_text(drawing, "toe-number", sight.view(toe.at) - Vec2(0.0, kBehindTip_mm + 2.0), "middle", toe.label);
}

void add_plan(pugi::xml_node parent, const Sight& sight, const std::string& name, const std::string& caption) {
  const std::vector<Label> labels = plan_labels(sight);
  constexpr double kLeader_mm = 7.0, kEdge_mm = 3.0;
  double left = 0.0, right = 0.0, lowest = sight.low().y(), highest = sight.high().y();
  for (const Label& label : labels) {
    double& column = label.on_left ? left : right;
    column = std::max(column, kLeader_mm + width_of(label.text, kPlanLetters_mm));
    lowest = std::min(lowest, label.y - 2.0);
    highest = std::max(highest, label.y + kPlanLetters_mm);
  }
  Drawing drawing = add_figure(parent, "found above", {sight.low().x() - left - kEdge_mm, lowest - 14.0},
                               {sight.high().x() + right + kEdge_mm, highest + 3.0}, name, caption);
  add_body(drawing, sight);
  add_toes(drawing, sight);
  for (const Label& label : labels) {
    const double edge = label.on_left ? sight.low().x() : sight.high().x(), way = label.on_left ? -1.0 : 1.0;
    add_path(drawing.ink, "leader",
             path_data({label.at, {edge + 2.0 * way, label.y}, {edge + (kLeader_mm - 1.5) * way, label.y}}, false));
    add_text(drawing, "name", {edge + kLeader_mm * way, label.y - 0.35 * kPlanLetters_mm},
             label.on_left ? "end" : "start", label.text);
  }
  for (const FoundPoint& point : sight.body.points) {
    const Vec2 at = sight.view(point.at), along(0.0, point.sigma_along_mm);
    if (point.sigma_along_mm > 0.0) add_line(drawing, "whisker", at - along, at + along);
    add_point(drawing, at);
  }
  add_scale(drawing, sight);
}

/// Names stand in rows, towards the toes from what they name: each further up (or down) than the one before it, which
/// is nearer to the toes, so that no leader runs through a name.
std::vector<Label> profile_labels(const Sight& sight, bool below, bool from_inside) {
  std::vector<Label> labels;
  const double way = below ? -1.0 : 1.0;
  for (const FoundLine& line : sight.body.lines)
    if (from_inside && line.named_below == below)
      if (const auto at = furthest(seen_runs(sight, line.loop), Vec2(0.0, way)))
        labels.push_back({line.label, *at, 0.0});
  if (below)
    for (const FoundPoint& point : sight.body.points)
      if (from_inside ? point.inside : point.outside) labels.push_back({point.label, sight.view(point.at), 0.0});
  const double toes = sight.view(Vec3::UnitX()).x() > 0.0 ? 1.0 : -1.0;
  std::stable_sort(labels.begin(), labels.end(),
                   [&](const Label& a, const Label& b) { return toes * a.at.x() > toes * b.at.x(); });
  constexpr double kRow_mm = 1.2 * kProfileLetters_mm;
  double row = below ? sight.low().y() : -1e9;
  for (Label& label : labels) {
    row = below ? row - kRow_mm : std::max(row + kRow_mm, label.at.y() + 0.8 * kRow_mm);
    label.y = row;
  }
  return labels;
}

void add_profile(pugi::xml_node parent, const Sight& sight, bool from_inside, const std::string& name,
                 const std::string& caption) {
  const std::vector<Label> above = profile_labels(sight, false, from_inside);
  const std::vector<Label> below = profile_labels(sight, true, from_inside);
  const double toes = sight.view(Vec3::UnitX()).x() > 0.0 ? 1.0 : -1.0;
  Vec2 low = sight.low(), high = sight.high();
  for (const auto* labels : {&above, &below})
    for (const Label& label : *labels) {
      const double end = label.at.x() + toes * (2.0 + width_of(label.text, kProfileLetters_mm));
      low = low.cwiseMin(Vec2(end, label.y - 2.0));
      high = high.cwiseMax(Vec2(end, label.y + kProfileLetters_mm));
    }
  Drawing drawing = add_figure(parent, "found wide", low - Vec2(4.0, sight.body.in_mm ? 16.0 : 4.0),
                               high + Vec2(4.0, 3.0), name, caption);
  add_body(drawing, sight);
  for (const auto* labels : {&above, &below})
    for (const Label& label : *labels) {
      const double end = labels == &above ? label.y - 1.0 : label.y + 0.75 * kProfileLetters_mm;
      add_line(drawing, "leader", label.at, {label.at.x(), end});
      add_text(drawing, "name", {label.at.x() + 1.5 * toes, label.y}, toes > 0.0 ? "start" : "end", label.text);
    }
  for (const FoundPoint& point : sight.body.points)
    if (from_inside ? point.inside : point.outside) add_point(drawing, sight.view(point.at));
  add_scale(drawing, sight);
}

}  // namespace

void add_found_views(pugi::xml_node parent, const FoundBody& body, const std::string& what, const Words& words) {
  pugi::xml_node row = parent.append_child("div");
  row.append_attribute("class").set_value("looks three found-looks");
  const std::vector<Vec3> normals = vertex_normals(body.mesh);
  for (const Look look : {Look::above, Look::inside, Look::outside}) {
    const View view = view_of(look, body.side);
    const Sight sight{body, words, normals, view, look_at(body.mesh, view)};
    const std::string& caption =
        words(fmt::format("{}.{}", body.points.empty() ? "raw_look" : "look", look_name(look)));
    const std::string name = fmt::format("{}: {}", what, caption);
    if (look == Look::above) add_plan(row, sight, name, caption);
    if (look != Look::above) add_profile(row, sight, look == Look::inside, name, caption);
  }
}

}  // namespace lastroom
