#include <fmt/format.h>

#include <algorithm>

#include "geometry/section.h"
#include "report/looks.h"
#include "report/panels.h"

namespace lastroom {
namespace {

/// A dimension line with a tick at either end.
void add_dimension(Drawing& drawing, const Vec2& from, const Vec2& to, const std::string& text, const Vec2& text_at) {
  const Vec2 along = (to - from).norm() > 0.0 ? Vec2((to - from).normalized()) : Vec2(Vec2::UnitX());
  const Vec2 across = 2.0 * Vec2(-along.y(), along.x());
  add_line(drawing, "gap", from, to);
  add_line(drawing, "gap", from - across, from + across);
  add_line(drawing, "gap", to - across, to + across);
  add_text(drawing, "dimension", text_at, "start", text);
}

/// Paper that a number with its unit takes beside a drawing, in the drawing's mm: a letter is 0.65 of its height wide.
double label_mm(const Page& facts) {
  constexpr double kLetter_mm = 0.65 * 4.0, kRim_mm = 3.0;
  const double letters = static_cast<double>(facts.words.length(facts.fitting.toe_room.tip_mm.value_or(10.0)).size());
  return kRim_mm + kLetter_mm * letters;
}

void add_plan(pugi::xml_node parent, const Page& facts, const Vec3& tip, const Vec3& end) {
  const Words& words = facts.words;
  const ToeRoom& room = facts.fitting.toe_room;
  const View view = view_of(Look::above, facts.fitting.foot.side);
  const Seen &foot = facts.skin_from(Look::above), &seen_last = facts.last_from(Look::above);
  const Raster& last = seen_last.raster;
  const double low = std::min(facts.landmarks.first_joint.x(), facts.landmarks.fifth_joint.x()) - 12.0;
  const double left = last.low.x() - 6.0, right = last.low.x() + last.step_mm * last.columns + label_mm(facts);
  const double high = last.low.y() + last.step_mm * last.rows + 4.0;
  Drawing drawing = add_figure(parent, "toe-plan", {left, low}, {right, high},
                               words("toe_box.plan_alt", {{"room", with_doubt(words, room.tip_mm, room.tip_sigma_mm)},
                                                          {"allowance", with_doubt(words, room.allowance_mm, {})}}),
                               words("toe_box.plan"));
  add_path(drawing.ink, "last-fill", seen_last.outline);
  add_path(drawing.ink, "foot-inside", foot.outline);
  add_path(drawing.ink, "foot-line", foot.outline);
  add_path(drawing.ink, "last-line", seen_last.outline);
  std::vector<Vec2> feather;
  for (const Vec3& p : facts.fitting.last.feather_edge) feather.push_back(view(as_worn(facts.fitting.foot.side, p)));
  add_path(drawing.ink, "feather", path_data(feather, true));
  add_path(drawing.ink, "joint-line",
           path_data({view(facts.landmarks.first_joint), view(facts.landmarks.fifth_joint)}, false));
  for (const Vec3& toe : facts.landmarks.toe_tips) {
    add_line(drawing, "tip", view(toe) - Vec2(2.0, 0.0), view(toe) + Vec2(2.0, 0.0));
    add_line(drawing, "tip", view(toe) - Vec2(0.0, 2.0), view(toe) + Vec2(0.0, 2.0));
  }
  if (!room.tip_mm) return;
  const double beside = last.low.x() + last.step_mm * last.columns - 4.0;
  add_line(drawing, "leader", view(tip), {beside + 2.0, view(tip).y()});
  add_line(drawing, "usable-end", {left + 4.0, end.x()}, {beside + 2.0, end.x()});
  add_dimension(drawing, {beside, tip.x()}, {beside, end.x()}, words.length(*room.tip_mm),
                {beside + 4.0, 0.5 * (tip.x() + end.x()) - 2.0});
  add_text(drawing, "small", {left + 4.0, end.x() + 1.5}, "start", words("toe_box.usable_end"));
}

void add_profile(pugi::xml_node parent, const Page& facts, const Vec3& tip, const Vec3& end) {
  const Words& words = facts.words;
  const ToeRoom& room = facts.fitting.toe_room;
  const Plane plane{tip, Vec3::UnitY()};
  const auto seen = [](const Vec3& p) { return Vec2(p.x(), p.z()); };
  const auto loops = [&](const MeshView& mesh) {
    std::vector<Loop> flat;
    for (const SectionCurve& curve : section(mesh, plane)) {
      Loop loop;
      for (const Vec3& p : curve.points_mm) loop.push_back(seen(p));
      if (loop.size() >= 3) flat.push_back(std::move(loop));
    }
    return simplified(flat, 0.05, 4.0);
  };
  const std::vector<Loop> foot = loops(facts.skin), last = loops(facts.last);
  const double left = std::min(facts.landmarks.first_joint.x(), facts.landmarks.fifth_joint.x()) - 12.0;
  double low = tip.z() - 12.0, high = tip.z() + 20.0,
         right = end.x() + 3.0 + label_mm(facts);  // its number stands behind the end
  for (const auto* body : {&foot, &last}) {
    for (const Loop& loop : *body) {
      for (const Vec2& p : loop) {
        if (p.x() < left) continue;
        low = std::min(low, p.y() - 4.0);
        high = std::max(high, p.y() + 4.0);
        right = std::max(right, p.x() + 16.0);
      }
    }
  }
  Drawing drawing =
      add_figure(parent, "toe-profile", {left, low - 12.0}, {right, high},
                 words("toe_box.profile_alt", {{"room", with_doubt(words, room.tip_mm, room.tip_sigma_mm)}}),
                 words("toe_box.profile"));
  add_path(drawing.ink, "last-fill", path_data(last));
  add_path(drawing.ink, "foot-inside", path_data(foot));
  add_path(drawing.ink, "foot-line", path_data(foot));
  add_path(drawing.ink, "last-line", path_data(last));
  if (!room.tip_mm) return;
  const double below = low - 3.0;
  add_line(drawing, "leader", seen(tip), {tip.x(), below - 1.0});
  add_line(drawing, "usable-end", {end.x(), below - 1.0}, {end.x(), high - 6.0});
  add_dimension(drawing, {tip.x(), below}, {end.x(), below}, words.length(*room.tip_mm), {end.x() + 3.0, below - 1.0});
  add_text(drawing, "small", {end.x() - 1.5, high - 4.0}, "end", words("toe_box.usable_end"));
}

void add_headroom(pugi::xml_node parent, const Page& facts) {
  const Words& words = facts.words;
  const ToeRoom& room = facts.fitting.toe_room;
  Table table{words("toe_box.headroom"), {words("toe_box.toe"), words("toe_box.room_over")}, {}};
  for (std::size_t toe = 0; toe < room.headroom_mm.size(); ++toe) {
    table.rows.push_back(
        {words(fmt::format("toe.{}", toe + 1)), with_doubt(words, room.headroom_mm[toe], room.headroom_sigma_mm[toe])});
  }
  add_table(parent, table);
}

}  // namespace

void toe_box_panel(pugi::xml_node page, const Page& facts) {
  const ToeRoom& room = facts.fitting.toe_room;
  const Side side = facts.fitting.foot.side;
  const WornLandmarks& at = facts.landmarks;
  const Vec3 longest = *std::max_element(at.toe_tips.begin(), at.toe_tips.end(),
                                         [](const Vec3& a, const Vec3& b) { return a.x() < b.x(); });
  const Vec3 tip = room.tip_mm ? as_worn(side, room.tip_at_mm) : longest;
  const Vec3 end = room.tip_mm ? as_worn(side, room.usable_end_mm) : longest;
  pugi::xml_node section = add_section(page, facts.words, "toe_box");
  add(section, "p", "intro", facts.words("toe_box.intro"));
  pugi::xml_node box = add(section, "div", "toe-box");
  add_plan(box, facts, tip, end);
  pugi::xml_node beside = add(box, "div");
  add_profile(beside, facts, tip, end);
  add_headroom(beside, facts);
}

}  // namespace lastroom
