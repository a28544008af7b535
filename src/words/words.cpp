#include "words/words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <new>
#include <pugixml.hpp>
#include <stdexcept>

#include "number_text.h"
#include "words/catalogues.h"

namespace lastroom {
namespace embedded {
extern const std::string_view default_rules_xml;
}
namespace {

/// Words between single spaces, as rules.cpp reads them.
std::string collapsed(std::string_view text) {
  std::string result;
  for (const char c : text) {
    const bool space = c == ' ' || c == '\t' || c == '\r' || c == '\n';
    if (!space) result += c;
    if (space && !result.empty() && result.back() != ' ') result += ' ';
  }
  while (!result.empty() && result.back() == ' ') result.pop_back();
  return result;
}

const Words& in_english() {
  static const Words words("en");
  return words;
}

constexpr double kInch_mm = 25.4;

/// Of a length in inches that has `decimals` in mm.
int inch_decimals(int decimals) { return std::max(2, decimals + 1); }

}  // namespace

std::vector<std::string> report_languages() {
  std::vector<std::string> languages;
  for (const embedded::Catalogue& catalogue : embedded::catalogues()) languages.emplace_back(catalogue.language);
  return languages;
}

Words::Words(std::string_view language, Lengths lengths) : language_(language), lengths_(lengths) {
  std::string_view xml;
  for (const embedded::Catalogue& catalogue : embedded::catalogues())
    if (catalogue.language == language) xml = catalogue.xml;
  if (xml.empty()) throw std::invalid_argument(fmt::format("no catalogue of words for the language \"{}\"", language));
  pugi::xml_document document;
  const pugi::xml_parse_result parsed = document.load_buffer(xml.data(), xml.size());
  if (parsed.status == pugi::status_out_of_memory) throw std::bad_alloc();
  if (!parsed) throw std::logic_error(fmt::format("words.{}.xml: {}", language, parsed.description()));
  for (const pugi::xml_node text : document.child("words").children("text")) {
    texts_[text.attribute("key").value()] = text.text().get();
  }
  if (language == "en") {
    if (!document.load_buffer(embedded::default_rules_xml.data(), embedded::default_rules_xml.size()))
      throw std::bad_alloc();
    for (const pugi::xml_node rule : document.child("rules").children())
      for (const char* part : {"advice", "slack", "source"})
        if (rule.child(part))
          texts_[fmt::format("{}.{}", part, rule.attribute("name").value())] = collapsed(rule.child(part).text().get());
  }
  for (auto& entry : texts_) entry.second = with_lengths(entry.second);
}

std::string Words::with_lengths(std::string_view text) const {
  constexpr std::string_view kUnit = "{length_unit}", kFixed = " mm}";
  std::string told;
  while (!text.empty()) {
    const std::size_t open = std::min(text.find('{'), text.size()), close = text.find('}', open);
    told += text.substr(0, open);
    if (close == std::string_view::npos) return told.append(text.substr(open));
    const std::string_view gap = text.substr(open, close + 1 - open);
    double mm = 0.0;
    if (gap == kUnit)
      told += length_unit();
    else if (gap.ends_with(kFixed) && number_from(gap.data() + 1, gap.data() + gap.size(), mm).ec == std::errc())
      told += length(mm, 0);
    else
      told += gap;
    text.remove_prefix(close + 1);
  }
  return told;
}

std::string Words::quantity_text(std::string_view name, const Quantity& quantity) const {
  if (lengths_ == Lengths::inches && (name == "mm" || name.ends_with("_mm")))
    return length_number(quantity.value, quantity.decimals);
  return language_ == "en" ? fmt::format("{:.{}f}", quantity.value, quantity.decimals)
                           : number(quantity.value, quantity.decimals);
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

void Words::add_runs(const Message& message, std::vector<Run>& runs) const {
  std::string key = message.key;
  for (const Message::Value& value : message.values) {
    const auto* count = std::get_if<std::uint64_t>(&value.is);
    if (count && *count == 1 && has(key + ".one")) key += ".one";
  }
  const auto say = [&](const std::string& text, bool foreign) {
    if (text.empty()) return;
    if (!runs.empty() && runs.back().foreign == foreign)
      runs.back().text += text;
    else
      runs.push_back({text, foreign});
  };
  const std::string& text = (*this)(key);
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t open = text.find('{', at), close = text.find('}', open);
    if (open == std::string::npos || close == std::string::npos) return say(text.substr(at), false);
    say(text.substr(at, open - at), false);
    const std::string_view name = std::string_view(text).substr(open + 1, close - open - 1);
    for (const Message::Value& value : message.values) {
      if (value.name != name) continue;
      if (const auto* quantity = std::get_if<Quantity>(&value.is)) say(quantity_text(name, *quantity), false);
      if (const auto* count = std::get_if<std::uint64_t>(&value.is)) say(std::to_string(*count), false);
      if (const auto* foreign = std::get_if<UserText>(&value.is)) say(foreign->bytes, true);
      if (const auto* part = std::get_if<Message>(&value.is); part && !part->empty()) add_runs(*part, runs);
    }
    at = close + 1;
  }
}

std::vector<Run> Words::runs(const Message& message) const {
  std::vector<Run> runs;
  if (!message.empty()) add_runs(message, runs);
  return runs;
}

std::string Words::operator()(const Message& message) const {
  std::string text;
  for (const Run& run : runs(message)) text += run.text;
  return text;
}

Quantity in_digits(double value, int digits) {
  const double size = std::abs(value);
  int decimals = size > 0.0 ? std::clamp(digits - 1 - static_cast<int>(std::floor(std::log10(size))), 0, 12) : 0;
  while (decimals > 0 && fmt::format("{:.{}f}", value, decimals).ends_with('0')) --decimals;
  return {value, decimals};
}

std::string english(const Message& message) { return in_english()(message); }

bool can_be_told(const Message& message) {
  return in_english().has(message.key) && std::ranges::all_of(message.values, [](const Message::Value& value) {
           const auto* part = std::get_if<Message>(&value.is);
           return !part || part->empty() || can_be_told(*part);
         });
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

std::string Words::length_number(double mm, int decimals) const {
  return lengths_ == Lengths::inches ? number(mm / kInch_mm, inch_decimals(decimals)) : number(mm, decimals);
}

std::string Words::signed_length_number(double mm, int decimals) const {
  return lengths_ == Lengths::inches ? signed_number(mm / kInch_mm, inch_decimals(decimals))
                                     : signed_number(mm, decimals);
}

std::string Words::length(double mm, int decimals) const { return length_number(mm, decimals) + " " + length_unit(); }

std::string Words::signed_length(double mm, int decimals) const {
  return signed_length_number(mm, decimals) + " " + length_unit();
}

std::string Words::area(double mm2, int decimals) const {
  if (lengths_ == Lengths::millimetres) return number(mm2 / 100.0, decimals) + " cm²";
  return number(mm2 / (kInch_mm * kInch_mm), inch_decimals(decimals)) + " " + length_unit() + "²";
}

std::string Words::date(const std::string& iso) const {
  int year = 0, month = 0, day = 0;
  char rest = 0;
  if (iso.size() != 10 || std::sscanf(iso.c_str(), "%4d-%2d-%2d%c", &year, &month, &day, &rest) != 3) return iso;
  if (month < 1 || month > 12 || day < 1) return iso;
  return (*this)("date", {{"day", std::to_string(day)},
                          {"month", (*this)(fmt::format("month.{}", month))},
                          {"year", std::to_string(year)}});
}

}  // namespace lastroom
