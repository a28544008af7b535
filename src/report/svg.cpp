#include "report/svg.h"

#include <fmt/format.h>

#include <cmath>

namespace lastroom {
namespace {

struct Tenths {
  long x, y;
  friend bool operator==(const Tenths&, const Tenths&) = default;
};
Tenths tenths(const Vec2& p) { return {std::lround(10.0 * p.x()), std::lround(-10.0 * p.y())}; }

/// One subpath: an absolute start, then short relative steps.
void append(std::string& data, const std::vector<Vec2>& line, bool closed) {
  if (line.empty()) return;
  const auto number = [&](long value) {
    const fmt::format_int digits(value);
    data.append(digits.data(), digits.size());
  };
  Tenths at = tenths(line.front());
  data += fmt::format("M{} {}", at.x, at.y);
  bool first = true;
  for (std::size_t i = 1; i < line.size(); ++i) {
    const Tenths to = tenths(line[i]);
    if (to == at) continue;
    data += first ? "l" : to.x - at.x < 0 ? "" : " ";
    number(to.x - at.x);
    if (to.y >= at.y) data += ' ';
    number(to.y - at.y);
    at = to;
    first = false;
  }
  if (closed) data += "z";
}

void set(pugi::xml_node node, const char* name, const std::string& value) {
  node.append_attribute(name).set_value(value.c_str());
}
void set(pugi::xml_node node, const char* name, double mm) { set(node, name, coordinate(mm)); }

}  // namespace

std::string coordinate(double mm) {
  std::string text = fmt::format("{:.2f}", mm);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string path_data(const std::vector<Loop>& loops) {
  std::string data;
  for (const Loop& loop : loops) append(data, loop, true);
  return data;
}

std::string path_data(const std::vector<Vec2>& line, bool closed) {
  std::string data;
  append(data, line, closed);
  return data;
}

Drawing add_drawing(pugi::xml_node parent, std::string_view kind, const Vec2& low, const Vec2& high,
                    const std::string& name) {
  Drawing drawing{parent.append_child("svg"), {}, low, high};
  set(drawing.svg, "class", std::string(kind));
  set(drawing.svg, "viewBox",
      fmt::format("{} {} {} {}", coordinate(low.x()), coordinate(-high.y()), coordinate(high.x() - low.x()),
                  coordinate(high.y() - low.y())));
  set(drawing.svg, "role", "img");
  set(drawing.svg, "aria-label", name);
  drawing.ink = drawing.svg.append_child("g");
  set(drawing.ink, "transform", "scale(.1)");
  return drawing;
}

Drawing add_figure(pugi::xml_node parent, std::string_view kind, const Vec2& low, const Vec2& high,
                   const std::string& name, const std::string& caption) {
  pugi::xml_node figure = parent.append_child("figure");
  set(figure, "class", std::string(kind));
  Drawing drawing = add_drawing(figure, kind, low, high, name);
  figure.append_child("figcaption").text().set(caption.c_str());
  return drawing;
}

pugi::xml_node add_path(pugi::xml_node parent, std::string_view kind, const std::string& data) {
  pugi::xml_node path = parent.append_child("path");
  set(path, "class", std::string(kind));
  set(path, "d", data);
  return path;
}

void add_line(Drawing& drawing, std::string_view kind, const Vec2& from, const Vec2& to) {
  add_path(drawing.ink, kind, path_data({from, to}, false));
}

void add_text(Drawing& drawing, std::string_view kind, const Vec2& at, std::string_view anchor,
              const std::string& text) {
  pugi::xml_node node = drawing.svg.append_child("text");
  set(node, "class", std::string(kind));
  set(node, "x", at.x());
  set(node, "y", -at.y());
  if (anchor != "start") set(node, "text-anchor", std::string(anchor));
  node.text().set(text.c_str());
}

void add_marker(Drawing& drawing, const Vec2& at, int number, std::string_view kind) {
  pugi::xml_node mark = drawing.svg.append_child("g");
  set(mark, "class", std::string(kind));
  set(mark, "transform", fmt::format("translate({} {})", coordinate(at.x()), coordinate(-at.y())));
  mark.append_child("circle").append_attribute("r").set_value("5.5");
  pugi::xml_node text = mark.append_child("text");
  set(text, "text-anchor", "middle");
  set(text, "dy", ".36em");
  text.text().set(number);
}

void add_scale_bar(Drawing& drawing, const Words& words, const Vec2& at, Bar bar) {
  const bool inches = words.lengths() == Lengths::inches;
  const double length = (inches ? 4.0 : 100.0) * (bar == Bar::half ? 0.5 : 1.0);
  const double length_mm = inches ? 25.4 * length : length, half = 0.5 * length_mm;
  add_path(drawing.ink, "bar-filled",
           path_data({at, at + Vec2(half, 0.0), at + Vec2(half, 2.0), at + Vec2(0.0, 2.0)}, true));
  add_path(drawing.ink, "bar",
           path_data({at, at + Vec2(length_mm, 0.0), at + Vec2(length_mm, 2.0), at + Vec2(0.0, 2.0)}, true));
  add_text(drawing, "small", at + Vec2(0.0, 3.5), "start", "0");
  add_text(drawing, "small", at + Vec2(half, 3.5), "middle", coordinate(0.5 * length));
  add_text(drawing, "small", at + Vec2(length_mm, 3.5), "end", coordinate(length) + " " + words.length_unit());
}

void add_hatch(Drawing& drawing, const std::string& id, double gap_mm, std::string_view kind) {
  pugi::xml_node pattern = drawing.ink.prepend_child("pattern");
  set(pattern, "id", id);
  set(pattern, "patternUnits", "userSpaceOnUse");
  set(pattern, "width", 10.0 * gap_mm);
  set(pattern, "height", 10.0 * gap_mm);
  set(pattern, "patternTransform", "rotate(45)");
  // A dark line on a wider white one: one of the two stands out on any colour.
  for (const std::string& line_kind : {std::string("hatch-under"), std::string(kind)}) {
    pugi::xml_node line = pattern.append_child("path");
    set(line, "class", line_kind);
    set(line, "d", fmt::format("M{0} 0V{1}", coordinate(5.0 * gap_mm), coordinate(10.0 * gap_mm)));
  }
}

}  // namespace lastroom
