#include "screening/last_name.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <string_view>
#include <vector>

namespace lastroom {
namespace {

std::string lower(std::string_view text) {
  std::string lowered(text);
  for (char& c : lowered)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
  return lowered;
}

/// 42, 8.5, 265.
bool is_size(const std::string& word) {
  int whole = 0;
  const auto [stopped, error] = std::from_chars(word.data(), word.data() + word.size(), whole);
  const std::string_view rest(stopped, static_cast<std::size_t>(word.data() + word.size() - stopped));
  return error == std::errc() && whole >= 1 && whole <= 350 && (rest.empty() || rest == ".5");
}

/// The usual words, and one letter, doubled or tripled: narrow A ... to wide ... K, AA, EEE.
bool is_width(const std::string& word) {
  constexpr std::array<std::string_view, 8> kWords = {"narrow", "slim",  "medium", "normal",
                                                      "wide",   "xwide", "schmal", "weit"};
  const std::string lowered = lower(word);
  if (std::ranges::find(kWords, lowered) != kWords.end()) return true;
  return word.size() <= 3 && lowered.front() >= 'a' && lowered.front() <= 'k' &&
         std::ranges::all_of(lowered, [&](char c) { return c == lowered.front(); });
}

bool is_side(const std::string& word) {
  constexpr std::array<std::string_view, 6> kSides = {"left", "right", "l", "r", "links", "rechts"};
  return std::ranges::find(kSides, lower(word)) != kSides.end();
}

std::vector<std::string> words_of(const std::string& stem) {
  std::vector<std::string> words(1);
  for (const char c : stem) {
    if (c != '-' && c != '_' && c != ' ')
      words.back() += c;
    else if (!words.back().empty())
      words.emplace_back();
  }
  if (words.back().empty()) words.pop_back();
  return words;
}

}  // namespace

LastName name_from_file(const std::string& stem) {
  LastName name;
  for (const std::string& word : words_of(stem)) {
    if (is_side(word)) continue;
    if (name.size.empty() && is_size(word))
      name.size = word;
    else if (!name.size.empty() && name.width.empty() && is_width(word))
      name.width = word;
    else
      name.model += (name.model.empty() ? "" : " ") + word;
  }
  return name.size.empty() ? LastName{} : name;
}

}  // namespace lastroom
