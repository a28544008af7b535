#pragma once

// Private to mesh_io: the hash table behind welding.

#include <bit>
#include <cstdint>
#include <vector>

#include "geometry/mesh.h"

namespace lastroom {

/// Open addressing with linear probing over small integers. The keys stay with the caller: a slot holds the index of
/// an item and 32 bits of its hash, so that a probe rarely has to look at the item.
class IndexTable {
 public:
  explicit IndexTable(std::size_t expected_items) {
    slots_.resize(std::bit_ceil(std::max<std::size_t>(16, expected_items + expected_items / 2)));
  }

  void prefetch(std::uint64_t hash) const { __builtin_prefetch(&slots_[place(hash)]); }

  /// The index of the item with this hash for which `same(index)` holds; else `fresh` is put in and given back.
  template <typename Same>
  std::uint32_t find_or_insert(std::uint64_t hash, std::uint32_t fresh, const Same& same) {
    const auto tag = static_cast<std::uint32_t>(hash);
    for (std::size_t i = place(hash);; i = (i + 1) & (slots_.size() - 1)) {
      Slot& slot = slots_[i];
      if (slot.index == kEmpty) {
        slot = {tag, fresh};
        if (++items_ > slots_.size() / 8 * 5) grow();
        return fresh;
      }
      if (slot.tag == tag && same(slot.index)) return slot.index;
    }
  }

 private:
  static constexpr std::uint32_t kEmpty = 0xFFFFFFFFu;
  struct Slot {
    std::uint32_t tag = 0, index = kEmpty;
  };

  // The place depends on the tag alone, so that the table can grow without hashing its items anew.
  std::size_t place(std::uint64_t hash) const { return static_cast<std::uint32_t>(hash) & (slots_.size() - 1); }

  void grow() {
    std::vector<Slot> old(slots_.size() * 2);
    old.swap(slots_);
    for (const Slot& slot : old)
      if (slot.index != kEmpty) {
        std::size_t i = place(slot.tag);
        while (slots_[i].index != kEmpty) i = (i + 1) & (slots_.size() - 1);
        slots_[i] = slot;
      }
  }

  std::vector<Slot> slots_;
  std::size_t items_ = 0;
};

/// Mixes 64 bits so that all of them reach the low ones (the finalizer of MurmurHash3, public domain, A. Appleby).
inline std::uint64_t mixed(std::uint64_t h) {
  h ^= h >> 33;
  h *= 0xff51afd7ed558ccdULL;
  h ^= h >> 33;
  h *= 0xc4ceb9fe1a85ec53ULL;
  return h ^ (h >> 33);
}

/// Of the bits of the three coordinates, which must not hold -0.0.
inline std::uint64_t hash_of(const Vec3& p) {
  const auto x = std::bit_cast<std::uint64_t>(p.x()), y = std::bit_cast<std::uint64_t>(p.y());
  const auto z = std::bit_cast<std::uint64_t>(p.z());
  return mixed(x * 0x9E3779B97F4A7C15ULL ^ std::rotl(y * 0xC2B2AE3D27D4EB4FULL, 23) ^
               std::rotl(z * 0x165667B19E3779F9ULL, 47));
}

inline bool same_bits(const Vec3& a, const Vec3& b) {
  return std::bit_cast<std::uint64_t>(a.x()) == std::bit_cast<std::uint64_t>(b.x()) &&
         std::bit_cast<std::uint64_t>(a.y()) == std::bit_cast<std::uint64_t>(b.y()) &&
         std::bit_cast<std::uint64_t>(a.z()) == std::bit_cast<std::uint64_t>(b.z());
}

/// -0.0 and 0.0 are the same place: adding 0.0 turns the first into the second and nothing else.
inline Vec3 without_minus_zero(const Vec3& p) { return {p.x() + 0.0, p.y() + 0.0, p.z() + 0.0}; }

/// Gathers vertices: each place is stored once, in the order of its first appearance.
class VertexWelder {
 public:
  VertexWelder(std::vector<Vec3>& vertices, std::size_t expected) : vertices_(vertices), table_(expected) {}

  /// Replaces `count` <= kBatch points by their indices. In batches, because the table's memory is fetched meanwhile.
  void add(const Vec3* points, std::size_t count, std::uint32_t* indices) {
    std::array<std::uint64_t, kBatch> hashes;
    std::array<Vec3, kBatch> places;
    for (std::size_t i = 0; i < count; ++i) {
      places[i] = without_minus_zero(points[i]);
      table_.prefetch(hashes[i] = hash_of(places[i]));
    }
    for (std::size_t i = 0; i < count; ++i) {
      const auto fresh = static_cast<std::uint32_t>(vertices_.size());
      indices[i] =
          table_.find_or_insert(hashes[i], fresh, [&](std::uint32_t j) { return same_bits(vertices_[j], places[i]); });
      if (indices[i] == fresh) vertices_.push_back(places[i]);
    }
  }

  static constexpr std::size_t kBatch = 48;  // 16 triangles' corners; more brings nothing, fewer waits for memory

 private:
  std::vector<Vec3>& vertices_;
  IndexTable table_;
};

}  // namespace lastroom
