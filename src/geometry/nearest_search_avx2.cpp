#include "geometry/nearest_search.h"

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#include <immintrin.h>

#include <utility>

// Only what is between these lines is compiled for AVX2. Headers stay outside: their inline functions are shared with
// the rest of the program and must run everywhere.
#pragma GCC push_options
#pragma GCC target("avx2")

namespace lastroom {
namespace {

struct Float8 {
  __m256 lanes;
  static Float8 load(const float* from) { return {_mm256_load_ps(from)}; }
  static Float8 all(float value) { return {_mm256_set1_ps(value)}; }
  void store(float* to) const { _mm256_store_ps(to, lanes); }
};
inline Float8 operator+(const Float8& a, const Float8& b) { return {_mm256_add_ps(a.lanes, b.lanes)}; }
inline Float8 operator-(const Float8& a, const Float8& b) { return {_mm256_sub_ps(a.lanes, b.lanes)}; }
inline Float8 operator*(const Float8& a, const Float8& b) { return {_mm256_mul_ps(a.lanes, b.lanes)}; }
inline Float8 operator/(const Float8& a, const Float8& b) { return {_mm256_div_ps(a.lanes, b.lanes)}; }
inline Float8 min(const Float8& a, const Float8& b) { return {_mm256_min_ps(a.lanes, b.lanes)}; }
inline Float8 max(const Float8& a, const Float8& b) { return {_mm256_max_ps(a.lanes, b.lanes)}; }
inline Float8 abs(const Float8& a) { return {_mm256_andnot_ps(_mm256_set1_ps(-0.0F), a.lanes)}; }
inline Float8 zero_where_positive(const Float8& sign, const Float8& value) {
  return {_mm256_andnot_ps(_mm256_cmp_ps(sign.lanes, _mm256_setzero_ps(), _CMP_GT_OQ), value.lanes)};
}
inline float least_lane(const Float8& a) {
  __m128 least = _mm_min_ps(_mm256_castps256_ps128(a.lanes), _mm256_extractf128_ps(a.lanes, 1));
  least = _mm_min_ps(least, _mm_movehl_ps(least, least));
  return _mm_cvtss_f32(_mm_min_ss(least, _mm_movehdup_ps(least)));
}
inline unsigned lanes_not_above(const Float8& a, float limit) {
  return static_cast<unsigned>(_mm256_movemask_ps(_mm256_cmp_ps(a.lanes, _mm256_set1_ps(limit), _CMP_LE_OQ)));
}

}  // namespace
}  // namespace lastroom

#include "geometry/nearest_search_kernel.h"

#pragma GCC pop_options

namespace lastroom {

NearestSearch avx2_search() { return __builtin_cpu_supports("avx2") ? search_nearest<Float8> : nullptr; }

}  // namespace lastroom

#else

namespace lastroom {

NearestSearch avx2_search() { return nullptr; }

}  // namespace lastroom

#endif
