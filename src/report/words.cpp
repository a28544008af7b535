#include "report/words.h"

#include <fmt/format.h>

#include <cmath>
#include <pugixml.hpp>
#include <stdexcept>

#include "report/outputs.h"

namespace lastroom {
namespace embedded {
extern const std::string_view words_en_xml, words_de_xml, phrases_de_xml;
}

std::vector<std::string> report_languages() { return {"en", "de"}; }

Words::Words(std::string_view language) : language_(language) {
  std::string_view xml;
  if (language == "en") xml = embedded::words_en_xml;
  if (language == "de") xml = embedded::words_de_xml;
  if (xml.empty()) throw std::invalid_argument(fmt::format("no catalogue of words for the language \"{}\"", language));
  pugi::xml_document document;
  const pugi::xml_parse_result parsed = document.load_buffer(xml.data(), xml.size());
  if (!parsed) throw std::logic_error(fmt::format("words.{}.xml: {}", language, parsed.description()));
  for (const pugi::xml_node text : document.child("words").children("text")) {
    texts_[text.attribute("key").value()] = text.text().get();
  }
  if (language == "de") phrases_.emplace(embedded::phrases_de_xml, (*this)("decimal_mark"));
}

const std::string& Words::operator()(std::string_view key) const {
  const auto found = texts_.find(key);
  if (found == texts_.end()) throw std::logic_error(fmt::format("words.{}.xml lacks \"{}\"", language_, key));
  return found->second;
}

std::string Words::operator()(std::string_view key, const Values& values) const {
  const std::string& text = (*this)(key);
  std::string filled;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t open = text.find('{', at);
    const std::size_t close = text.find('}', open);
    if (open == std::string::npos || close == std::string::npos) return filled + text.substr(at);
    filled += text.substr(at, open - at);
    const std::string_view name = std::string_view(text).substr(open + 1, close - open - 1);
    for (const auto& [known, value] : values) {
      if (known == name) filled += value;
    }
    at = close + 1;
  }
  return filled;
}

std::vector<std::string_view> Words::keys() const {
  std::vector<std::string_view> keys;
  for (const auto& entry : texts_) keys.push_back(entry.first);
  return keys;
}

std::string Words::number(double value, int decimals) const {
  if (!std::isfinite(value)) return "–";
  std::string digits = fmt::format("{:.{}f}", std::abs(value), decimals);
  const bool zero = digits.find_first_not_of("0.") == std::string::npos;
  if (const std::size_t dot = digits.find('.'); dot != std::string::npos)
    digits.replace(dot, 1, (*this)("decimal_mark"));
  return value < 0.0 && !zero ? "−" + digits : digits;
}

std::string Words::signed_number(double value, int decimals) const {
  const std::string digits = number(value, decimals);
  const bool positive = value > 0.0 && digits.find_first_not_of("0.,") != std::string::npos;
  return positive ? "+" + digits : digits;
}

}  // namespace lastroom
