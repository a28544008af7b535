#include "report/isobands.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <utility>

namespace lastroom {
namespace {

constexpr float kBelow = -1e6F;  // far below every level: the border then runs close to the last node that is known

/// The grid with a ring of nodes that are below, so that every border closes.
Grid ringed(const Grid& grid) {
  Grid ring{grid.columns + 2, grid.rows + 2, grid.step_mm, grid.low - Vec2::Constant(grid.step_mm), {}};
  ring.value.assign(static_cast<std::size_t>(ring.columns) * ring.rows, kBelow);
  for (int row = 0; row < grid.rows; ++row)
    std::copy_n(grid.value.begin() + static_cast<std::ptrdiff_t>(row) * grid.columns, grid.columns,
                &ring.at(1, row + 1));
  return ring;
}

/// Grid edges carry the border's points: edge 2n leaves node n to the right, edge 2n + 1 upwards.
struct Border {
  std::vector<std::int32_t> next;  ///< per edge: the edge that the border reaches next, -1 for none
  std::vector<std::int32_t> entered;
};

/// Per node 1 where the value is at least `level`, else 0.
std::vector<std::uint8_t> nodes_in(const Grid& g, double level) {
  auto least = static_cast<float>(level);
  if (static_cast<double>(least) < level) least = std::nextafter(least, std::numeric_limits<float>::infinity());
  std::vector<std::uint8_t> in(g.value.size());
  for (std::size_t i = 0; i < in.size(); ++i) in[i] = g.value[i] >= least;
  return in;
}

/// A column from `column` on before whose cell no border runs: eight cells are seen at once to be all in or all out.
/// `below` and `above` are rows of `nodes_in`.
int next_cell(const std::uint8_t* below, const std::uint8_t* above, int column, int columns) {
  const auto eight = [](const std::uint8_t* nodes) {
    std::uint64_t word = 0;
    std::memcpy(&word, nodes, sizeof word);
    return word;
  };
  for (; column + 8 < columns; column += 8) {
    const std::uint64_t all_like_first = below[column] * 0x0101010101010101U;
    if (eight(below + column) != all_like_first || eight(below + column + 1) != all_like_first ||
        eight(above + column) != all_like_first || eight(above + column + 1) != all_like_first)
      break;
  }
  return column;
}

Border border_of(const Grid& g, double level) {
  Border border;
  border.next.assign(2 * g.value.size(), -1);
  const std::vector<std::uint8_t> nodes = nodes_in(g, level);
  const auto join = [&](std::int32_t from, std::int32_t to) {
    border.next[static_cast<std::size_t>(from)] = to;
    border.entered.push_back(from);
  };
  for (int row = 0; row + 1 < g.rows; ++row) {
    const std::uint8_t* const below = &nodes[static_cast<std::size_t>(row) * g.columns];
    const std::uint8_t* const above = below + g.columns;
    for (int column = 0; (column = next_cell(below, above, column, g.columns)) + 1 < g.columns; ++column) {
      // Corners counter-clockwise from the lower left; side k runs from corner k to corner k + 1.
      const std::array<std::uint8_t, 4> in = {below[column], below[column + 1], above[column + 1], above[column]};
      const int count = in[0] + in[1] + in[2] + in[3];
      if (count == 0 || count == 4) continue;
      const std::int32_t node = row * g.columns + column;
      const std::array<std::int32_t, 4> side = {2 * node, 2 * (node + 1) + 1, 2 * (node + g.columns), 2 * node + 1};
      // Counter-clockwise round the cell, the set is left at side k (in -> out) and entered at side k (out -> in). The
      // border with the set on its left enters the cell where the set ends and leaves where it begins.
      std::array<std::int32_t, 2> ends{}, begins{};
      std::size_t ending = 0, beginning = 0;
      for (std::size_t k = 0; k < 4; ++k) {
        if (in[k] && !in[(k + 1) % 4]) ends[ending++] = side[k];
        if (!in[k] && in[(k + 1) % 4]) begins[beginning++] = side[k];
      }
      if (ending == 1) {
        join(ends[0], begins[0]);
        continue;
      }
      const float sum = g.at(column, row) + g.at(column + 1, row) + g.at(column + 1, row + 1) + g.at(column, row + 1);
      const bool middle_in = static_cast<double>(sum) / 4.0 >= level;
      // With corner 0 in, the set begins again at side 1 (before corner 2) after it ended at side 0; else at side 0
      // after it ended at side 3. Joined middle: the border rounds the corner that is out.
      const bool round_next = middle_in == (in[0] != 0);
      join(ends[0], round_next ? begins[0] : begins[1]);
      join(ends[1], round_next ? begins[1] : begins[0]);
    }
  }
  return border;
}

Vec2 crossing(const Grid& g, std::int32_t edge, double level) {
  const int node = edge / 2, column = node % g.columns, row = node / g.columns;
  const bool upwards = edge % 2 != 0;
  const double here = g.at(column, row);
  const double there = upwards ? g.at(column, row + 1) : g.at(column + 1, row);
  const double part = std::clamp((level - here) / (there - here), 0.0, 1.0);
  return g.low + g.step_mm * Vec2(column + (upwards ? 0.0 : part), row + (upwards ? part : 0.0));
}

/// A line between two of a loop's points.
struct Chord {
  Vec2 from, along;
  double length = along.norm();

  double distance_to(const Vec2& p) const {
    if (length == 0.0) return (p - from).norm();
    const double t = std::clamp((p - from).dot(along) / (length * length), 0.0, 1.0);
    return (p - from - t * along).norm();
  }
};

/// Marks the points to keep strictly between `from` and `to`, which may be one past the end: the loop is closed.
void keep_between(const Loop& loop, std::size_t from, std::size_t to, double tolerance_mm, std::vector<bool>& keep) {
  std::vector<std::pair<std::size_t, std::size_t>> open = {{from, to}};
  while (!open.empty()) {
    const auto [a, b] = open.back();
    open.pop_back();
    const Chord chord{loop[a], loop[b % loop.size()] - loop[a]};
    double furthest = tolerance_mm;
    std::size_t split = a;
    for (std::size_t i = a + 1; i < b; ++i) {
      const double d = chord.distance_to(loop[i]);
      if (d > furthest) furthest = d, split = i;
    }
    if (split == a) continue;
    keep[split] = true;
    open.emplace_back(a, split);
    open.emplace_back(split, b);
  }
}

Loop simplified(const Loop& loop, double tolerance_mm) {
  std::size_t far = 0;
  for (std::size_t i = 0; i < loop.size(); ++i) {
    if ((loop[i] - loop[0]).squaredNorm() > (loop[far] - loop[0]).squaredNorm()) far = i;
  }
  std::vector<bool> keep(loop.size(), false);
  keep[0] = keep[far] = true;
  keep_between(loop, 0, far, tolerance_mm, keep);
  keep_between(loop, far, loop.size(), tolerance_mm, keep);
  Loop kept;
  for (std::size_t i = 0; i < loop.size(); ++i) {
    if (keep[i]) kept.push_back(loop[i]);
  }
  return kept;
}

}  // namespace

std::vector<Loop> superlevel_loops(const Grid& grid, double level) {
  const Grid g = ringed(grid);
  Border border = border_of(g, level);
  std::vector<Loop> loops;
  for (const std::int32_t start : border.entered) {
    if (border.next[static_cast<std::size_t>(start)] < 0) continue;
    Loop loop;
    for (std::int32_t edge = start; edge >= 0;) {
      loop.push_back(crossing(g, edge, level));
      edge = std::exchange(border.next[static_cast<std::size_t>(edge)], -1);
      if (edge == start) break;
    }
    if (loop.size() >= 3) loops.push_back(std::move(loop));
  }
  return loops;
}

double signed_area_mm2(const Loop& loop) {
  double twice = 0.0;
  for (std::size_t i = 0; i < loop.size(); ++i) {
    const Vec2 &a = loop[i], &b = loop[(i + 1) % loop.size()];
    twice += a.x() * b.y() - a.y() * b.x();
  }
  return 0.5 * twice;
}

std::vector<Loop> simplified(const std::vector<Loop>& loops, double tolerance_mm, double least_area_mm2) {
  std::vector<Loop> kept;
  for (const Loop& loop : loops) {
    if (std::abs(signed_area_mm2(loop)) < least_area_mm2) continue;
    Loop fewer = simplified(loop, tolerance_mm);
    if (fewer.size() >= 3) kept.push_back(std::move(fewer));
  }
  return kept;
}

}  // namespace lastroom
