#pragma once

#include <array>

#include "preparation/last.h"

namespace lastroom {

/// How far a place of the last's surface is to be moved, at least.
struct Wanted {
  std::uint32_t vertex = 0;
  double mm = 0.0;  ///< outwards when built up, inwards when taken down; positive
};

/// The surface of a last that is built up and taken down: smooth shapes over what is wanted, and where they may not go.
/// Heights have one entry per vertex of the last, mm outwards along its normal.
class ChangeShape {
 public:
  /// Nothing is moved within kSpotRadiusMm of `untouched`, nothing taken down there of `spared`.
  ChangeShape(const Last& last, std::vector<Vec3> untouched, const std::vector<Vec3>& spared);

  /// The lowest shape of round flanks, nowhere steeper than 45 degrees, that is as high as is wanted at every place; it
  /// fades to nothing at the feather edge unless it may move that.
  std::vector<double> built_up(const std::vector<Wanted>& wanted, bool over_the_edge) const;
  /// The mean of what is wanted around, 0 where nothing is; at the feather edge nothing.
  std::vector<double> taken_down(const std::vector<Wanted>& wanted) const;

  /// Connected parts of the surface that are moved by `kEdge_mm` or more, the largest first; the bottom is parted from
  /// what stands above it.
  std::vector<std::vector<std::uint32_t>> parts(const std::vector<double>& height_mm) const;
  static constexpr double kEdge_mm = 0.3;  ///< thinner than this is not worth a stroke of the rasp; our choice

  /// What of a part lies on the inside of the last and on the outside.
  std::array<std::vector<std::uint32_t>, 2> halves(const std::vector<std::uint32_t>& part) const;
  bool is_bottom(std::uint32_t vertex) const { return bottom_[vertex] != 0; }

  /// The last with its surface moved, and `longer_mm` longer from the joint to the toe end, more and more; its points
  /// and lines go along.
  Last changed(const std::vector<double>& height_mm, double longer_mm) const;

  const std::vector<Vec3>& normals() const { return normals_; }
  double volume_mm3(const std::vector<double>& height_mm, const std::vector<std::uint32_t>& part) const;

 private:
  template <class Shape>
  std::vector<double> by_what_is_around(std::vector<Wanted> wanted, double reach_mm, const Shape& shape) const;

  const Last& last_;
  std::vector<Vec3> normals_;  // averaged over about 4 mm: of one vertex alone, a dented surface would fold
  std::vector<double> area_mm2_;
  std::vector<std::uint8_t> bottom_;         // per vertex
  std::vector<double> at_edge_, up_, down_;  // shares, 0 .. 1, by which a change is let through
};

}  // namespace lastroom
