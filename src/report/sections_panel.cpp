#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "geometry/section.h"
#include "measurement/stations.h"
#include "report/markers.h"
#include "report/panels.h"

namespace lastroom {
namespace {

/// Where the foot and the last are cut, seen from the heel towards the toes: the wearer's left is on the left.
struct Cut {
  std::string title;
  Plane plane;
  double from_heel_mm = 0.0;
  Vec3 sideways = -Vec3::UnitY();         ///< to the right of the picture, in the plane
  std::vector<const Place*> places = {};  ///< findings that lie in it
  Vec2 operator()(const Vec3& p) const { return {(p - plane.point_mm).dot(sideways), p.z()}; }
};

Cut across(const Words& words, const char* key, double x_mm) {
  return {words(key), {Vec3(x_mm, 0.0, 0.0), Vec3::UnitX()}, x_mm, -Vec3::UnitY(), {}};
}

/// Every finding that has a place lies in a cut: in one that is there, else in one of its own.
void cut_through_findings(const Page& facts, std::vector<Cut>& cuts) {
  constexpr double kSame_mm = 4.0;  // nearer is the same cut
  constexpr std::size_t kMost = 6;  // cuts more; what is left is not grave
  const std::size_t most = cuts.size() + kMost;
  for (const Place& place : facts.places) {
    if (!place.at_mm || place.finding->verdict == Verdict::clear) continue;
    const auto off_mm = [&](const Cut& cut) {
      return std::abs((*place.at_mm - cut.plane.point_mm).dot(cut.plane.normal));
    };
    const auto nearest = std::ranges::min_element(cuts, {}, off_mm);
    if (nearest != cuts.end() && off_mm(*nearest) < kSame_mm) {
      nearest->places.push_back(&place);
    } else if (cuts.size() < most) {
      Cut own = across(facts.words, "sections.finding", place.at_mm->x());
      own.places = {&place};
      cuts.push_back(own);
    }
  }
  std::ranges::stable_sort(cuts, {}, &Cut::from_heel_mm);
}

std::vector<Cut> cuts_of(const Page& facts) {
  const WornLandmarks& at = facts.landmarks;
  const double length = facts.fitting.foot_measures.length_mm, heel = at.heel.x();
  const Vec3 middle = 0.5 * (at.first_joint + at.fifth_joint);
  double longest = at.toe_tips[0].x();
  for (const Vec3& tip : at.toe_tips) longest = std::max(longest, tip.x());
  const double instep = heel + kInstepStation * length;

  Vec3 sideways = at.first_joint - at.fifth_joint;
  sideways.z() = 0.0;
  sideways = sideways.norm() > 1.0 ? Vec3(sideways.normalized()) : Vec3(Vec3::UnitY());
  if (sideways.y() > 0.0) sideways = -sideways;
  const Vec3 ahead = sideways.cross(Vec3::UnitZ()) * -1.0;
  Cut joint{facts.words("sections.joint"), {middle, ahead}, middle.x(), sideways, {}};

  std::vector<Cut> cuts = {across(facts.words, "sections.heel", heel + kHeelWidthStation * length),
                           across(facts.words, "sections.waist", instep + kWaistBetween * (middle.x() - instep)),
                           across(facts.words, "sections.instep", instep), joint};
  std::swap(cuts[1], cuts[2]);  // from the heel forwards
  // The toes at a third, at two thirds and at nine tenths of the way from the joint to the longest tip (our choice).
  for (const double share : {0.4, 0.65, 0.88}) {
    cuts.push_back(across(facts.words, "sections.toes", middle.x() + share * (longest - middle.x())));
  }
  cut_through_findings(facts, cuts);
  return cuts;
}

std::vector<Loop> curves_of(const MeshView& mesh, const Cut& cut) {
  std::vector<Loop> loops;
  for (const SectionCurve& curve : section(mesh, cut.plane)) {
    Loop loop;
    for (const Vec3& p : curve.points_mm) loop.push_back(cut(p));
    if (loop.size() >= 3) loops.push_back(std::move(loop));
  }
  return simplified(loops, 0.05, 4.0);
}

/// A gap that is dimensioned: from the skin to the last, in the picture.
struct Gap {
  Vec2 skin, last;
  Vec2 outwards;
  double clearance_mm;

  double out_mm() const { return std::max((last - skin).dot(outwards), 0.0); }
  Vec2 label_at() const { return skin + (out_mm() + 7.5) * outwards; }
};

/// The judged skin near the cut that lies furthest in each of eight directions.
std::vector<Gap> gaps_of(const Page& facts, const Cut& cut) {
  constexpr double kNear_mm = 2.5;  // about a triangle's edge of a coarse scan
  const ClearanceField& field = facts.fitting.clearance;
  std::vector<std::size_t> near;
  Vec2 low = Vec2::Constant(1e9), high = Vec2::Constant(-1e9);
  for (std::size_t v = 0; v < facts.skin.vertices.size(); ++v) {
    if (!is_judged(field, facts.fitting.skin, v) ||
        std::abs((facts.skin.vertices[v] - cut.plane.point_mm).dot(cut.plane.normal)) > kNear_mm)
      continue;
    near.push_back(v);
    low = low.cwiseMin(cut(facts.skin.vertices[v]));
    high = high.cwiseMax(cut(facts.skin.vertices[v]));
  }
  std::vector<Gap> gaps;
  if (near.empty()) return gaps;
  const Vec2 middle = 0.5 * (low + high), half = (0.5 * (high - low)).cwiseMax(1.0);
  std::vector<std::size_t> taken;
  for (int k = 0; k < 8; ++k) {
    const double angle = 0.25 * 3.14159265358979323846 * k;
    const Vec2 direction(std::cos(angle), std::sin(angle));
    const auto reach = [&](std::size_t v) {
      return (cut(facts.skin.vertices[v]) - middle).cwiseQuotient(half).dot(direction);
    };
    const std::size_t v =
        *std::max_element(near.begin(), near.end(), [&](std::size_t a, std::size_t b) { return reach(a) < reach(b); });
    const Vec2 skin = cut(facts.skin.vertices[v]);
    const bool crowded =
        std::any_of(gaps.begin(), gaps.end(), [&](const Gap& g) { return (g.skin - skin).norm() < 9.0; });
    if (crowded) continue;
    gaps.push_back(
        {skin, cut(as_worn(facts.fitting.foot.side, field.last_point_mm[v])), direction, field.clearance_mm[v]});
  }
  return gaps;
}

void add_gap(Drawing& drawing, const Words& words, const Gap& gap) {
  const double out = gap.out_mm();
  const Vec2 label = gap.label_at();
  add_path(drawing.ink, "gap", path_data({gap.skin, gap.last}, false));
  add_path(drawing.ink, "leader",
           path_data({gap.skin + out * gap.outwards + 1.0 * gap.outwards, label - 1.5 * gap.outwards}, false));
  const char* anchor = gap.outwards.x() > 0.3 ? "start" : gap.outwards.x() < -0.3 ? "end" : "middle";
  const double drop = gap.outwards.y() > 0.3 ? 0.0 : gap.outwards.y() < -0.3 ? -4.0 : -1.8;
  add_text(drawing, gap.clearance_mm < 0.0 ? "dimension presses" : "dimension", label + Vec2(0.0, drop), anchor,
           words.signed_length_number(gap.clearance_mm));
}

/// What a cut's picture has to hold: from the lowest to the highest of both, with the gaps' numbers.
struct Extent {
  double low = 1e9, high = -1e9, half_width_mm = 0.0;
};

/// Above, as far as the last goes: the leg is no part of it.
Extent extent_of(const std::vector<Loop>& foot, const std::vector<Loop>& last, const std::vector<Gap>& gaps,
                 double half_width_mm) {
  Extent e{.half_width_mm = half_width_mm};
  for (const auto* loops : {&foot, &last}) {
    for (const Loop& loop : *loops) {
      for (const Vec2& p : loop) {
        e.low = std::min(e.low, p.y());
        if (loops == &last || last.empty()) e.high = std::max(e.high, p.y());
      }
    }
  }
  if (e.low > e.high) return e;
  for (const Gap& gap : gaps) {
    e.low = std::min(e.low, gap.label_at().y() + 12.0);
    e.high = std::max(e.high, gap.label_at().y() - 5.0);
  }
  return e;
}

std::string alt_of(const Words& words, const Cut& cut, const std::string& place, const std::vector<Gap>& gaps) {
  std::string gap_words;
  for (const Gap& gap : gaps)
    gap_words += (gap_words.empty() ? "" : "; ") + words.signed_length_number(gap.clearance_mm);
  return words("sections.alt", {{"title", cut.title}, {"place", place}, {"gaps", gap_words}});
}

void add_clip(Drawing& drawing, const std::string& id, const std::string& path) {
  pugi::xml_node shape = drawing.ink.append_child("clipPath");
  shape.append_attribute("id").set_value(id.c_str());
  shape.append_child("path").append_attribute("d").set_value(path.c_str());
}

/// Skin outside the last is hatched as far up as it is judged: the last's inside is painted over it.
void add_bodies(Drawing& drawing, const std::string& foot_path, const std::string& last_path,
                const std::vector<Gap>& gaps, const Extent& e, int number) {
  const std::string clip = fmt::format("cut-{}", number), hatch = fmt::format("cut-tight-{}", number);
  add_hatch(drawing, hatch, 1.6, "hatch-line");
  add_clip(drawing, clip, last_path);
  add_path(drawing.ink, "foot-outside", foot_path);
  if (!gaps.empty()) {
    double judged_top = e.low;
    for (const Gap& gap : gaps) judged_top = std::max(judged_top, gap.skin.y());
    const double side = e.half_width_mm, bottom = e.low - 9.0;
    add_clip(drawing, clip + "-judged",
             path_data({{-side, bottom}, {side, bottom}, {side, judged_top}, {-side, judged_top}}, true));
  }
  pugi::xml_node outside = drawing.ink.append_child("g");
  if (!gaps.empty()) {
    outside.append_attribute("clip-path").set_value(fmt::format("url(#{}-judged)", clip).c_str());
    add_path(outside, "tight", foot_path).append_attribute("fill").set_value(fmt::format("url(#{})", hatch).c_str());
  }
  add_path(drawing.ink, "last-fill", last_path);
  pugi::xml_node inside = drawing.ink.append_child("g");
  inside.append_attribute("clip-path").set_value(fmt::format("url(#{})", clip).c_str());
  add_path(inside, "foot-inside", foot_path);
  add_path(drawing.ink, "foot-line", foot_path);
  add_path(drawing.ink, "last-line", last_path);
}

/// Of the findings in the cut: inside the foot, where no gap is dimensioned.
void add_numbers(Drawing& drawing, const Cut& cut, const std::vector<Loop>& foot) {
  if (foot.empty()) return;
  Vec2 low = foot.front().front(), high = low;
  for (const Vec2& p : foot.front()) low = low.cwiseMin(p), high = high.cwiseMax(p);
  std::vector<Mark> marks;
  for (const Place* found : cut.places) {
    const Vec2 at = cut(*found->at_mm), inwards = 0.5 * (low + high) - at;
    constexpr double kInside_mm = 11.0;
    marks.push_back({at, found->number, false, std::min(kInside_mm, inwards.norm()) * inwards.normalized()});
  }
  add_marks(drawing, marks);
}

void add_cut(pugi::xml_node parent, const Page& facts, const Cut& cut, const std::vector<Gap>& gaps, int number,
             double half_width_mm) {
  const Words& words = facts.words;
  const std::vector<Loop> foot = curves_of(facts.skin, cut), last = curves_of(facts.last, cut);
  const Extent e = extent_of(foot, last, gaps, half_width_mm);
  if (e.low > e.high) return;
  const std::string place = words("sections.from_heel", {{"mm", words.length_number(cut.from_heel_mm, 0)}});
  const double bar_mm = number == 1 ? 10.0 : 0.0;  // all are to the same scale: one has the bar
  Drawing drawing =
      add_figure(parent, "cut", {-e.half_width_mm, e.low - 18.0 - bar_mm}, {e.half_width_mm, e.high + 13.0},
                 alt_of(words, cut, place, gaps), cut.title + ", " + place);
  add_bodies(drawing, path_data(foot), path_data(last), gaps, e, number);
  for (const Gap& gap : gaps) add_gap(drawing, words, gap);
  if (number == 1) add_scale_bar(drawing, words, {-25.0, e.low - 16.0 - bar_mm}, Bar::half);
  add_numbers(drawing, cut, foot);
  const bool right_foot = facts.fitting.foot.side == Side::right;  // its inside is on the wearer's left
  add_text(drawing, "small", {-e.half_width_mm + 2.0, e.low - 16.0}, "start",
           words(right_foot ? "sections.inside" : "sections.outside"));
  add_text(drawing, "small", {e.half_width_mm - 2.0, e.low - 16.0}, "end",
           words(right_foot ? "sections.outside" : "sections.inside"));
}

}  // namespace

void sections_panel(pugi::xml_node page, const Page& facts) {
  pugi::xml_node section = add_section(page, facts.words, "sections");
  add(section, "p", "intro", facts.words("sections.intro"));
  pugi::xml_node row = add(section, "div", "cuts");
  double half_width_mm = 40.0;
  for (const Vec3& p : facts.last.vertices) half_width_mm = std::max(half_width_mm, std::abs(p.y()) + 24.0);
  const std::vector<Cut> cuts = cuts_of(facts);
  std::vector<std::vector<Gap>> gaps;
  for (const Cut& cut : cuts)
    for (const Gap& gap : gaps.emplace_back(gaps_of(facts, cut)))
      half_width_mm = std::max(half_width_mm, std::abs(gap.label_at().x()) + 18.0);  // of all: one scale
  for (std::size_t i = 0; i < cuts.size(); ++i)
    add_cut(row, facts, cuts[i], gaps[i], static_cast<int>(i) + 1, half_width_mm);
}

}  // namespace lastroom
