#pragma once

#include <memory>
#include <nanoflann.hpp>
#include <utility>

#include "geometry/mesh.h"

namespace lastroom {

/// Nearest of a set of points; refers to the points, which must outlive it.
class NearestPoint {
 public:
  explicit NearestPoint(const std::vector<Vec3>& points)
      : points_{points}, tree_(std::make_unique<Tree>(3, points_, nanoflann::KDTreeSingleIndexAdaptorParams(8))) {
    tree_->buildIndex();
  }
  /// Index of the nearest point and its distance.
  std::pair<std::size_t, double> operator()(const Vec3& query) const {
    std::size_t index = 0;
    double squared = 0.0;
    tree_->knnSearch(query.data(), 1, &index, &squared);
    return {index, std::sqrt(squared)};
  }
  /// The same sooner, from what is known to be near.
  std::pair<std::size_t, double> operator()(const Vec3& query, std::size_t known) const {
    std::size_t index = 0;
    double squared = 0.0;
    nanoflann::KNNResultSet<double, std::size_t, std::size_t> nearest(1);
    nearest.init(&index, &squared);
    const Vec3 d = query - points_.points[known];
    nearest.addPoint(d.x() * d.x() + d.y() * d.y() + d.z() * d.z(), known);  // summed up as the tree does
    tree_->findNeighbors(nearest, query.data(), nanoflann::SearchParams());
    return {index, std::sqrt(squared)};
  }
  /// Distance to the nearest point that is not the query itself.
  double spacing_at(std::size_t index) const {
    std::array<std::size_t, 2> found{};
    std::array<double, 2> squared{};
    tree_->knnSearch(points_.points[index].data(), 2, found.data(), squared.data());
    return std::sqrt(squared[1]);
  }

 private:
  struct Points {
    const std::vector<Vec3>& points;
    std::size_t kdtree_get_point_count() const { return points.size(); }
    double kdtree_get_pt(std::size_t i, std::size_t axis) const { return points[i][static_cast<Eigen::Index>(axis)]; }
    template <class B>
    bool kdtree_get_bbox(B&) const {
      return false;
    }
  };
  using Tree =
      nanoflann::KDTreeSingleIndexAdaptor<nanoflann::L2_Simple_Adaptor<double, Points>, Points, 3, std::size_t>;
  Points points_;
  std::unique_ptr<Tree> tree_;
};

}  // namespace lastroom
