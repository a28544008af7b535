#pragma once

#include <pugixml.hpp>
#include <string>
#include <string_view>

#include "report/isobands.h"
#include "words/words.h"

namespace lastroom {

/// A picture in millimetres, y up. Paths go into `ink` in whole tenths of a millimetre (short numbers); their line
/// widths are set in report.css and do not scale.
struct Drawing {
  pugi::xml_node svg, ink;
  Vec2 low, high;
};

/// A figure with its picture and its caption. `name` is the picture's text alternative; `kind` its CSS class.
Drawing add_figure(pugi::xml_node parent, std::string_view kind, const Vec2& low, const Vec2& high,
                   const std::string& name, const std::string& caption);
/// The same without a figure around it.
Drawing add_drawing(pugi::xml_node parent, std::string_view kind, const Vec2& low, const Vec2& high,
                    const std::string& name);

std::string path_data(const std::vector<Loop>& loops);
std::string path_data(const std::vector<Vec2>& line, bool closed);

pugi::xml_node add_path(pugi::xml_node parent, std::string_view kind, const std::string& data);
void add_line(Drawing& drawing, std::string_view kind, const Vec2& from, const Vec2& to);
/// `anchor`: start, middle or end.
void add_text(Drawing& drawing, std::string_view kind, const Vec2& at, std::string_view anchor,
              const std::string& text);
/// A numbered disc.
void add_marker(Drawing& drawing, const Vec2& at, int number, std::string_view kind = "marker");
/// 0, half and whole, its left end at `at`: 100 mm or 4 inches long, or the half of it.
enum class Bar { whole, half };
void add_scale_bar(Drawing& drawing, const Words& words, const Vec2& at, Bar bar = Bar::whole);
/// A pattern of parallel lines named `id`, `gap_mm` apart, running up to the right.
void add_hatch(Drawing& drawing, const std::string& id, double gap_mm, std::string_view kind);

std::string coordinate(double mm);  ///< two decimals, no trailing zeros

}  // namespace lastroom
