#include "made_shelf.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "demo/scenario.h"
#include "geometry/parallel.h"
#include "truth_cases.h"

namespace lastroom::test {
namespace {

constexpr double kSize_mm = 25.4 / 3.0, kWidth_mm = 6.35;  // ISO/TS 19407; Rossi 2000
constexpr int kSizes = 9, kWidths = 5;
constexpr std::array kStyles = {"round", "almond", "squared", "bulky"};

/// ANSUR II's mean proportions at a length, with a girth that many width fittings off them.
FootShape foot_of(double length_mm, double width_fittings) {
  FootShape shape;
  const double ratio = length_mm / shape.length_mm;
  shape.length_mm = length_mm;
  shape.joint_girth_mm = shape.joint_girth_mm * ratio + width_fittings * kWidth_mm;
  shape.joint_width_mm = shape.joint_girth_mm / 2.48;
  shape.heel_width_mm *= 0.5 * (ratio + shape.joint_width_mm / 100.0);
  shape.heel_to_joint_mm *= ratio;
  shape.big_toe_height_mm *= ratio;
  shape.fifth_toe_height_mm *= ratio;
  return shape;
}

LastShape model_of(Dice& dice) {
  LastShape last;
  last.heel_height_mm = 10.0 + 15.0 * dice.among(4);
  last.toe_spring_mm = dice.uniform(5.0, 12.0);
  last.allowance_mm = dice.uniform(14.0, 26.0);
  last.toe = static_cast<ToeStyle>(dice.among(4));
  last.room.arch = dice.uniform(0.5, 2.5);
  last.room.instep = dice.uniform(0.0, 2.0);
  last.room.inside_joint = dice.uniform(-0.5, 1.5);
  last.room.outside_joint = dice.uniform(-0.5, 1.5);
  last.room.joint_top = dice.uniform(0.0, 2.0);
  last.room.big_toe_side = dice.uniform(2.0, 5.0);
  last.room.fifth_toe_side = dice.uniform(2.0, 5.0);
  last.room.toe_top = last.room.fifth_toe_top = dice.uniform(3.5, 7.0);
  last.open_at_top = dice.chance(0.5);
  return last;
}

FootShape client_shape(unsigned seed, double edge_mm) {
  Dice dice(seed + 1000);
  FootShape shape = foot_of(dice.uniform(250.0, 274.0), dice.uniform(-1.5, 1.5));
  shape.arch_height_mm = dice.uniform(8.0, 22.0);
  shape.second_toe_longer_mm = dice.uniform(-8.0, 3.0);
  shape.bend_deg = dice.uniform(5.0, 12.0);
  shape.edge_mm = edge_mm;
  return shape;
}

}  // namespace

std::vector<ShelfItem> made_shelf(unsigned count, unsigned seed, double edge_mm) {
  Dice dice(seed);
  std::vector<ShelfItem> items;
  LastShape model;
  for (unsigned i = 0; i < count; ++i) {
    if (i % 10 == 0) model = model_of(dice);
    const int size = dice.among(kSizes), width = dice.among(kWidths);
    ShelfItem item;
    item.foot = foot_of(262.0 + (size - kSizes / 2) * kSize_mm, width - kWidths / 2);
    item.foot.edge_mm = std::max(3.0, edge_mm);
    item.foot_number = size * kWidths + width;
    item.last = model;
    item.last.edge_mm = edge_mm;
    item.left = dice.chance(0.1);
    item.name =
        fmt::format("{:04}-{}-size{}-width{}-heel{:.0f}-{}", i + 1, kStyles[static_cast<std::size_t>(model.toe)], size,
                    width, model.heel_height_mm, item.left ? "left" : "right");
    items.push_back(item);
  }
  return items;
}

void for_each_mesh(const std::vector<ShelfItem>& items, const std::function<void(std::size_t, Mesh)>& with) {
  std::map<int, std::vector<std::size_t>> by_foot;
  for (std::size_t i = 0; i < items.size(); ++i) by_foot[items[i].foot_number].push_back(i);
  const std::vector<std::pair<int, std::vector<std::size_t>>> groups(by_foot.begin(), by_foot.end());
  for_blocks(groups.size(), 1, [&](std::size_t group, std::size_t) {
    const MadeFoot foot = make_foot(items[groups[group].second.front()].foot);
    for (const std::size_t i : groups[group].second) {
      Mesh mesh = make_last(foot, items[i].last).mesh;
      with(i, items[i].left ? mirrored_y(std::move(mesh)) : std::move(mesh));
    }
  });
}

std::vector<ShelfItem> lasts_of_client(unsigned seed, double edge_mm) {
  std::vector<ShelfItem> items;
  for (const double heel_mm : {15.0, 25.0, 40.0}) {
    ShelfItem item;
    item.foot = client_shape(seed, std::max(3.0, edge_mm));
    item.foot_number = kSizes * kWidths;
    item.last.heel_height_mm = heel_mm;
    item.last.toe = ToeStyle::high_and_bulky;
    item.last.room.toe_top = item.last.room.fifth_toe_top = 7.0;
    item.last.room.big_toe_side = item.last.room.fifth_toe_side = 4.0;
    item.last.edge_mm = edge_mm;
    item.name = fmt::format("own-heel{:.0f}-right", heel_mm);
    items.push_back(item);
  }
  return items;
}

Mesh made_client(unsigned seed, double edge_mm) {
  return as_scanned(make_foot(client_shape(seed, edge_mm)).mesh, 0.3, seed);
}

}  // namespace lastroom::test
