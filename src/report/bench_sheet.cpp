#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "assessment/bench_terms.h"
#include "geometry/barycentric.h"
#include "geometry/signed_distance.h"
#include "report/client_parts.h"
#include "report/document.h"
#include "report/last_wrap.h"
#include "report/panels.h"
#include "report/text.h"

namespace lastroom {
namespace {

// A sheet lies across A4 and Letter alike: what is drawn, a head above and a foot below it, mm.
constexpr double kWide_mm = 255.0, kHigh_mm = 152.0, kHead_mm = 16.0, kFoot_mm = 12.0, kOverlap_mm = 12.0;
constexpr double kTick_mm = 10.0, kUp_mm = 20.0;  // lines of the addresses, as the catalogues name them

/// A piece of the last's paper, laid flat: from its lower left corner, printed side outwards.
struct Piece {
  LastPart part;
  LastWrap wrap;
  std::vector<Vec2> at;
  std::vector<double> height_mm;  ///< of what is added or taken away, at each place
  Vec2 size = Vec2::Zero();
  double usual = 0.0, worst = 0.0;  ///< stretch of lengths, shares: of 95 in 100, and of all

  /// Between the places, by column and row.
  Vec2 operator()(double column, double row) const {
    const SurfaceGrid& grid = wrap.grid;
    column = std::clamp(column, 0.0, static_cast<double>(grid.columns - 1));
    row = std::clamp(row, 0.0, static_cast<double>(grid.rows - 1));
    const std::size_t c = std::min(static_cast<std::size_t>(column), grid.columns - 2),
                      r = std::min(static_cast<std::size_t>(row), grid.rows - 2);
    const double s = column - static_cast<double>(c), t = row - static_cast<double>(r);
    const auto place = [&](std::size_t i, std::size_t k) { return at[i * grid.rows + k]; };
    return (1.0 - s) * ((1.0 - t) * place(c, r) + t * place(c, r + 1)) +
           s * ((1.0 - t) * place(c + 1, r) + t * place(c + 1, r + 1));
  }
};

std::size_t sheets_for(double size, double sheet) {
  return static_cast<std::size_t>(std::max(1.0, std::ceil((size - kOverlap_mm) / (sheet - kOverlap_mm))));
}

/// Turned so that it needs the fewest sheets, then the least height; heel to toe as it runs seen from outside.
void lay_out_on_sheet(Piece& piece, bool toe_left) {
  const SurfaceGrid& grid = piece.wrap.grid;
  constexpr double kRim_mm = 12.0;  // for numbers beside it
  const Vec2 run = piece.at[(grid.columns - 1) * grid.rows] - piece.at.front();
  std::vector<Vec2> best;
  std::pair<std::size_t, double> least = {1000, 0.0};
  for (int degrees = -30; degrees <= 30; ++degrees) {
    const Eigen::Rotation2Dd turn(degrees * std::numbers::pi / 180.0 - std::atan2(run.y(), run.x()));
    std::vector<Vec2> turned;
    Vec2 low = Vec2::Constant(1e9), high = -low;
    for (const Vec2& p : piece.at) {
      turned.push_back(turn * p);
      if (toe_left) turned.back().x() = -turned.back().x();
      low = low.cwiseMin(turned.back()), high = high.cwiseMax(turned.back());
    }
    const Vec2 size = high - low + Vec2::Constant(2.0 * kRim_mm);
    const std::pair score(sheets_for(size.x(), kWide_mm) * sheets_for(size.y(), kHigh_mm), size.y());
    if (score >= least) continue;
    for (Vec2& p : turned) p += Vec2::Constant(kRim_mm) - low;
    least = score, best = std::move(turned), piece.size = size;
  }
  piece.at = std::move(best);
}

std::optional<Piece> piece_of(const Fitting& fitting, LastPart part) {
  const Last& last = fitting.last;
  Piece piece{part, wrap_of(last, part), {}, {}};
  if (piece.wrap.grid.columns == 0) return {};
  const SignedDistance surface = SignedDistance::looking_at(last.mesh);
  for (const SurfacePoint& point : surface.at(piece.wrap.grid.at))
    piece.height_mm.push_back(
        at_point(last.mesh, fitting.assessment.corrections.height_mm, point.triangle, point.point_mm));
  FlatSheet flat = laid_flat(piece.wrap.grid);
  piece.at = std::move(flat.at);
  std::vector<double> off;
  for (const auto& [least, most] : flat.stretch) off.push_back(std::max(1.0 - least, most - 1.0));
  std::ranges::sort(off);
  piece.usual = off[static_cast<std::size_t>(0.95 * static_cast<double>(off.size() - 1))];
  piece.worst = off.back();
  // Looked at from outside, the toe of a right last's inside is on the left, of its outside and bottom on the right.
  lay_out_on_sheet(piece, (part == LastPart::inside) == (fitting.foot.side == Side::right));
  return piece;
}

std::vector<Piece> pieces_of(const Fitting& fitting) {
  std::vector<Piece> pieces;
  const auto& changes = fitting.assessment.corrections.changes;
  const bool bottom = std::ranges::any_of(changes, [](const Correction& c) { return c.place.on_bottom; });
  for (const LastPart part : {LastPart::inside, LastPart::outside, LastPart::bottom})
    if (part != LastPart::bottom || bottom)
      if (std::optional<Piece> piece = piece_of(fitting, part)) pieces.push_back(std::move(*piece));
  return pieces;
}

const std::string& part_words(const Words& words, LastPart part) {
  constexpr std::array<const char*, 3> kNames = {"inside", "outside", "bottom"};
  return words(fmt::format("template.part_{}", kNames.at(static_cast<std::size_t>(part))));
}

/// The border of what is changed by `mm` or more.
std::string contour(const Piece& piece, double sign, double mm) {
  const SurfaceGrid& of = piece.wrap.grid;
  Grid grid{static_cast<int>(of.columns), static_cast<int>(of.rows), 1.0, Vec2::Zero(), {}};
  for (std::size_t r = 0; r < of.rows; ++r)
    for (std::size_t c = 0; c < of.columns; ++c)
      grid.value.push_back(static_cast<float>(sign * piece.height_mm[c * of.rows + r]));
  std::vector<Loop> loops = superlevel_loops(grid, mm);
  for (Loop& loop : loops)
    for (Vec2& p : loop) p = piece(p.x(), p.y());
  return path_data(simplified(loops, 0.1, 4.0));
}

void add_changes_of(Drawing& drawing, const Piece& piece) {
  for (const double sign : {1.0, -1.0}) {
    const char* kind = sign > 0.0 ? "up" : "down";
    double most = 0.0;
    for (const double mm : piece.height_mm) most = std::max(most, sign * mm);
    if (most <= kChangeRim_mm) continue;
    add_path(drawing.ink, fmt::format("patch {}", kind), contour(piece, sign, kChangeRim_mm));
    for (double mm = 1.0; mm < most; mm += 1.0)
      add_path(drawing.ink, fmt::format("contour {}", kind), contour(piece, sign, mm));
  }
}

/// The column, with a share of the next, at which the feather edge has come so far.
double column_at(const Piece& piece, double along_mm) {
  const std::vector<double>& at = piece.wrap.along_mm;
  const auto next = std::ranges::lower_bound(at, along_mm);
  if (next == at.begin() || next == at.end()) return next == at.begin() ? 0.0 : static_cast<double>(at.size() - 1);
  const auto before = next - 1;
  return static_cast<double>(before - at.begin()) + (along_mm - *before) / (*next - *before);
}

/// Feather edge with its millimetres from the heel point, lines up the skin, and the rim to be cut along.
void add_addresses(Drawing& drawing, const Piece& piece, const Words& words) {
  const SurfaceGrid& grid = piece.wrap.grid;
  const auto last_row = static_cast<double>(grid.rows - 1), last_column = static_cast<double>(grid.columns - 1);
  std::vector<Vec2> edge, rim;
  for (double c = 0.0; c <= last_column; c += 1.0) edge.push_back(piece(c, 0.0));
  for (double r = 0.0; r <= last_row; r += 1.0) rim.push_back(piece(0.0, r));
  for (double c = 0.0; c <= last_column; c += 1.0) rim.push_back(piece(c, last_row));
  for (double r = last_row; r >= 0.0; r -= 1.0) rim.push_back(piece(last_column, r));
  add_path(drawing.ink, "wrap-rim", path_data(rim, false));
  add_path(drawing.ink, "wrap-edge", path_data(edge, false));
  for (double mm = kTick_mm; mm < piece.wrap.along_mm.back(); mm += kTick_mm) {
    const double column = column_at(piece, mm);
    const Vec2 foot = piece(column, 0.0), down = (foot - piece(column, 1.0)).normalized();
    const bool named = std::lround(mm) % 50 == 0;
    add_line(drawing, "wrap-line", foot, foot + (named ? 4.0 : 2.0) * down);
    if (named) add_text(drawing, "small", foot + 8.0 * down - Vec2(0.0, 1.2), "middle", words.length_number(mm, 0));
  }
  if (piece.part == LastPart::bottom) return;
  for (double up = kUp_mm; up < std::ranges::max(piece.wrap.length_mm); up += kUp_mm) {
    std::vector<Vec2> line;
    for (std::size_t c = 0; c <= grid.columns; ++c) {
      const bool there = c < grid.columns && piece.wrap.length_mm[c] > up;
      if (there) line.push_back(piece(static_cast<double>(c), up / piece.wrap.length_mm[c] * last_row));
      if (there || line.size() < 2) continue;
      add_path(drawing.ink, "wrap-up", path_data(line, false));
      const Vec2 out = (line[0] - line[1]).normalized();
      add_text(drawing, "small", line[0] + 5.0 * out - Vec2(0.0, 1.2), "middle", words.length_number(up, 0));
      line.clear();
    }
  }
}

/// Where the tape goes round, and the points that the piece is laid on by.
void add_stations(Drawing& drawing, const Piece& piece, const Fitting& fitting, const Words& words) {
  const SurfaceGrid& grid = piece.wrap.grid;
  const std::array<double, kStationCount> at_mm = stations_mm(fitting.last, fitting.last_measures);
  for (std::size_t k = 0; k < kStationCount; ++k) {
    std::vector<Vec2> line;
    for (std::size_t r = 0; r < grid.rows; ++r)
      for (std::size_t c = 0; c + 1 < grid.columns; ++c) {
        const double before = grid(c, r).x() - at_mm[k], after = grid(c + 1, r).x() - at_mm[k];
        if (before * after > 0.0 || before == after) continue;
        line.push_back(piece(static_cast<double>(c) + before / (before - after), static_cast<double>(r)));
        break;
      }
    if (line.size() < 2) continue;
    add_path(drawing.ink, "wrap-station", path_data(line, false));
    add_text(drawing, "small", line.back() + Vec2(0.0, 3.0), "middle",
             words(fmt::format("station.{}", station_name(static_cast<Station>(k)))));
  }
  const auto add_point = [&](const Vec3& p, const std::string& name) {
    const auto nearest = std::ranges::min_element(grid.at, {}, [&](const Vec3& q) { return (p - q).squaredNorm(); });
    const Vec2 at = piece.at[static_cast<std::size_t>(nearest - grid.at.begin())];
    add_line(drawing, "wrap-edge", at - Vec2(4.0, 0.0), at + Vec2(4.0, 0.0));
    add_line(drawing, "wrap-edge", at - Vec2(0.0, 4.0), at + Vec2(0.0, 4.0));
    add_text(drawing, "small", at + Vec2(0.0, -9.0), "middle", name);
  };
  add_point(fitting.last.feather_edge.front(), words("template.heel_point"));
  if (piece.part != LastPart::outside) add_point(fitting.last.first_joint, "");
  if (piece.part != LastPart::inside) add_point(fitting.last.fifth_joint, "");
}

void add_peaks(Drawing& drawing, const Piece& piece, const Fitting& fitting, const Words& words) {
  int number = 0;
  for (const Correction& change : fitting.assessment.corrections.changes) {
    ++number;
    if (change.operation == Operation::lengthen || change.place.on_bottom != (piece.part == LastPart::bottom)) continue;
    if (piece.part != LastPart::bottom && change.place.inside != (piece.part == LastPart::inside)) continue;
    const auto& at = piece.wrap.grid.at;
    const auto nearest =
        std::ranges::min_element(at, {}, [&](const Vec3& p) { return (p - change.centre_mm).squaredNorm(); });
    const Vec2 peak = piece.at[static_cast<std::size_t>(nearest - at.begin())];
    add_path(drawing.ink, "dot",
             path_data({peak + Vec2(-0.8, -0.8), peak + Vec2(0.8, -0.8), peak + Vec2(0.8, 0.8), peak + Vec2(-0.8, 0.8)},
                       true));
    add_text(drawing, "dimension", peak + Vec2(0.0, 2.0), "middle",
             fmt::format("{}: {}", number, words.signed_length_number(change.height_mm)));
  }
}

/// Crosses by which neighbouring sheets are laid on one another.
void add_crosses(Drawing& drawing, std::size_t across, std::size_t up) {
  constexpr double kArm_mm = 5.0, kFromEdge_mm = 15.0;
  const auto cross = [&](const Vec2& at) {
    add_line(drawing, "wrap-line", at - Vec2(kArm_mm, 0.0), at + Vec2(kArm_mm, 0.0));
    add_line(drawing, "wrap-line", at - Vec2(0.0, kArm_mm), at + Vec2(0.0, kArm_mm));
  };
  const double wide = kWide_mm - kOverlap_mm, high = kHigh_mm - kOverlap_mm;
  for (std::size_t c = 0; c < across; ++c)
    for (std::size_t r = 0; r < up; ++r) {
      const Vec2 low(static_cast<double>(c) * wide, static_cast<double>(r) * high);
      for (const double share : {kFromEdge_mm, kHigh_mm - kFromEdge_mm})
        if (c > 0) cross(low + Vec2(0.5 * kOverlap_mm, share));
      for (const double share : {kFromEdge_mm, kWide_mm - kFromEdge_mm})
        if (r > 0) cross(low + Vec2(share, 0.5 * kOverlap_mm));
    }
}

std::string whose(const Fitting& fitting, const ReportSettings& settings, const Words& words) {
  std::string text = words(fmt::format("side.{}", side_name(fitting.foot.side)));
  for (const std::string& part : {plain_text(settings.client, 60), plain_text(words.date(settings.date), 30),
                                  plain_text(fitting.last.facts.file, 60)})
    if (!part.empty()) text += " · " + part;
  return text;
}

/// Lower left corners of the sheets that something of the piece is on.
std::vector<Vec2> sheets_of(const Piece& piece) {
  std::vector<Vec2> corners;
  for (std::size_t r = 0; r < sheets_for(piece.size.y(), kHigh_mm); ++r)
    for (std::size_t c = 0; c < sheets_for(piece.size.x(), kWide_mm); ++c) {
      const Vec2 low(static_cast<double>(c) * (kWide_mm - kOverlap_mm),
                     static_cast<double>(r) * (kHigh_mm - kOverlap_mm));
      const auto is_on = [&](const Vec2& p) {
        return p.x() >= low.x() && p.y() >= low.y() && p.x() <= low.x() + kWide_mm && p.y() <= low.y() + kHigh_mm;
      };
      if (std::ranges::any_of(piece.at, is_on)) corners.push_back(low);
    }
  return corners;
}

/// White over what reaches past the sheet, then whose it is and a bar to measure.
void add_frame(Drawing& drawing, const Page& facts, const std::string& name, const Vec2& low, const Vec2& high) {
  const auto band = [&](double from_y, double to_y) {
    pugi::xml_node white = drawing.svg.append_child("path");  // over the lettering, which is no ink
    white.append_attribute("class").set_value("wrap-paper");
    white.append_attribute("d").set_value(fmt::format("M{0} {1}H{2}V{3}H{0}z", coordinate(low.x()), coordinate(-from_y),
                                                      coordinate(high.x()), coordinate(-to_y))
                                              .c_str());
  };
  band(low.y() - kFoot_mm, low.y());
  band(high.y(), high.y() + kHead_mm);
  drawing.ink = drawing.svg.append_child("g");  // over the bands
  drawing.ink.append_attribute("transform").set_value("scale(.1)");
  add_text(drawing, "strong", {low.x(), high.y() + 10.0}, "start", name);
  add_text(drawing, "", {low.x(), high.y() + 3.0}, "start", whose(facts.fitting, facts.settings, facts.words));
  add_scale_bar(drawing, facts.words, low + Vec2(2.0, 2.0 - kFoot_mm));
  add_text(drawing, "small", {high.x(), low.y() - kFoot_mm + 3.0}, "end", facts.words("template.print"));
}

/// What belongs to a place on another sheet goes; what would be cut by the sheet's side is moved into it.
void keep_lettering_inside(Drawing& drawing, const Vec2& low, const Vec2& high) {
  constexpr double kRim_mm = 4.0;
  std::vector<pugi::xml_node> outside;
  for (pugi::xml_node text : drawing.svg.children("text")) {
    constexpr double kLetter_mm = 2.2;
    const double half_mm = 0.5 * kLetter_mm * static_cast<double>(std::string_view(text.text().get()).size());
    const Vec2 at(text.attribute("x").as_double(), -text.attribute("y").as_double());
    if (at.x() < low.x() + kRim_mm || at.x() > high.x() - kRim_mm || at.y() < low.y() || at.y() > high.y() - kRim_mm)
      outside.push_back(text);
    text.attribute("x").set_value(coordinate(std::clamp(at.x(), low.x() + half_mm, high.x() - half_mm)).c_str());
  }
  for (const pugi::xml_node text : outside) drawing.svg.remove_child(text);
}

void add_sheets(pugi::xml_node parent, const Piece& piece, const Page& facts) {
  const Words& words = facts.words;
  const std::vector<Vec2> corners = sheets_of(piece);
  for (std::size_t k = 0; k < corners.size(); ++k) {
    const Vec2 &low = corners[k], high = low + Vec2(kWide_mm, kHigh_mm);
    const std::string name = words("template.sheet", {{"part", part_words(words, piece.part)},
                                                      {"number", std::to_string(k + 1)},
                                                      {"count", std::to_string(corners.size())}});
    Drawing drawing = add_drawing(add(parent, "figure", "one-to-one"), "one-to-one", low - Vec2(0.0, kFoot_mm),
                                  high + Vec2(0.0, kHead_mm), name);
    add_changes_of(drawing, piece);
    add_addresses(drawing, piece, words);
    add_stations(drawing, piece, facts.fitting, words);
    add_peaks(drawing, piece, facts.fitting, words);
    add_crosses(drawing, sheets_for(piece.size.x(), kWide_mm), sheets_for(piece.size.y(), kHigh_mm));
    keep_lettering_inside(drawing, low, high);
    add_frame(drawing, facts, name, low, high);
  }
}

}  // namespace

std::string bench_sheet_html(const Fitting& fitting, const ReportSettings& settings) {
  const Words words(settings.language);  // 1:1 in mm, as the template
  const Page page = lay_out(fitting, settings, words);
  if (fitting.assessment.corrections.changes.empty()) return {};
  const std::vector<Piece> pieces = pieces_of(fitting);
  Document document;
  open_document(document, settings, words, words("template.changes_name"));
  add_letterhead(document.main, words,
                 {{words("client.client"), settings.client, true},
                  date_entry(words, settings.date),
                  {words("client.foot"), words(fmt::format("side.{}", side_name(fitting.foot.side)))},
                  {words("client.last"), fitting.last.facts.file, true}},
                 "template.changes_name");
  pugi::xml_node answer = add(add(document.main, "section", "first alone"), "div", "answer");
  add(answer, "h1", "", words("template.changes_title"));
  add_first_caution(answer, words, fitting.settings.assessment.wearer, fitting.settings.assessment.wearer_reason);
  add_own_rules(answer, words, fitting.rules);
  add_operations(answer, page);
  add(answer, "h2", "", words("template.how_title"));
  pugi::xml_node how = add(answer, "ol", "steps");
  for (const char* key : {"template.how_print", "template.how_join", "template.how_lay", "template.how_read"})
    add(how, "li", "", words(key));
  for (const Piece& piece : pieces)
    add(answer, "p", "",
        words("template.stretch", {{"part", part_words(words, piece.part)},
                                   {"usual", words.number(100.0 * piece.usual)},
                                   {"worst", words.number(100.0 * piece.worst)}}));
  for (const Piece& piece : pieces) add_sheets(document.main, piece, page);
  return text_of(document);
}

}  // namespace lastroom
