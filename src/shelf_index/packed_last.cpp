#include "shelf_index/packed_last.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <type_traits>

#include "words/words.h"

namespace lastroom {
namespace {

/// Appends values, one after another.
struct Packer {
  std::string bytes;
  void must(bool) {}

  void raw(const void* data, std::size_t size) { bytes.append(static_cast<const char*>(data), size); }
  void size(std::size_t& n) { raw(&n, sizeof n); }
  template <class Vector>
  void room_for(Vector&, std::size_t, std::size_t) {}
  static constexpr bool ok = true;
};

/// Takes them out again in the same order.
struct Unpacker {
  std::string_view bytes;
  bool ok = true;
  void must(bool so) { ok = ok && so; }

  void raw(void* data, std::size_t size) {
    ok = ok && size <= bytes.size();
    if (!ok) return;
    std::memcpy(data, bytes.data(), size);
    bytes.remove_prefix(size);
  }
  void size(std::size_t& n) {
    n = 0;
    raw(&n, sizeof n);
  }
  template <class Vector>
  void room_for(Vector& vector, std::size_t n, std::size_t bytes_each) {
    ok = ok && n <= bytes.size() / bytes_each;  // no memory for what can't be there
    vector.resize(ok ? n : 0);
  }
};

/// Whether a prepared last can have a point there: none is as long as a metre. Farther ones would cost memory without
/// end where lines are walked along in steps.
bool is_in_reach(const Vec3& p) { return (p.array().abs() <= 1000.0).all(); }  // false for NaN, too

/// A message has others in it, these have none deeper than this: no call goes deeper either.
constexpr int kDeepest = 8;
constexpr std::size_t kLeastInParts = 2 * sizeof(std::size_t);  ///< bytes of a message or a value: two lengths
template <class Archive>
void message(Archive& a, Message& value, int deepest = kDeepest);

template <class Archive, class T>
void field(Archive& a, T& value) {
  if constexpr (std::is_same_v<T, bool>) {  // a byte that is neither 0 nor 1 must never be one
    auto byte = static_cast<std::uint8_t>(value);
    a.raw(&byte, 1);
    a.must(byte <= 1);
    value = byte == 1;
  } else if constexpr (std::is_same_v<T, double>) {
    a.raw(&value, sizeof value);
    a.must(std::isfinite(value));
  } else if constexpr (std::is_same_v<T, Vec3>) {
    a.raw(value.data(), sizeof(double) * 3);
    a.must(is_in_reach(value));
  } else if constexpr (std::is_same_v<T, Motion>) {
    a.raw(value.matrix().data(), sizeof(double) * 16);
    a.must(value.matrix().allFinite());
  } else if constexpr (std::is_same_v<T, Girth>) {
    field(a, value.mm);
    field(a, value.loop_mm);
  } else if constexpr (std::is_same_v<T, Message>) {
    message(a, value);
  } else if constexpr (requires { value.data(); }) {  // a string or a vector
    using Item = std::remove_reference_t<decltype(value[0])>;
    std::size_t n = value.size();
    a.size(n);
    constexpr bool kInParts = std::is_same_v<Item, Message>;
    a.room_for(value, n, kInParts ? kLeastInParts : sizeof(Item));
    if constexpr (kInParts) {
      for (Item& item : value) message(a, item);
    } else {
      static_assert(std::is_trivially_copyable_v<Item> || (std::is_same_v<Item, Vec3> && sizeof(Vec3) == 24));
      if (n > 0) a.raw(static_cast<void*>(value.data()), value.size() * sizeof(Item));
      if constexpr (std::is_same_v<Item, Vec3>) a.must(std::ranges::all_of(value, is_in_reach));
    }
  } else {
    static_assert(std::is_trivially_copyable_v<T>);
    a.raw(&value, sizeof value);
  }
}

template <class Archive>
void value_of(Archive& a, Message::Value& value, int deepest) {
  field(a, value.name);
  std::size_t kind = value.is.index();
  a.size(kind);
  a.must(kind <= 3);
  if (kind != value.is.index()) {  // unpacking
    if (kind == 1) value.is = std::uint64_t{};
    if (kind == 2) value.is = UserText{};
    if (kind == 3) value.is = Message{};
  }
  if (auto* quantity = std::get_if<Quantity>(&value.is)) {
    field(a, quantity->value);
    field(a, quantity->decimals);
    a.must(quantity->decimals >= 0 && quantity->decimals <= 12);
  }
  if (auto* count = std::get_if<std::uint64_t>(&value.is)) field(a, *count);
  if (auto* text = std::get_if<UserText>(&value.is)) field(a, text->bytes);
  if (auto* part = std::get_if<Message>(&value.is)) message(a, *part, deepest - 1);
}

template <class Archive>
void message(Archive& a, Message& value, int deepest) {
  a.must(deepest > 0);
  if (deepest == 0) return;
  field(a, value.key);
  std::size_t n = value.values.size();
  a.size(n);
  a.room_for(value.values, n, kLeastInParts);
  for (Message::Value& each : value.values) value_of(a, each, deepest);
}

template <class Archive, class... Fields>
void all(Archive& a, Fields&... values) {
  (field(a, values), ...);
}

template <class Archive>
void go_through(Archive& a, ReadyLast& ready) {
  auto& [last, m, boxes] = ready;
  all(a, last.mesh.vertices, last.mesh.triangles, last.last_from_file, last.side, last.chance_of_wrong_side,
      last.likeness_mm, last.open_at_top, last.top.from_x_mm, last.top.height_mm, last.top.cut, last.bottom,
      last.feather_edge, last.centre_line, last.heel_back, last.toe_end, last.first_joint, last.fifth_joint, last.tread,
      last.turned_over);
  InputFacts& f = last.facts;
  all(a, f.file, f.sha256, f.vertices, f.triangles, f.units, f.units_from, f.repairs);
  all(a, m.length_mm, m.stick_length_mm, m.joint_girth, m.waist_girth, m.instep_girth, m.joint_width_mm,
      m.heel_width_mm, m.heel_to_joint_mm, m.heel_to_fifth_joint_mm, m.heel_height_mm, m.toe_spring_mm, m.heel_girth);
  all(a, boxes.centre_mm, boxes.radius_mm, boxes.boxes, boxes.nodes, boxes.leaves, boxes.triangles);
}

template <class Archive>
void go_through(Archive& a, LastMeasures& m) {
  all(a, m.length_mm, m.stick_length_mm, m.joint_girth.mm, m.waist_girth.mm, m.instep_girth.mm, m.heel_girth.mm,
      m.joint_width_mm, m.heel_width_mm, m.heel_to_joint_mm, m.heel_to_fifth_joint_mm, m.heel_height_mm,
      m.toe_spring_mm);
}

}  // namespace

std::string packed(const ReadyLast& ready) {
  Packer packer;
  const Mesh& mesh = ready.last.mesh;
  packer.bytes.reserve(mesh.vertices.size() * sizeof(Vec3) + mesh.triangles.size() * 25 + 100'000);
  go_through(packer, const_cast<ReadyLast&>(ready));  // a Packer only reads
  return std::move(packer.bytes);
}

bool unpack(std::string_view bytes, ReadyLast& ready) {
  Unpacker unpacker{bytes};
  go_through(unpacker, ready);
  const Last& last = ready.last;
  const Mesh& mesh = last.mesh;
  unpacker.must(last.side == Side::left || last.side == Side::right);
  unpacker.must(last.facts.units >= LengthUnit::millimetre && last.facts.units <= LengthUnit::inch);
  unpacker.must(last.facts.units_from == Told::by_option || last.facts.units_from == Told::by_guess);
  unpacker.must(!mesh.triangles.empty() && last.feather_edge.size() >= 3 && last.centre_line.size() >= 2);
  const auto inside = [&](const Triangle& t) { return *std::ranges::max_element(t) < mesh.vertices.size(); };
  return unpacker.ok && unpacker.bytes.empty() && std::ranges::all_of(last.facts.repairs, can_be_told) &&
         std::ranges::all_of(mesh.triangles, inside) && ready.last.bottom.size() == mesh.triangles.size() &&
         is_usable(ready.boxes, mesh.triangles.size());
}

std::string packed_numbers(const LastMeasures& measures) {
  Packer packer;
  go_through(packer, const_cast<LastMeasures&>(measures));
  return std::move(packer.bytes);
}

bool unpack_numbers(std::string_view bytes, LastMeasures& measures) {
  Unpacker unpacker{bytes};
  go_through(unpacker, measures);
  return unpacker.ok && unpacker.bytes.empty();
}

}  // namespace lastroom
