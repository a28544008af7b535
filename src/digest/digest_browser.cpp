#include "digest/digest.h"

#include <array>
#include <bit>
#include <cstdint>

namespace lastroom {
namespace {

using Block = std::array<unsigned char, 64>;
using State = std::array<std::uint32_t, 8>;

// FIPS 180-4, section 4.2.2: the cube roots of the first 64 primes, 32 bits of what is behind the point.
constexpr std::array<std::uint32_t, 64> kRounds = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

/// Section 6.2.2.
void add_block(State& state, const Block& block) {
  std::array<std::uint32_t, 64> w{};
  for (std::size_t t = 0; t < 64; ++t) {
    if (t < 16) {
      for (std::size_t i = 0; i < 4; ++i) w[t] = w[t] << 8 | block[4 * t + i];
      continue;
    }
    const std::uint32_t a = w[t - 15], b = w[t - 2];
    w[t] = (std::rotr(b, 17) ^ std::rotr(b, 19) ^ b >> 10) + w[t - 7] + (std::rotr(a, 7) ^ std::rotr(a, 18) ^ a >> 3) +
           w[t - 16];
  }
  auto [a, b, c, d, e, f, g, h] = state;
  for (std::size_t t = 0; t < 64; ++t) {
    const std::uint32_t first =
        h + (std::rotr(e, 6) ^ std::rotr(e, 11) ^ std::rotr(e, 25)) + ((e & f) ^ (~e & g)) + kRounds[t] + w[t];
    const std::uint32_t second =
        (std::rotr(a, 2) ^ std::rotr(a, 13) ^ std::rotr(a, 22)) + ((a & b) ^ (a & c) ^ (b & c));
    h = g, g = f, f = e, e = d + first, d = c, c = b, b = a, a = first + second;
  }
  const State turned = {a, b, c, d, e, f, g, h};
  for (std::size_t i = 0; i < 8; ++i) state[i] += turned[i];
}

}  // namespace

std::string sha256(std::span<const char> bytes) {
  State state = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  // Section 5.1.1: a one, zeros, and the length in bits.
  std::string end(bytes.end() - static_cast<std::ptrdiff_t>(bytes.size() % 64), bytes.end());
  end += '\x80';
  while (end.size() % 64 != 56) end += '\0';
  const std::uint64_t bits = 8 * std::uint64_t{bytes.size()};
  for (int shift = 56; shift >= 0; shift -= 8) end += static_cast<char>(bits >> shift & 255);
  const auto add_all = [&](std::span<const char> text) {
    Block block;
    for (std::size_t at = 0; at + 64 <= text.size(); at += 64) {
      for (std::size_t i = 0; i < 64; ++i) block[i] = static_cast<unsigned char>(text[at + i]);
      add_block(state, block);
    }
  };
  add_all(bytes);
  add_all(end);
  std::string digest;
  for (const std::uint32_t word : state)
    for (int shift = 24; shift >= 0; shift -= 8) digest += static_cast<char>(word >> shift & 255);
  return digest;
}

}  // namespace lastroom
