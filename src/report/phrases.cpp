#include "report/phrases.h"

#include <algorithm>
#include <pugixml.hpp>
#include <stdexcept>

namespace lastroom {
namespace {

std::vector<std::string> split_at_gaps(std::string_view text) {
  std::vector<std::string> parts;
  for (std::size_t gap; (gap = text.find("{}")) != std::string_view::npos; text.remove_prefix(gap + 2))
    parts.emplace_back(text.substr(0, gap));
  parts.emplace_back(text);
  return parts;
}

bool is_number(std::string_view text) {
  return !text.empty() && text.find_first_not_of("0123456789.-") == std::string_view::npos;
}

}  // namespace

Phrases::Phrases(std::string_view xml, std::string decimal_mark) : decimal_mark_(std::move(decimal_mark)) {
  pugi::xml_document document;
  const pugi::xml_parse_result parsed = document.load_buffer(xml.data(), xml.size());
  if (!parsed) throw std::logic_error(std::string("phrases: ") + parsed.description());
  for (const pugi::xml_node phrase : document.child("phrases").children("phrase"))
    phrases_.push_back({split_at_gaps(phrase.attribute("en").value()), phrase.text().get()});
  const auto said = [](const Phrase& phrase) {
    std::size_t length = 0;
    for (const std::string& part : phrase.english) length += part.size();
    return length;
  };
  std::stable_sort(phrases_.begin(), phrases_.end(),
                   [&](const Phrase& a, const Phrase& b) { return said(a) > said(b); });
}

std::optional<std::string> Phrases::operator()(std::string_view english) const {
  for (const Phrase& phrase : phrases_)
    if (std::optional<std::string> found = by(phrase, english)) return found;
  // Several sentences in a row.
  for (std::size_t end = english.find(". "); end != std::string_view::npos; end = english.find(". ", end + 1)) {
    const std::optional<std::string> first = (*this)(english.substr(0, end + 1));
    if (!first) continue;
    if (const std::optional<std::string> rest = (*this)(english.substr(end + 2))) return *first + " " + *rest;
  }
  return std::nullopt;
}

std::optional<std::string> Phrases::by(const Phrase& phrase, std::string_view english) const {
  const std::vector<std::string>& parts = phrase.english;
  if (!english.starts_with(parts.front())) return std::nullopt;
  if (parts.size() == 1) return english == parts.front() ? std::optional(phrase.translated) : std::nullopt;
  std::vector<std::string> gaps;
  std::string_view rest = english.substr(parts.front().size());
  for (std::size_t i = 1; i < parts.size(); ++i) {
    const bool last = i + 1 == parts.size();
    if (last && !rest.ends_with(parts[i])) return std::nullopt;
    const std::size_t gap = last ? rest.size() - parts[i].size() : rest.find(parts[i]);
    if (gap == std::string_view::npos) return std::nullopt;
    const bool ends_the_phrase = last && parts[i].empty();  // there alone a gap may hold several sentences
    if (!ends_the_phrase && rest.substr(0, gap).find(". ") != std::string_view::npos) return std::nullopt;
    gaps.push_back(filling(rest.substr(0, gap)));
    rest.remove_prefix(gap + parts[i].size());
  }
  std::string result;
  std::size_t next = 0;
  std::string_view text = phrase.translated;
  for (std::size_t open; (open = text.find('{')) != std::string_view::npos;) {
    const std::size_t close = text.find('}', open);
    result += text.substr(0, open);
    const std::string_view number = text.substr(open + 1, close - open - 1);
    result += gaps.at(number.empty() ? next++ : static_cast<std::size_t>(number[0] - '1'));
    text.remove_prefix(close + 1);
  }
  return result + std::string(text);
}

std::string Phrases::filling(std::string_view english) const {
  if (!is_number(english)) return (*this)(english).value_or(std::string(english));
  std::string number;
  for (const char c : english) number += c == '.' ? decimal_mark_ : c == '-' ? "−" : std::string(1, c);
  return number;
}

}  // namespace lastroom
