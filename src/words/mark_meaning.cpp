#include "words/mark_meaning.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "words/words.h"

namespace lastroom {
namespace {

constexpr std::array<std::string_view, 6> kRisks = {"wound", "ulcer", "amputation", "charcot", "no_feeling", "illness"};

/// One character of UTF-8 at `at`, which is set behind it.
std::uint32_t next_character(std::string_view text, std::size_t& at) {
  const auto byte = static_cast<unsigned char>(text[at++]);
  if (byte < 0xC0) return byte;
  std::uint32_t character = byte < 0xE0 ? byte & 0x1FU : byte < 0xF0 ? byte & 0x0FU : byte & 0x07U;
  for (; at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0U) == 0x80U; ++at)
    character = character << 6U | (static_cast<unsigned char>(text[at]) & 0x3FU);
  return character;
}

/// A letter without its accent, small; empty for what stands between words.
std::string plain_letters(std::uint32_t c, std::string_view bytes) {
  // U+00C0 .. U+00FF, in Unicode's order; '*' is two letters, ' ' a sign.
  constexpr std::string_view kLatin1 = "aaaaaa*ceeeeiiiidnooooo ouuuuy**aaaaaa*ceeeeiiiidnooooo ouuuuy*y";
  if (c < 128) {
    const char letter = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32U : c);
    return (letter >= 'a' && letter <= 'z') || (letter >= '0' && letter <= '9') ? std::string(1, letter) : "";
  }
  if (c == 0xC6 || c == 0xE6) return "ae";
  if (c == 0xDE || c == 0xFE) return "th";
  if (c == 0xDF || c == 0x1E9E) return "ss";
  if (c >= 0xC0 && c <= 0xFF) return kLatin1[c - 0xC0] == ' ' ? "" : std::string(1, kLatin1[c - 0xC0]);
  if (c == 0x152 || c == 0x153) return "oe";
  return c < 0xC0 || (c >= 0x2000 && c < 0x2070) ? "" : std::string(bytes);
}

/// The words of a text, small and without accents, however those were written (one character or two).
std::vector<std::string> plain_words_of(std::string_view text) {
  std::vector<std::string> words;
  bool inside = false;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t begin = at;
    const std::uint32_t c = next_character(text, at);
    const bool unseen = (c >= 0x300 && c < 0x370) || c == 0xAD || (c >= 0x200B && c <= 0x200D);
    if (unseen) continue;  // an accent of its own, a soft hyphen, a joiner
    const std::string letters = plain_letters(c, text.substr(begin, at - begin));
    if (!letters.empty() && !inside) words.emplace_back();
    if (!letters.empty()) words.back() += letters;
    inside = !letters.empty();
  }
  return words;
}

/// A word of a catalogue, with '*' at an end where more may stand.
struct Pattern {
  std::string word;
  bool open_before = false, open_after = false;

  bool is(std::string_view other) const {
    if (open_before && open_after) return other.find(word) != std::string_view::npos;
    return open_before ? other.ends_with(word) : open_after ? other.starts_with(word) : other == word;
  }
};
using Phrase = std::vector<Pattern>;

/// "no feeling*, numb": phrases between commas, words between spaces.
std::vector<Phrase> phrases_of(std::string_view text) {
  std::vector<Phrase> phrases;
  while (!text.empty()) {
    std::string_view phrase = text.substr(0, text.find(','));
    text.remove_prefix(std::min(text.size(), phrase.size() + 1));
    phrases.emplace_back();
    while (!phrase.empty()) {
      const std::string_view word = phrase.substr(0, phrase.find(' '));
      phrase.remove_prefix(std::min(phrase.size(), word.size() + 1));
      const std::vector<std::string> plain = plain_words_of(word);
      if (!plain.empty()) phrases.back().push_back({plain.front(), word.starts_with('*'), word.ends_with('*')});
    }
  }
  std::erase_if(phrases, [](const Phrase& phrase) { return phrase.empty(); });
  return phrases;
}

std::vector<std::pair<std::string_view, Phrase>> all_phrases() {
  std::vector<std::pair<std::string_view, Phrase>> all;
  for (const std::string& language : report_languages()) {
    const Words words(language);
    for (const std::string_view risk : kRisks)
      for (Phrase& phrase : phrases_of(words("mark_words." + std::string(risk))))
        all.emplace_back(risk, std::move(phrase));
  }
  return all;
}

}  // namespace

std::string_view risk_in_mark(std::string_view mark) {
  static const std::vector<std::pair<std::string_view, Phrase>> phrases = all_phrases();
  const std::vector<std::string> words = plain_words_of(mark);
  const auto matches = [](const std::string& word, const Pattern& pattern) { return pattern.is(word); };
  for (const auto& [risk, phrase] : phrases)
    if (std::search(words.begin(), words.end(), phrase.begin(), phrase.end(), matches) != words.end()) return risk;
  return {};
}

}  // namespace lastroom
