#include "demo/scenario.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>
#include <random>

#include "mesh_io/write_mesh.h"

namespace lastroom {
namespace {

/// -1 .. 1, the same everywhere: standard engines are portable, standard distributions are not.
double throw_of(std::mt19937& dice) { return static_cast<double>(dice()) / 2147483647.5 - 1.0; }

Motion any_pose(std::mt19937& dice) {
  Vec3 axis(throw_of(dice), throw_of(dice), throw_of(dice));
  const double angle = std::numbers::pi * throw_of(dice);
  const Vec3 shift(300.0 * throw_of(dice), 300.0 * throw_of(dice), 300.0 * throw_of(dice));
  Motion pose(Eigen::AngleAxisd(angle, axis.normalized()));
  return pose.pretranslate(shift);
}

void roughen(Mesh& mesh, double rms_mm, std::mt19937& dice) {
  const std::vector<Vec3> normals = vertex_normals(mesh);
  std::vector<double> grain(mesh.vertices.size());
  for (double& g : grain) g = throw_of(dice);
  std::vector<double> height(grain.size(), 0.0);
  for (const Triangle& t : mesh.triangles)
    for (std::uint32_t corner : t) height[corner] += grain[t[0]] + grain[t[1]] + grain[t[2]];
  double square = 0.0;
  for (std::size_t v = 0; v < height.size(); ++v) square += height[v] * height[v];
  const double scale = rms_mm / std::sqrt(square / static_cast<double>(height.size()));
  for (std::size_t v = 0; v < height.size(); ++v) mesh.vertices[v] += scale * height[v] * normals[v];
}

/// The floor around the foot, with a hole where the foot stands: a scanner can't see there.
void add_floor(Mesh& foot) {
  constexpr double kCell_mm = 5.0;
  constexpr double kMargin_mm = 40.0;
  const Box box = bounds(foot);
  const auto cell_of = [&](double at, double low) {
    return static_cast<std::size_t>((at - low + kMargin_mm) / kCell_mm);
  };
  const std::size_t columns = cell_of(box.high.x() + kMargin_mm, box.low.x()),
                    rows = cell_of(box.high.y() + kMargin_mm, box.low.y());
  std::vector<std::uint8_t> hidden(columns * rows, 0);
  for (const Vec3& v : foot.vertices) {
    const std::size_t i = cell_of(v.x(), box.low.x()), j = cell_of(v.y(), box.low.y());
    for (std::size_t a = i - 1; a <= i + 1; ++a)
      for (std::size_t b = j - 1; b <= j + 1; ++b) hidden[b * columns + a] = 1;
  }
  const auto first = static_cast<std::uint32_t>(foot.vertices.size());
  for (std::size_t j = 0; j <= rows; ++j)
    for (std::size_t i = 0; i <= columns; ++i)
      foot.vertices.emplace_back(box.low.x() - kMargin_mm + kCell_mm * static_cast<double>(i),
                                 box.low.y() - kMargin_mm + kCell_mm * static_cast<double>(j), 0.0);
  for (std::size_t j = 0; j < rows; ++j)
    for (std::size_t i = 0; i < columns; ++i) {
      if (hidden[j * columns + i]) continue;
      const auto a = static_cast<std::uint32_t>(first + j * (columns + 1) + i), b = a + 1,
                 d = static_cast<std::uint32_t>(a + columns + 1), c = d + 1;
      foot.triangles.push_back({a, b, c});
      foot.triangles.push_back({a, c, d});
    }
}

FootShape brandts_foot() {
  FootShape foot;
  foot.edge_mm = 1.5;  // as fine as a hand-held scanner's mesh
  return foot;
}

DemoPair other_foot(const FootShape& foot, const LastShape& last) {
  DemoPair other{"left_with_bunion",
                 "The client's other foot: it has a bunion, its scan shows some floor, and its last fits.",
                 "brandt_left.ply",
                 "last_left_with_bunion.stl",
                 foot,
                 last,
                 true,
                 true};
  other.foot.bunion_mm = 7.0;
  return other;
}

std::string scan_bytes(const DemoPair& pair, const MadeFoot& foot) {
  constexpr double kRoughness_mm = 0.3;
  Mesh skin = foot.mesh;
  if (pair.left) skin = mirrored_y(skin);
  if (pair.floor_left_in) add_floor(skin);
  return ply_binary(as_scanned(skin, kRoughness_mm, pair.left ? 1812 : 1791));
}

std::string last_bytes(const DemoPair& pair, const MadeFoot& foot) {
  Mesh last = make_last(foot, pair.last).mesh;
  if (pair.left) last = mirrored_y(last);
  std::mt19937 dice(401);  // all lasts lie alike: they come from one workshop
  return stl_binary(moved(last, any_pose(dice)));
}

}  // namespace

std::vector<DemoPair> demo_pairs() {
  const FootShape foot = brandts_foot();
  LastShape good;
  good.room.toe_top = 11.0;  // so that the roof clears a toe's height well in front of the longest toe
  good.room.fifth_toe_top = 6.0;
  good.room.fifth_toe_side = 4.0;
  good.room.big_toe_side = 3.0;
  good.allowance_mm = 20.0;  // within the 20 to 25 mm of well-rated shoes (Menz et al. 2014: +23.6 mm)
  std::vector<DemoPair> pairs;
  const auto add = [&](const std::string& name, const std::string& what_it_shows, const LastShape& last) {
    pairs.push_back({name, what_it_shows, "brandt_right.ply", "last_" + name + ".stl", foot, last});
  };
  add("fits", "A last made for this foot: held from heel to joint, room for every toe.", good);

  LastShape last = good;
  last.room.fifth_toe_side = good.room.fifth_toe_side - 8.5;
  add("fifth_toe_pressed", "As the last that fits, but its outside wall stands too far in at the fifth toe.", last);

  last = good;
  last.room.toe_top = 2.0;
  last.room.fifth_toe_top = 1.0;
  add("roof_too_low", "As the last that fits, but its roof comes down on the toes.", last);

  last = good;
  constexpr double kEnglishSize_mm = 25.4 / 3.0;  // D1: 1/3 inch
  last.allowance_mm = good.allowance_mm - 2.0 * kEnglishSize_mm;
  add("two_sizes_short", "As the last that fits, but the toe ends two English sizes (17 mm) sooner.", last);

  last = good;
  last.room.inside_joint = -1.6;
  last.room.outside_joint = -1.6;
  add("joint_snug", "As the last that fits, but tight at the joint, by no more than a joint bears.", last);

  last = good;
  last.toe = ToeStyle::almond;
  last.allowance_mm = good.allowance_mm + 4.0;
  last.room.toe_top = good.room.toe_top + 2.0;
  add("almond_toe", "The same rear part with an almond toe: longer and higher, as its roof comes down sooner.", last);

  last = good;
  last.toe = ToeStyle::squared;
  last.allowance_mm = good.allowance_mm - 4.0;
  add("squared_toe", "The same rear part with a squared toe.", last);

  last = good;
  last.toe = ToeStyle::high_and_bulky;
  last.allowance_mm = good.allowance_mm - 8.0;
  add("bulky_toe", "The same rear part with the high, bulky toe of a work boot.", last);

  pairs.push_back(other_foot(foot, good));
  return pairs;
}

Mesh as_scanned(const Mesh& skin, double rms_mm, unsigned seed) {
  std::mt19937 dice(seed);
  Mesh scan = skin;
  roughen(scan, rms_mm, dice);
  return moved(scan, any_pose(dice));
}

std::vector<DemoFile> demo_files(const DemoPair& pair) {
  const MadeFoot foot = make_foot(pair.foot);
  return {{pair.scan_file, scan_bytes(pair, foot)}, {pair.last_file, last_bytes(pair, foot)}};
}

std::vector<DemoFile> demo_files() {
  std::vector<DemoFile> scans, lasts;
  MadeFoot foot;
  for (const DemoPair& pair : demo_pairs()) {
    const bool known =
        std::any_of(scans.begin(), scans.end(), [&](const DemoFile& f) { return f.name == pair.scan_file; });
    if (!known) {  // pairs of one scan stand together
      foot = make_foot(pair.foot);
      scans.push_back({pair.scan_file, scan_bytes(pair, foot)});
    }
    lasts.push_back({pair.last_file, last_bytes(pair, foot)});
  }
  scans.insert(scans.end(), std::make_move_iterator(lasts.begin()), std::make_move_iterator(lasts.end()));
  return scans;
}

}  // namespace lastroom
