#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lastroom {

/// Sentences that other rooms and the rules file make in English, in another language: a phrase book whose English side
/// may hold gaps, `{}`, for numbers and for words that are phrases themselves. The German side fills them in order, or
/// by number, `{1}`. A sentence that is not in the book (of a rules file of the user's own) has no translation.
class Phrases {
 public:
  /// `xml`: <phrases><phrase en="...">...</phrase></phrases>; `decimal_mark` goes into numbers that fill gaps.
  Phrases(std::string_view xml, std::string decimal_mark);
  std::optional<std::string> operator()(std::string_view english) const;

 private:
  struct Phrase {
    std::vector<std::string> english;  ///< what stands before, between and after the gaps
    std::string translated;
  };
  std::optional<std::string> by(const Phrase& phrase, std::string_view english) const;
  std::string filling(std::string_view english) const;

  std::vector<Phrase> phrases_;  ///< those that say most by themselves first
  std::string decimal_mark_;
};

}  // namespace lastroom
