#include "geometry/nearest_search.h"

namespace lastroom {
namespace {

struct Float8 {
  float lane[kLanes];
  static Float8 load(const float* from) {
    Float8 r;
    for (int i = 0; i < kLanes; ++i) r.lane[i] = from[i];
    return r;
  }
  static Float8 all(float value) {
    Float8 r;
    for (float& x : r.lane) x = value;
    return r;
  }
  void store(float* to) const {
    for (int i = 0; i < kLanes; ++i) to[i] = lane[i];
  }
};

template <class Operation>
inline Float8 each(const Float8& a, const Float8& b, Operation operation) {
  Float8 r;
  for (int i = 0; i < kLanes; ++i) r.lane[i] = operation(a.lane[i], b.lane[i]);
  return r;
}
inline Float8 operator+(const Float8& a, const Float8& b) {
  return each(a, b, [](float x, float y) { return x + y; });
}
inline Float8 operator-(const Float8& a, const Float8& b) {
  return each(a, b, [](float x, float y) { return x - y; });
}
inline Float8 operator*(const Float8& a, const Float8& b) {
  return each(a, b, [](float x, float y) { return x * y; });
}
inline Float8 operator/(const Float8& a, const Float8& b) {
  return each(a, b, [](float x, float y) { return x / y; });
}
inline Float8 min(const Float8& a, const Float8& b) {
  return each(a, b, [](float x, float y) { return x < y ? x : y; });
}
inline Float8 max(const Float8& a, const Float8& b) {
  return each(a, b, [](float x, float y) { return x > y ? x : y; });
}
inline Float8 abs(const Float8& a) {
  return each(a, a, [](float x, float) { return __builtin_fabsf(x); });
}
inline Float8 zero_where_positive(const Float8& sign, const Float8& value) {
  return each(sign, value, [](float s, float v) { return s > 0.0F ? 0.0F : v; });
}
inline float least_lane(const Float8& a) {
  float least = a.lane[0];
  for (int i = 1; i < kLanes; ++i) least = a.lane[i] < least ? a.lane[i] : least;
  return least;
}
inline unsigned lanes_not_above(const Float8& a, float limit) {
  unsigned lanes = 0;
  for (int i = 0; i < kLanes; ++i) lanes |= static_cast<unsigned>(a.lane[i] <= limit) << i;
  return lanes;
}

}  // namespace
}  // namespace lastroom

#include "geometry/nearest_search_kernel.h"

namespace lastroom {

NearestSearch plain_search() { return search_nearest<Float8>; }

}  // namespace lastroom
