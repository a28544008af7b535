#pragma once

// What libc++ before version 16 lacks of C++20 and the core uses; put before every source of the page's build. Debian's
// Emscripten comes with version 13.

#include <version>
#if defined(_LIBCPP_VERSION) && _LIBCPP_VERSION < 16000

#include <algorithm>
#include <cstring>
#include <functional>
#include <iterator>
#include <memory>
#include <ranges>
#include <type_traits>

namespace std {

template <class To, class From>
constexpr To bit_cast(const From& from) noexcept {
  return __builtin_bit_cast(To, from);
}

template <class T>
requires is_unbounded_array_v<T> unique_ptr<T> make_unique_for_overwrite(size_t count) {
  return unique_ptr<T>(new remove_extent_t<T>[count]);
}

namespace ranges {

// With projections, as the standard has them; by iterators below, by range through the macro.
namespace older {
template <class Order, class Projection>
auto by(Order& order, Projection& projection) {
  return [&](const auto& a, const auto& b) -> bool {
    return std::invoke(order, std::invoke(projection, a), std::invoke(projection, b));
  };
}
}  // namespace older

template <class R>
concept older_range = requires(R&& r) {
  std::begin(r);
  std::end(r);
};

template <class I, class O = less, class P = identity>
requires input_or_output_iterator<I> I min_element(I first, I last, O order = {}, P projection = {}) {
  return std::min_element(first, last, older::by(order, projection));
}
template <older_range R, class O = less, class P = identity>
auto min_element(R&& r, O order = {}, P projection = {}) {
  return std::min_element(std::begin(r), std::end(r), older::by(order, projection));
}
/// The first of the greatest, as std::max_element.
template <older_range R, class O = less, class P = identity>
auto max_element(R&& r, O order = {}, P projection = {}) {
  return std::max_element(std::begin(r), std::end(r), older::by(order, projection));
}
template <older_range R, class O = less, class P = identity>
auto min(R&& r, O order = {}, P projection = {}) {
  return *std::min_element(std::begin(r), std::end(r), older::by(order, projection));
}
template <older_range R, class O = less, class P = identity>
auto max(R&& r, O order = {}, P projection = {}) {
  return *std::max_element(std::begin(r), std::end(r), older::by(order, projection));
}
template <class T>
struct min_max_result {
  T min, max;
};
/// The last of the greatest, as the standard has it here.
template <older_range R, class O = less, class P = identity>
auto minmax(R&& r, O order = {}, P projection = {}) {
  const auto found = std::minmax_element(std::begin(r), std::end(r), older::by(order, projection));
  return min_max_result<std::decay_t<decltype(*found.first)>>{*found.first, *found.second};
}
template <older_range R, class F>
void for_each(R&& r, F f) {
  std::for_each(std::begin(r), std::end(r), f);
}
template <older_range R, class T>
void fill(R&& r, const T& value) {
  std::fill(std::begin(r), std::end(r), value);
}
template <older_range R, class T>
void replace(R&& r, const T& old, const T& now) {
  std::replace(std::begin(r), std::end(r), old, now);
}
template <older_range R, class F, class P = identity>
bool any_of(R&& r, F f, P projection = {}) {
  return std::any_of(std::begin(r), std::end(r), [&](auto&& v) { return std::invoke(f, std::invoke(projection, v)); });
}
template <older_range R, class F, class P = identity>
bool all_of(R&& r, F f, P projection = {}) {
  return std::all_of(std::begin(r), std::end(r), [&](auto&& v) { return std::invoke(f, std::invoke(projection, v)); });
}
template <older_range R, class F, class P = identity>
bool none_of(R&& r, F f, P projection = {}) {
  return !any_of(r, f, projection);
}
template <older_range R, class F, class P = identity>
auto count_if(R&& r, F f, P projection = {}) {
  return std::count_if(std::begin(r), std::end(r),
                       [&](auto&& v) { return std::invoke(f, std::invoke(projection, v)); });
}
template <older_range R, class T, class P = identity>
auto count(R&& r, const T& value, P projection = {}) {
  return count_if(
      r, [&](const auto& v) { return v == value; }, projection);
}
template <class I, class F, class P = identity>
requires input_or_output_iterator<I> I find_if(I first, I last, F f, P projection = {}) {
  return std::find_if(first, last, [&](auto&& v) { return std::invoke(f, std::invoke(projection, v)); });
}
template <older_range R, class F, class P = identity>
auto find_if(R&& r, F f, P projection = {}) {
  return ranges::find_if(std::begin(r), std::end(r), f, projection);
}
template <older_range R, class T, class P = identity>
auto find(R&& r, const T& value, P projection = {}) {
  return ranges::find_if(
      std::begin(r), std::end(r), [&](const auto& v) { return v == value; }, projection);
}
template <older_range R, class O = less, class P = identity>
void sort(R&& r, O order = {}, P projection = {}) {
  std::sort(std::begin(r), std::end(r), older::by(order, projection));
}
template <older_range R, class O = less, class P = identity>
void stable_sort(R&& r, O order = {}, P projection = {}) {
  std::stable_sort(std::begin(r), std::end(r), older::by(order, projection));
}
template <older_range R, class I>
void nth_element(R&& r, I nth) {
  std::nth_element(std::begin(r), nth, std::end(r));
}
template <class I, class T, class O = less, class P = identity>
requires input_or_output_iterator<I> I lower_bound(I first, I last, const T& value, O order = {}, P projection = {}) {
  return std::lower_bound(first, last, value, [&](const auto& element, const T& v) -> bool {
    return std::invoke(order, std::invoke(projection, element), v);
  });
}
template <older_range R, class T, class O = less, class P = identity>
auto lower_bound(R&& r, const T& value, O order = {}, P projection = {}) {
  return ranges::lower_bound(std::begin(r), std::end(r), value, order, projection);
}
template <class I, class T, class O = less, class P = identity>
requires input_or_output_iterator<I> I upper_bound(I first, I last, const T& value, O order = {}, P projection = {}) {
  return std::upper_bound(first, last, value, [&](const T& v, const auto& element) -> bool {
    return std::invoke(order, v, std::invoke(projection, element));
  });
}

}  // namespace ranges
}  // namespace std

#endif
